"""What is computed of a part, as an editor shows it behind the part and when one points at it."""

from collections.abc import Iterator
from typing import NamedTuple

from lineshaft.api import Measure, Part, SolvedRig, over, speed, speed_carried, torque, torque_carried
from lineshaft.solve.machine_output import hourly_rate
from lineshaft.write.escape import visible
from lineshaft.write.shown_units import Units, figures, hourly, measure


class Load(NamedTuple):
    """What a part carries against one of its limits, in N*m or rad/s."""

    of: str
    carried: Measure
    limit: Measure
    share: float


def loads(rig: SolvedRig, number: int) -> list[Load]:
    """What a part carries against each of its limits, the one that counts first."""
    part, flows = rig.parts[number], rig.flows
    found = []
    if part.torque_limit is not None:
        carried = torque_carried(flows, number)
        found.append(Load("torque", torque(carried), torque(part.torque_limit), carried / part.torque_limit))
    if part.speed_limit is not None:
        carried = speed_carried(flows, number)
        found.append(Load("speed", speed(carried), speed(part.speed_limit), carried / part.speed_limit))
    return sorted(found, key=lambda load: -load.share)


def hint_words(rig: SolvedRig, number: int, units: Units) -> str:
    """For instance `2.25 kN·m  8 rad/s  188 %`: the torque and speed that count, and the larger share of a limit."""
    if not rig.flows.solved[number]:
        return "not solved"
    said = [
        measure(torque(torque_carried(rig.flows, number)), units),
        measure(speed(speed_carried(rig.flows, number)), units),
    ]
    found = loads(rig, number)
    if found:
        said.append(percent(found[0].share))
    rate = rate_words(rig, number)
    return "  ".join([*said, rate] if rate else said)


def rate_words(rig: SolvedRig, number: int) -> str:
    """What a machine makes, for instance `80 an hour (plank)`; empty of what has no table of work, and at rest."""
    part = rig.parts[number]
    rate = hourly_rate(part, number, rig.flows)
    if rate is None or part.item.work is None:
        return ""
    return f"{hourly(rate, ' an hour')} ({visible(part.item.work.unit)})" if rate else hourly(rate)


def percent(share: float) -> str:
    """A share of a limit to a whole per cent, and closer where that would hide whether it is over the limit."""
    shown = round(share * 100)
    if share * 100 >= 1 and (shown != 100 or (not over(share, 1.0) and not over(1.0, share))):
        return f"{shown} %"
    return f"{figures(share * 100)} %"


def parts_written_in(rig: SolvedRig, file: str) -> Iterator[tuple[int, Part]]:
    """The parts that a file itself writes down, with their numbers; those that it places stand elsewhere."""
    for number, part in enumerate(rig.parts):
        if part.tree.source.shown == file and not part.uses and part.section == "parts":
            yield number, part
