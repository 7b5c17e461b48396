"""A machine with torque to spare that a stage of the catalogue would turn into useful speed."""

from lineshaft.schema.model.catalogue import Catalogue
from lineshaft.schema.model.rig import Part
from lineshaft.solve.limits import EQUAL, over, short
from lineshaft.solve.work_rate import time_of_work


def surplus_ratio(catalogue: Catalogue) -> float | None:
    """The smallest ratio above 1 of any stage; none where there is no stage."""
    factors = (o.ratio.factor for item in catalogue.items.values() if item.is_stage for o in item.ratios)
    return min((factor for factor in factors if factor > 1), default=None)


def wasteful(part: Part, torque: float, speed: float, ratio: float) -> bool:
    """Whether a machine that gets ``torque`` [N*m] at ``speed`` [rad/s] would be faster behind a stage of ``ratio``.

    It keeps the torque it needs and its speed limit there, and its work table says that it gains.
    """
    need, work = part.item.needs.torque, part.item.work
    if work is None or need is None or speed <= 0 or short(torque, need * ratio):
        return False
    faster = speed * ratio
    if part.speed_limit is not None and over(faster, part.speed_limit):
        return False
    now, then = time_of_work(work, speed), time_of_work(work, faster)
    return now is not None and then is not None and then < now * (1 - EQUAL)
