"""A part turns faster than it may.

What: the larger of a part's inlet and outlet speed is above the limit of its item, its grade, or a machine's own.

Why: a part above its speed limit bursts or shakes itself loose, and its fragments fly. An increasing stage multiplies
speed for everything below it.

How to repair: a smaller increase or a reducing stage above it; a grade that stands the speed. Splitting the line never
helps: it divides torque and leaves the speed as it is.

Source: speed through a stage changes by its ratio: Khurmi & Gupta, *Theory of Machines*, ch. 13. Limits come from the
site's catalogue.
"""

from collections.abc import Iterator

from lineshaft.api import (
    Finding,
    Measure,
    NoFix,
    Offer,
    Reported,
    Rule,
    SearchFor,
    SolvedRig,
    Text,
    causes,
    grade_or_stage,
    grades_of,
    over,
    report,
    speed,
    speed_carried,
    times,
)


def check(rig: SolvedRig) -> Iterator[Reported]:
    """One finding for each part whose speed is over its limit."""
    flows = rig.flows
    for number, part in enumerate(rig.parts):
        limit = part.speed_limit
        if limit is not None and flows.solved[number] and over(speed_carried(flows, number), limit):
            yield _finding(rig, number, limit)


def _finding(rig: SolvedRig, number: int, limit: float) -> Reported:
    part, flows = rig.parts[number], rig.flows
    carried = speed_carried(flows, number)
    values: list[tuple[str, Measure]] = []
    if part.item.kind != "prime-mover":
        values.append(("speed_in", speed(flows.speed_in[number])))
    if part.item.kind != "driven-machine":
        values.append(("speed_out", speed(flows.speed_out[number])))
    values += [("limit", speed(limit)), ("times_limit", times(carried / limit))]
    message = ("turns at ", speed(carried), ", may turn at ", speed(limit), ": ", times(carried / limit), " times")
    return report(
        rig.place(number),
        part.name,
        message,
        values,
        causes(rig, number),
        _suggestion(rig, number, carried, limit),
    )


def _suggestion(rig: SolvedRig, number: int, carried: float, limit: float) -> Text:
    """The weakest grade that stands it, or the stage that would lower the speed enough."""
    fits = tuple(
        (speed(grade.speed_limit), grade.name)
        for grade in grades_of(rig, number)
        if grade.speed_limit is not None and not over(carried, grade.speed_limit)
    )
    alone = rig.parts[number].item.speed_limit is None
    return grade_or_stage(rig, fits if alone else (), carried / limit, "reducing")


def repairs(_: SolvedRig, finding: Finding) -> Iterator[Offer]:
    """Another grade or the line made anew in one line; why splitting it is not among them."""
    yield SearchFor("hold-speed", (finding.part or "",))
    yield NoFix("splitting the line never helps: it divides torque and leaves the speed as it is")


RULE = Rule("speed-over-limit", "error", check, repairs, local=True)
