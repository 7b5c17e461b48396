"""A machine works slower than its target.

What: at the speed that reaches it, one unit of work takes longer than the `target` in the rig.

Why: machines work faster with speed, never with torque alone; torque above the need is idle.

How to repair: more speed: an increasing stage of the ratio named, as far as the torque left over still covers the need.
Where no speed in the machine's table is fast enough, the target has to give or a second machine has to help.

Source: common practice, no source; the work table is the catalogue's.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding for each running machine with a target that it misses; one that stalls has a worse fault."""
    flows = rig.flows
    for number, part in enumerate(rig.parts):
        if part.target is None or not flows.solved[number]:
            continue
        time = api.time_of_unit(part, flows.torque_in[number], flows.speed_in[number])
        if time is not None and time < math.inf and api.over(time, part.target):
            yield _finding(rig, number, time, part.target)


def _finding(rig: api.SolvedRig, number: int, time: float, wanted: float) -> api.Reported:
    part = rig.parts[number]
    work = part.item.work
    needed = api.speed_for_time(work, wanted) if work is not None else None
    turns = rig.flows.speed_in[number]
    values: list[tuple[str, api.Measure]] = [("time", api.seconds(time)), ("time_wanted", api.seconds(wanted))]
    unit = work.unit if work is not None else "unit"
    message: api.Text = (
        f"takes for one {unit} ",
        api.seconds(time),
        " at ",
        api.speed(turns),
        ", wanted ",
        api.seconds(wanted),
    )
    suggestion: api.Text = ("no speed in its table is fast enough: the target has to give, or a second machine help",)
    if needed is not None:
        values.append(("speed_needed", api.speed(needed)))
        suggestion = ("it needs ", api.speed(needed), ": ", *api.stage_of(rig, needed / turns, "an increasing"))
    return api.report(
        rig.place(number),
        part.name,
        message,
        values,
        api.causes(rig, number),
        suggestion,
    )


def repairs(_: api.SolvedRig, finding: api.Finding) -> Iterator[api.Offer]:
    """The line geared anew for more speed."""
    yield api.SearchFor("serve-machine", (finding.part or "",))


RULE = api.Rule("target-missed", "warning", check, repairs, local=True)
