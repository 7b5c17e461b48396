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

from collections.abc import Iterator

from lineshaft.api import (
    Finding,
    Offer,
    Overload,
    Reported,
    Rule,
    SearchFor,
    SolvedRig,
    Text,
    breach_cause,
    breach_words,
    commissioning_of,
    load_values,
    passing_causes,
    report,
    step_place,
    step_words,
    times,
)


def check(rig: SolvedRig) -> Iterator[Reported]:
    """One finding for each step that brings parts over a limit, about the worst of them."""
    for overload in commissioning_of(rig).overloads:
        yield _finding(rig, overload)


def _finding(rig: SolvedRig, overload: Overload) -> Reported:
    breach, step = overload.breach, overload.step
    part = rig.parts[breach.part]
    values = [*load_values(rig, breach), ("step", times(step.number))]
    return report(
        step_place(step),
        part.name,
        ("after ", *step_words(rig, step), ", ", *breach_words(rig, breach)),
        values,
        (*passing_causes(rig, overload.chain), breach_cause(rig, breach, overload.chain[-1])),
        _suggestion(rig, overload),
    )


def _suggestion(rig: SolvedRig, overload: Overload) -> Text:
    if not overload.wrong:
        return ("the rig as declared keeps to it: take this step while nothing turns, and start last",)
    stage = rig.parts[overload.wrong[0]]
    return (f"{stage.name} is meant to {stage.direction}: set it so before step {overload.step.number}",)


def repairs(_: SolvedRig, __: Finding) -> Iterator[Offer]:
    """A list that passes no state over a limit."""
    yield SearchFor("safe-list", ())


RULE = Rule("commissioning-overload", "error", check, repairs, local=True)
