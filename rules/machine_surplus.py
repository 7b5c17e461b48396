"""A machine has torque to spare that a catalogue ratio would turn into useful speed.

What: a machine with a work table gets at least its torque need times the smallest stage ratio of the catalogue, and so
much more speed stays within its limits and is faster by its table.

Why: machines work faster with speed, never with torque alone: what stands above the need is idle.

How to repair: an increasing stage of up to the ratio named, or one reducing stage less above the machine.

Source: common practice, no source; the work table is the catalogue's.
"""

import math
from collections.abc import Iterator

from lineshaft.api import (
    Finding,
    Measure,
    Offer,
    Ratio,
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
        if rig.flows.solved[number] and part.item.work is not None and wasteful(part, has, turns, ratio.factor):
            # At the edge of a blueprint's promise torque is a bound: a rig that feeds it less has none to spare.
            if rig.chain(number)[0] in rig.rig.placed.edges:
                continue
            now = time_of_unit(part, has, turns) or 0.0
            then = time_of_unit(part, has / ratio.factor, turns * ratio.factor) or 0.0
            yield _finding(rig, number, ratio, (now, then))


def _smallest(rig: SolvedRig) -> Ratio | None:
    offered = [o.ratio for item in rig.catalogue.items.values() if item.is_stage for o in item.ratios]
    return min((ratio for ratio in offered if ratio.changes), key=lambda ratio: ratio.factor, default=None)


def _finding(rig: SolvedRig, number: int, ratio: Ratio, work_times: tuple[float, float]) -> Reported:
    part, has = rig.parts[number], rig.flows.torque_in[number]
    need = part.item.needs.torque or has
    now, then = work_times
    values: tuple[tuple[str, Measure], ...] = (
        ("torque", torque(has)),
        ("torque_needed", torque(need)),
        ("ratio_available", times(has / need)),
    )
    unit = part.item.work.unit if part.item.work is not None else "unit"
    message = ("gets ", torque(has), " and needs ", torque(need), ": ", times(has / need), " times")
    faster = rig.flows.speed_in[number] * ratio.factor
    gained: Text = (f", a {unit} in ", seconds(then), *_instead(now))
    if math.isinf(then):
        gained = (", still short of what it needs",)
    suggestion = (f"an increasing stage of {ratio.text} : 1 gives ", speed(faster), *gained)
    place = rig.place(number)
    return report(place, part.name, message, values, causes(rig, number), suggestion)


def _instead(now: float) -> Text:
    """What the machine does as it is; one that stalls makes nothing in any time."""
    return (", where it stalls now",) if math.isinf(now) else (" instead of ", seconds(now))


def repairs(_: SolvedRig, finding: Finding) -> Iterator[Offer]:
    """The line geared anew, so that what is idle turns into speed."""
    yield SearchFor("serve-machine", (finding.part or "",))


RULE = Rule("machine-surplus", "note", check, repairs, local=True)
