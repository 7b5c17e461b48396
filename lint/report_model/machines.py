"""What the machines of a rig make, along the table of their item and at the speed that they get."""

from collections.abc import Iterator
from itertools import pairwise

from lineshaft.report_model.record import MachineCurve
from lineshaft.schema.model.catalogue import Work
from lineshaft.solve.machine_output import hourly_rate
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.work_rate import time_of_work

_BETWEEN = 8  # points from one row of the table to the next: the law between them may be bent


def machine_curves(rig: SolvedRig) -> tuple[MachineCurve, ...]:
    """A curve for each item, speed and rate; machines that share all three share a curve."""
    together: dict[tuple[str, float, float | None], list[int]] = {}
    for number, part in enumerate(rig.parts):
        if part.item.work is not None and rig.flows.solved[number]:
            made = hourly_rate(part, number, rig.flows)
            together.setdefault((part.item.name, rig.flows.speed_in[number], made), []).append(number)
    return tuple(_curve(rig, numbers) for numbers in together.values())


def _curve(rig: SolvedRig, numbers: list[int]) -> MachineCurve:
    part, speed = rig.parts[numbers[0]], rig.flows.speed_in[numbers[0]]
    work = part.item.work
    assert work is not None  # only those with a table are asked
    names = tuple(rig.parts[number].name for number in numbers)
    points = tuple((at, rate) for at in _speeds(work, speed) if (rate := _rate(work, at)) is not None)
    made = hourly_rate(part, numbers[0], rig.flows)
    bounds = part.item.needs.speed, part.speed_limit
    return MachineCurve(names, part.item.name, work.unit, points, speed, made, *bounds)


def _speeds(work: Work, working: float) -> Iterator[float]:
    """The table's speeds with some between them, and on to the working point where that lies outside."""
    speeds = [speed for speed, _ in work.times]
    if 0 < working < speeds[0]:
        yield working
    for low, high in pairwise(speeds):
        yield from (low + (high - low) * step / _BETWEEN for step in range(_BETWEEN))
    yield speeds[-1]
    if working > speeds[-1]:
        yield working


def _rate(work: Work, speed: float) -> float | None:
    time = time_of_work(work, speed)
    return None if time is None else 3600 / time
