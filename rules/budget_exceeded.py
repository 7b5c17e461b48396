"""A rig takes more parts, or more worth of raw goods, than the policy allows.

What: the parts of the rig, blueprints written out, are more than `budget: {parts: …}`; or its raw goods, exploded from
the whole rig with batches rounded up once, are worth more than `budget: {worth: …}`. Items without `made-of` cost
nothing.

Why: on a shared server every part has to be made and kept running by somebody; a budget keeps one build from taking
what the others need.

How to repair: a shorter line to the same machines, cheaper grades, stages of another ratio; `lineshaft bom` shows where
the worth goes, `lineshaft design --most-cost N` looks for whole rigs that cost less. Or a larger budget, by whoever
keeps the policy.

Source: none; the budget is the site's.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from lineshaft import api

_LARGEST = math.nextafter(math.inf, 0.0)


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """A finding for too many parts, at `parts`; one for too much worth, at the rig's first key."""
    allowed = rig.policy.budget
    data = rig.rig.tree.data
    if not rig.parts or not isinstance(data, dict) or "rig" not in data:
        return  # nothing to count, or a blueprint judged alone: a budget is for a whole rig
    count = len(rig.parts)
    if allowed.parts is not None and api.over(count, allowed.parts):
        words = ("has ", api.times(count), " parts, may have ", api.times(allowed.parts))
        yield _finding(rig, "parts", ("parts",), words, (api.times(count), api.times(allowed.parts)))
    if allowed.worth is not None:
        # A worth past the largest float is shown as that.
        worth = min(api.bill(rig.parts, rig.catalogue).worth, _LARGEST)
        if api.over(worth, allowed.worth):
            words = ("takes raw goods worth ", api.times(worth), ", may take ", api.times(allowed.worth))
            yield _finding(rig, "worth", ("rig",), words, (api.times(worth), api.times(allowed.worth)))


def _finding(
    rig: api.SolvedRig,
    key: str,
    route: api.Route,
    message: tuple[str | api.Measure, ...],
    values: tuple[api.Measure, api.Measure],
) -> api.Reported:
    tree = rig.rig.tree
    place = (tree.source.shown, tree.key_span(route), route)
    named = ((key, values[0]), (f"{key}_allowed", values[1]))
    option = "--most-parts" if key == "parts" else "--most-cost"
    onward = f"`lineshaft design --anew {option} N` looks for a whole rig that takes less"
    suggestion = (f"a shorter line or cheaper parts; {onward}, and `lineshaft bom` shows where the worth goes",)
    return api.report(place, None, message, named, _budget(rig, key, values[1]), suggestion)


def _budget(rig: api.SolvedRig, key: str, allowed: api.Measure) -> tuple[api.Cause, ...]:
    """The line of the policy that says so."""
    tree = rig.policy.tree
    if tree is None:  # a policy of a program's own
        return ()
    span = tree.span(("budget", key))
    return (api.Cause(tree.source.shown, span, None, (f"the policy allows {key} up to ", allowed)),)


def repairs(_: api.SolvedRig, __: api.Finding) -> Iterator[api.Offer]:
    """None: what a rig can do without is not in its file."""
    yield api.NoFix("what the rig can do without is for whoever builds it to say")


RULE = api.Rule("budget-exceeded", "error", check, repairs)
