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

import math
from collections.abc import Iterator

from lineshaft.api import (
    Cause,
    Finding,
    Measure,
    NoFix,
    Offer,
    Reported,
    Route,
    Rule,
    SolvedRig,
    over,
    report,
    times,
)

_LARGEST = math.nextafter(math.inf, 0.0)


def check(rig: SolvedRig) -> Iterator[Reported]:
    """A finding for too many parts, at `parts`; one for too much worth, at the rig's first key."""
    allowed = rig.policy.budget
    data = rig.rig.tree.data
    if not rig.parts or not isinstance(data, dict) or "rig" not in data:
        return  # nothing to count, or a blueprint judged alone: a budget is for a whole rig
    count = len(rig.parts)
    if allowed.parts is not None and over(count, allowed.parts):
        words = ("has ", times(count), " parts, may have ", times(allowed.parts))
        yield _finding(rig, "parts", ("parts",), words, (times(count), times(allowed.parts)))
    if allowed.worth is not None:
        from lineshaft.api import bill

        # A worth past the largest float is shown as that.
        worth = min(bill(rig.parts, rig.catalogue).worth, _LARGEST)
        if over(worth, allowed.worth):
            words = ("takes raw goods worth ", times(worth), ", may take ", times(allowed.worth))
            yield _finding(rig, "worth", ("rig",), words, (times(worth), times(allowed.worth)))


def _finding(
    rig: SolvedRig, key: str, route: Route, message: tuple[str | Measure, ...], values: tuple[Measure, Measure]
) -> Reported:
    tree = rig.rig.tree
    place = (tree.source.shown, tree.key_span(route), route)
    named = ((key, values[0]), (f"{key}_allowed", values[1]))
    option = "--most-parts" if key == "parts" else "--most-cost"
    onward = f"`lineshaft design --anew {option} N` looks for a whole rig that takes less"
    suggestion = (f"a shorter line or cheaper parts; {onward}, and `lineshaft bom` shows where the worth goes",)
    return report(place, None, message, named, _budget(rig, key, values[1]), suggestion)


def _budget(rig: SolvedRig, key: str, allowed: Measure) -> tuple[Cause, ...]:
    """The line of the policy that says so."""
    tree = rig.policy.tree
    if tree is None:
        return ()
    span = tree.span(("budget", key))
    return (Cause(tree.source.shown, span, None, (f"the policy allows {key} up to ", allowed)),)


def repairs(_: SolvedRig, __: Finding) -> Iterator[Offer]:
    """None: what a rig can do without is not in its file."""
    yield NoFix("what the rig can do without is for whoever builds it to say")


RULE = Rule("budget-exceeded", "error", check, repairs)
