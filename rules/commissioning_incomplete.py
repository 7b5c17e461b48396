"""The commissioning list ends in another state than the rig declares.

What: after the last step a stage has another direction than its `set`, a clutch is not as `engaged` says, or a prime
mover does not run.

Why: every other rule judges the rig as declared; whoever follows the list to its end stands before another rig.

How to repair: add the steps that are named; or, where the list is right, declare the rig as the list leaves it.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api

_NAMED = 4  # differences that are spelt out; the rest is counted


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """At most one finding, at the list."""
    differences = api.commissioning_of(rig).differences
    if not differences:
        return
    tree = rig.rig.tree
    route = ("commissioning",)
    named = [_words(rig, difference) for difference in differences[:_NAMED]]
    steps = [_step(rig, difference) for difference in differences[:_NAMED]]
    more = f", and {len(differences) - _NAMED} more" if len(differences) > _NAMED else ""
    yield api.report(
        (tree.source.shown, tree.span(route), route),
        None,
        (f"the list ends with {', '.join(named)}{more}",),
        (),
        (),
        (f"add {', '.join(steps)}{more}, or declare the rig as the list leaves it",),
    )


def _words(rig: api.SolvedRig, difference: api.Difference) -> str:
    part = rig.parts[difference.part]
    match difference.what:
        case "direction":
            now = "reduce" if part.direction == "increase" else "increase"
            return f"{part.name} set to {now}, declared to {part.direction}"
        case "clutch":
            now, declared = ("open", "engaged") if part.engaged else ("engaged", "open")
            return f"{part.name} {now}, declared {declared}"
    return f"{part.name} stopped"


def _step(rig: api.SolvedRig, difference: api.Difference) -> str:
    part = rig.parts[difference.part]
    match difference.what:
        case "direction":
            return f"`set: {{part: {part.name}, to: {part.direction}}}`"
        case "clutch":
            return f"`{'engage' if part.engaged else 'disengage'}: {part.name}`"
    return f"`start: {part.name}`"


def repairs(_: api.SolvedRig, __: api.Finding) -> Iterator[api.Offer]:
    """The steps that are lacking, or another list that ends as the rig is declared."""
    yield api.SearchFor("complete-list", ())
    yield api.SearchFor("safe-list", ())


RULE = api.Rule("commissioning-incomplete", "warning", check, repairs, local=True)
