"""A machine has torque to spare that a catalogue ratio would turn into useful speed.

What: a machine with a work table gets at least its torque need times the smallest stage ratio of the catalogue, and so
much more speed stays within its limits and is faster by its table.

Why: machines work faster with speed, never with torque alone: what stands above the need is idle.

How to repair: an increasing line between the ratios named, or one reducing stage less above the machine.

Source: common practice, no source; the work table is the catalogue's.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding a machine."""
    ratio = _smallest(rig)
    if ratio is None:
        return
    for number, part in enumerate(rig.parts):
        turns, has = rig.flows.speed_in[number], rig.flows.torque_in[number]
        if rig.flows.solved[number] and part.item.work is not None and api.wasteful(part, has, turns, ratio):
            # At the edge of a blueprint's promise torque is a bound: a rig that feeds it less has none to spare.
            if rig.chain(number)[0] in rig.rig.placed.edges:
                continue
            yield _finding(rig, number, ratio)


def _smallest(rig: api.SolvedRig) -> float | None:
    offered = [o.ratio for item in rig.catalogue.items.values() if item.is_stage for o in item.ratios]
    return min((ratio.factor for ratio in offered if ratio.changes), default=None)


def _finding(rig: api.SolvedRig, number: int, smallest: float) -> api.Reported:
    part, has = rig.parts[number], rig.flows.torque_in[number]
    need = part.item.needs.torque or has
    values: tuple[tuple[str, api.Measure], ...] = (
        ("torque", api.torque(has)),
        ("torque_needed", api.torque(need)),
        ("ratio_available", api.times(has / need)),
    )
    message = ("gets ", api.torque(has), " and needs ", api.torque(need), ": ", api.times(has / need), " times")
    place = rig.place(number)
    return api.report(place, part.name, message, values, api.causes(rig, number), _suggestion(rig, number, smallest))


def _suggestion(rig: api.SolvedRig, number: int, smallest: float) -> api.Text:
    """What has to stand above: less leaves torque to spare, more leaves the machine short or too fast."""
    part, has, turns = rig.parts[number], rig.flows.torque_in[number], rig.flows.speed_in[number]
    most = has / (part.item.needs.torque or has)
    if part.speed_limit is not None:
        most = min(most, part.speed_limit / turns)
    work = part.item.work
    assert work is not None  # as the check found
    best = min(most, work.times[-1][0] / turns)
    now, then = api.time_of_unit(part, has, turns) or 0.0, api.time_of_unit(part, has / best, turns * best) or 0.0
    gained: api.Text = (f", a {work.unit} in ", api.seconds(then), *_instead(now))
    if math.isinf(then):
        gained = (", still short of what it needs",)
    least = min(most / smallest, best)
    line: api.Text = ("an increasing line of more than ", api.times(least), " : 1 and up to ", api.times(most), " : 1")
    return (*line, ": ", api.times(best), " : 1 gives ", api.speed(turns * best), *gained)


def _instead(now: float) -> api.Text:
    """What the machine does as it is; one that stalls makes nothing in any time."""
    return (", where it stalls now",) if math.isinf(now) else (" instead of ", api.seconds(now))


def repairs(_: api.SolvedRig, finding: api.Finding) -> Iterator[api.Offer]:
    """The line geared anew, so that what is idle turns into speed."""
    yield api.SearchFor("serve-machine", (finding.part or "",))


RULE = api.Rule("machine-surplus", "note", check, repairs, local=True)
