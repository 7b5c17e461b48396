"""A step of the commissioning list takes a part over a limit that the finished rig keeps to.

What: after some step, a part carries more torque, or turns faster, than it may. Parts that are over a limit in the
declared rig anyway are told of there; a state that breaks because a stage first turns the wrong way round is told of
by `direction-before-commissioning`.

Why: a rig breaks in the state it is in, not in the one it is meant to reach: a clutch closed too soon, a stage turned
round while it runs.

How to repair: set, fill, couple and engage while nothing turns, and start last; `lineshaft commission` writes a list
in a safe order.

Source: common practice, no source, for the order; limits come from the site's catalogue.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding for each step that brings parts over a limit, about the worst of them."""
    for overload in api.commissioning_of(rig).overloads:
        yield _finding(rig, overload)


def _finding(rig: api.SolvedRig, overload: api.Overload) -> api.Reported:
    breach, step = overload.breach, overload.step
    part = rig.parts[breach.part]
    values = [*api.load_values(rig, breach), ("step", api.times(step.number))]
    return api.report(
        api.step_place(step),
        part.name,
        ("after ", *api.step_words(rig, step), ", ", *api.breach_words(rig, breach)),
        values,
        (*api.passing_causes(rig, overload.chain), api.breach_cause(rig, breach, overload.chain[-1])),
        _suggestion(rig, overload),
    )


def _suggestion(rig: api.SolvedRig, overload: api.Overload) -> api.Text:
    if not overload.wrong:
        return ("the rig as declared keeps to it: take this step while nothing turns, and start last",)
    stage = rig.parts[overload.wrong[0]]
    return (f"{stage.name} is meant to {stage.direction}: set it so before step {overload.step.number}",)


def repairs(_: api.SolvedRig, __: api.Finding) -> Iterator[api.Offer]:
    """A list that passes no state over a limit."""
    yield api.SearchFor("safe-list", ())


RULE = api.Rule("commissioning-overload", "error", check, repairs, local=True)
