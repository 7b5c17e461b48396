"""What a machine makes of what arrives at it: nothing at all while it is short of one of its needs.

This is the one place that decides it; tables of work alone (`work_rate`) know speeds and no needs.
"""

import math
from typing import TYPE_CHECKING

from lineshaft.schema.model.rig import Part
from lineshaft.solve.limits import short
from lineshaft.solve.steady_state import Flows
from lineshaft.solve.work_rate import time_of_work

if TYPE_CHECKING:  # most machines have none
    from lineshaft.solve.shortage import Quantity, Shortage


def shortages(part: Part, torque: float, speed: float) -> "tuple[Shortage, ...]":
    """What a machine that gets ``torque`` [N*m] at ``speed`` [rad/s] is short of; at rest of all that it needs."""
    needs = part.item.needs
    asked: tuple[tuple[Quantity, float, float | None], ...] = (
        ("torque", torque, needs.torque),
        ("speed", speed, needs.speed),
        ("power", torque * speed, needs.power),
    )
    lacking = [(name, has, need) for name, has, need in asked if need is not None and short(has, need)]
    if not lacking:
        return ()
    from lineshaft.solve.shortage import Shortage

    return tuple(Shortage(name, has, need) for name, has, need in lacking)


def time_of_unit(part: Part, torque: float, speed: float) -> float | None:
    """Time [s] for one unit of work; endless (`math.inf`) where a need is not met, none at rest or without a table."""
    time = None if part.item.work is None else time_of_work(part.item.work, speed)
    return math.inf if time is not None and shortages(part, torque, speed) else time


def hourly_rate(part: Part, number: int, flows: Flows) -> float | None:
    """Units of work an hour; 0 where it stalls, short of a need; none at rest, unsolved or without a work table."""
    if not flows.solved[number]:
        return None
    time = time_of_unit(part, flows.torque_in[number], flows.speed_in[number])
    return None if time is None else 3600 / time
