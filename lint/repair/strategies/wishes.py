"""What machines below a line have to get, as a demand at the line's end."""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from lineshaft.repair.line.demand import Demand, Need
from lineshaft.repair.strategies.strength import ENDLESS
from lineshaft.schema.model.catalogue import Work
from lineshaft.schema.model.rig import Part
from lineshaft.solve.limits import EQUAL
from lineshaft.solve.surplus import wasteful
from lineshaft.solve.work_rate import speed_for_time, time_of_work


class Wish(NamedTuple):
    """One machine's share of what leaves the line: its torque is ``by``·T + ``plus``, its speed ``turns``·ω.

    ``torque``, ``speed`` and ``power`` are the least it has to get, ``time`` [s] the longest one unit of work may take;
    ``above`` a speed that it has to exceed, 0 for none. ``thrifty``: it may not have torque to spare.
    """

    number: int
    part: Part
    by: float
    plus: float
    turns: float
    torque: float | None
    speed: float | None
    power: float | None
    time: float | None = None
    above: float = 0.0
    thrifty: bool = False


def is_late(part: Part, speed: float) -> bool:
    """Whether a machine misses its target at a speed."""
    if part.target is None or part.item.work is None:
        return False
    return (time_of_work(part.item.work, speed) or ENDLESS) > part.target * (1 + EQUAL)


def demand_of(
    wishes: Sequence[Wish], torque: tuple[float, float], speed: tuple[float, float], smallest: float | None = None
) -> Demand:
    """Limits on torque and speed with what machines have to get; ``smallest`` is the catalogue's smallest ratio."""
    needs = [
        Need(w.by, w.plus, w.turns, w.torque or 0.0, max(w.speed or 0.0, _for_time(w)), w.power or 0.0) for w in wishes
    ]
    asked = tuple(need for need in needs if need.torque or need.speed or need.power)
    choosy = [wish for wish in wishes if wish.thrifty or wish.time is not None]

    def accepts(torque: float, speed: float) -> bool:
        return all(_accepted(wish, torque * wish.by + wish.plus, speed * wish.turns, smallest) for wish in choosy)

    if not choosy:
        return Demand(torque, speed, asked, useful=_useful(wishes))
    return Demand(torque, speed, asked, accepts, _useful(wishes))


def _accepted(wish: Wish, torque: float, speed: float, smallest: float | None) -> bool:
    if wish.time is not None and is_late(wish.part, speed):
        return False
    if not wish.thrifty:
        return True
    work = wish.part.item.work
    if wish.above > 0 and work is not None:
        before, now = time_of_work(work, wish.above), time_of_work(work, speed)
        if now is None or (before is not None and now >= before * (1 - EQUAL)):
            return False
    return not wasteful(wish.part, torque, speed, smallest or ENDLESS)


def _for_time(wish: Wish) -> float:
    """The speed that a machine's work has to exceed or reach, as a bound: 0 where a slower one may do as well."""
    work = wish.part.item.work
    if work is None or not _steady(work):
        return 0.0
    reached = wish.above
    if wish.time is not None:
        for_time = speed_for_time(work, wish.time)
        reached = ENDLESS if for_time is None else max(reached, for_time)
    return reached


def _steady(work: Work) -> bool:
    """Whether a machine never works slower when it turns faster."""
    return all(before >= after for (_, before), (_, after) in pairwise(work.times))


def _useful(wishes: Sequence[Wish]) -> float | None:
    """The speed at the line's end above which no machine works faster; none where a slower one may be the faster."""
    found = 0.0
    for wish in wishes:
        work = wish.part.item.work
        if work is None or wish.turns <= 0:
            continue
        if not _steady(work):
            return None
        found = max(found, work.times[-1][0] / wish.turns)
    return found
