"""A part carries more torque than it may.

What: the larger of a part's inlet and outlet torque is above the limit of its item, its grade, or a machine's own.
The basis is supply: every prime mover pushes its full output, as it does when a machine stalls.

Why: a part over its torque limit twists or shears, and what breaks is costly and close to people. A reducing stage
multiplies torque, so the part that breaks is often one or two below the cause.

How to repair: a stronger grade; a step-up first, which lowers torque before the weak part; two lines side by side with
the torque split between them; a smaller share at a splitter above.

Source: torque through a stage is i·η times the torque in: Budynas & Nisbett, *Shigley's Mechanical Engineering Design*,
ch. 13. Limits come from the site's catalogue.
"""

from collections.abc import Iterator

from lineshaft.api import (
    Finding,
    Measure,
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
    times,
    torque,
    torque_carried,
)


def check(rig: SolvedRig) -> Iterator[Reported]:
    """One finding for each part whose torque is over its limit."""
    flows = rig.flows
    for number, part in enumerate(rig.parts):
        limit = part.torque_limit
        if limit is not None and flows.solved[number] and over(torque_carried(flows, number), limit):
            yield _finding(rig, number, limit)


def _finding(rig: SolvedRig, number: int, limit: float) -> Reported:
    part, flows = rig.parts[number], rig.flows
    carried = torque_carried(flows, number)
    values: list[tuple[str, Measure]] = []
    if part.item.kind != "prime-mover":
        values.append(("torque_in", torque(flows.torque_in[number])))
    if part.item.kind != "driven-machine":
        values.append(("torque_out", torque(flows.torque_out[number])))
    values += [("limit", torque(limit)), ("times_limit", times(carried / limit))]
    message = ("carries ", torque(carried), ", may carry ", torque(limit), ": ", times(carried / limit), " times")
    return report(
        rig.place(number),
        part.name,
        message,
        values,
        causes(rig, number),
        _suggestion(rig, number, carried, limit),
    )


def _suggestion(rig: SolvedRig, number: int, carried: float, limit: float) -> Text:
    """The weakest grade that stands it, or the stage that would lower the torque enough."""
    fits = tuple(
        (torque(grade.torque_limit), grade.name)
        for grade in grades_of(rig, number)
        if grade.torque_limit is not None and not over(carried, grade.torque_limit)
    )
    alone = rig.parts[number].item.torque_limit is None
    return grade_or_stage(rig, fits if alone else (), carried / limit, "increasing")


def repairs(_: SolvedRig, finding: Finding) -> Iterator[Offer]:
    """Another grade, the line made anew (a step-up first, in stages, side by side), a smaller share above."""
    yield SearchFor("hold-torque", (finding.part or "",))


RULE = Rule("torque-over-limit", "error", check, repairs, local=True)
