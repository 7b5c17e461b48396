"""A machine has torque to spare that a catalogue ratio would turn into useful speed.

What: a machine with a work table gets at least its torque need times the smallest stage ratio of the catalogue, and so
much more speed stays within its limits and is faster by its table.

Why: machines work faster with speed, never with torque alone: what stands above the need is idle.

How to repair: an increasing line between the ratios named, or one reducing stage less above the machine.

Source: common practice, no source; the work table is the catalogue's.
"""

import math
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
    report,
    seconds,
    speed,
    time_of_unit,
    times,
    torque,
    wasteful,
)


def check(rig: SolvedRig) -> Iterator[Reported]:
    """One finding a machine."""
    ratio = _smallest(rig)
    if ratio is None:
        return
    for number, part in enumerate(rig.parts):
        turns, has = rig.flows.speed_in[number], rig.flows.torque_in[number]
        if rig.flows.solved[number] and part.item.work is not None and wasteful(part, has, turns, ratio):
            # At the edge of a blueprint's promise torque is a bound: a rig that feeds it less has none to spare.
            if rig.chain(number)[0] in rig.rig.placed.edges:
                continue
            yield _finding(rig, number, ratio)


def _smallest(rig: SolvedRig) -> float | None:
    offered = [o.ratio for item in rig.catalogue.items.values() if item.is_stage for o in item.ratios]
    return min((ratio.factor for ratio in offered if ratio.changes), default=None)


def _finding(rig: SolvedRig, number: int, smallest: float) -> Reported:
    part, has = rig.parts[number], rig.flows.torque_in[number]
    need = part.item.needs.torque or has
    values: tuple[tuple[str, Measure], ...] = (
        ("torque", torque(has)),
        ("torque_needed", torque(need)),
        ("ratio_available", times(has / need)),
    )
    message = ("gets ", torque(has), " and needs ", torque(need), ": ", times(has / need), " times")
    place = rig.place(number)
    return report(place, part.name, message, values, causes(rig, number), _suggestion(rig, number, smallest))


def _suggestion(rig: SolvedRig, number: int, smallest: float) -> Text:
    """What has to stand above: less leaves torque to spare, more leaves the machine short or too fast."""
    part, has, turns = rig.parts[number], rig.flows.torque_in[number], rig.flows.speed_in[number]
    most = has / (part.item.needs.torque or has)
    if part.speed_limit is not None:
        most = min(most, part.speed_limit / turns)
    best, unit = most, "unit"
    if part.item.work is not None:
        best, unit = min(most, part.item.work.times[-1][0] / turns), part.item.work.unit
    now, then = time_of_unit(part, has, turns) or 0.0, time_of_unit(part, has / best, turns * best) or 0.0
    gained: Text = (f", a {unit} in ", seconds(then), *_instead(now))
    if math.isinf(then):
        gained = (", still short of what it needs",)
    least = min(most / smallest, best)
    line: Text = ("an increasing line of more than ", times(least), " : 1 and up to ", times(most), " : 1")
    return (*line, ": ", times(best), " : 1 gives ", speed(turns * best), *gained)


def _instead(now: float) -> Text:
    """What the machine does as it is; one that stalls makes nothing in any time."""
    return (", where it stalls now",) if math.isinf(now) else (" instead of ", seconds(now))


def repairs(_: SolvedRig, finding: Finding) -> Iterator[Offer]:
    """The line geared anew, so that what is idle turns into speed."""
    yield SearchFor("serve-machine", (finding.part or "",))


RULE = Rule("machine-surplus", "note", check, repairs, local=True)
