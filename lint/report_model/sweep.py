"""One setting through a range: share of each limit, what the machines make, and where something turns over.

Where a part breaks is found by halving between two values of the range, each solved anew, and then given as two
neighbouring values of four figures: solved too, one holds and the other does not. What turns over and back between two
neighbouring values of the range is not seen.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import pairwise
from typing import NamedTuple

from lineshaft.report_model.operating_window import with_window
from lineshaft.report_model.record import Condition, Crossing, RateCurve, ShareCurve, Sweep
from lineshaft.report_model.schematic_record import Quantity
from lineshaft.report_model.swept_setting import Sweepable, with_value
from lineshaft.schema.model.catalogue import HeadTable
from lineshaft.schema.model.rig import Part
from lineshaft.solve.limits import over, speed_carried, torque_carried
from lineshaft.solve.machine_output import hourly_rate, shortages
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.steady_state import Flows, declared, solve

FIGURES = 4
_CLOSE = 1e-6  # of the value; a hundredth of a step of four figures, which is then looked for by solving
State = Mapping[tuple[int, Condition], bool]
"""Whether each condition fails; what is not solved is left out, and what a machine needs that is at rest."""


class _Point(NamedTuple):
    flows: Flows
    state: State


def sweep(rig: SolvedRig, swept: Sweepable, values: Sequence[float], shown: float = 1.0) -> Sweep:
    """The rig at each of ``values`` (SI, rising) of a setting.

    ``shown`` is what a value in SI is multiplied by for people: it is there that crossings have four figures.
    """
    number = rig.rig.index[swept.setting.part]
    values = _with_corners(rig.parts[number], values)

    def solved(value: float) -> _Point:
        train = with_value(rig.train, number, swept.setting.key, value)
        flows = solve(train, declared(train))
        return _Point(flows, _state(rig.parts, flows))

    points = [solved(value) for value in values]
    stops = None if swept.offered else solved
    turns = _crossings(rig, values, points, stops, shown)
    crossings = sorted(turns, key=lambda one: (max(one.holds, one.fails), one.part, one.condition))
    failing = [(rig.parts[part].name, condition) for (part, condition), fails in points[0].state.items() if fails]
    broken = tuple(one for one in failing if one[1] != "needs")
    starved = tuple(name for name, condition in failing if condition == "needs")
    flows = [point.flows for point in points]
    curves = tuple(_curves(rig.parts, flows))
    rates = tuple(_rate_curve(part, n, points) for n, part in enumerate(rig.parts) if part.item.work is not None)
    found = Sweep(swept.setting, swept.declared, tuple(values), curves, rates, tuple(crossings), broken, starved)
    unsolved = sum(not all(at.solved) for at in flows)
    names = [part.name for part in rig.parts]
    states = [{(names[part], what): fails for (part, what), fails in point.state.items()} for point in points]
    return with_window(found._replace(unsolved=unsolved), states)


def _with_corners(part: Part, values: Sequence[float]) -> list[float]:
    """The values, and between them the heads at which a table turns a corner."""
    source = part.item.source
    corners = [point[0] for point in source.points] if isinstance(source, HeadTable) else []
    return sorted({*values, *(corner for corner in corners if values[0] < corner < values[-1])})


def _state(parts: Sequence[Part], flows: Flows) -> State:
    state: dict[tuple[int, Condition], bool] = {}
    for number, part in enumerate(parts):
        if not flows.solved[number]:
            continue
        if part.torque_limit is not None:
            state[number, "torque"] = over(torque_carried(flows, number), part.torque_limit)
        if part.speed_limit is not None:
            state[number, "speed"] = over(speed_carried(flows, number), part.speed_limit)
        if part.item.kind == "driven-machine" and flows.speed_in[number]:
            state[number, "needs"] = bool(shortages(part, flows.torque_in[number], flows.speed_in[number]))
    return state


def _crossings(
    rig: SolvedRig,
    values: Sequence[float],
    points: Sequence[_Point],
    solved: Callable[[float], _Point] | None,
    shown: float,
) -> Iterator[Crossing]:
    """Where conditions turn over: found by solving between two values, or at the values, where nothing is between."""
    for (low, high), (below, above) in zip(pairwise(values), pairwise(points), strict=True):
        for key in below.state.keys() & above.state.keys():
            if below.state[key] != above.state[key]:
                part, condition = key
                if solved is None:
                    holds, fails = (low, high) if above.state[key] else (high, low)
                else:
                    holds, fails = _neighbours(low, high, _Failing(solved, key), shown)
                yield Crossing(rig.parts[part].name, condition, holds, fails)


class _Failing:
    """Whether one condition fails at a value; what is not solved fails."""

    def __init__(self, solved: Callable[[float], _Point], key: tuple[int, Condition]) -> None:
        self.solved, self.key = solved, key

    def __call__(self, value: float) -> bool:
        return self.solved(value).state.get(self.key, True)


def _neighbours(low: float, high: float, fails: Callable[[float], bool], shown: float) -> tuple[float, float]:
    """Two neighbouring values of four figures as shown: at the first the condition holds, at the second it fails."""
    fails_below = fails(low)
    while high - low > _CLOSE * high:
        middle = (low + high) / 2
        if not low < middle < high:
            break
        low, high = (middle, high) if fails(middle) == fails_below else (low, middle)
    exponent = math.floor(math.log10(high * shown)) - FIGURES + 1
    first = math.floor(low * shown / 10.0**exponent) - 1
    grid = [float(Decimal(step).scaleb(exponent)) / shown for step in range(first, first + 5)]
    turns = (pair for pair in pairwise(grid) if fails(pair[0]) == fails_below != fails(pair[1]))
    one, other = next(turns, (low, high))
    return (other, one) if fails_below else (one, other)


def _curves(parts: Sequence[Part], flows: Sequence[Flows]) -> Iterator[ShareCurve]:
    for number, part in enumerate(parts):
        limits: tuple[tuple[Quantity, float | None, Callable[[Flows, int], float]], ...] = (
            ("torque", part.torque_limit, torque_carried),
            ("speed", part.speed_limit, speed_carried),
        )
        for quantity, limit, carried in limits:
            if limit is not None:
                shares = (carried(at, number) / limit if at.solved[number] else None for at in flows)
                yield ShareCurve(part.name, quantity, tuple(shares))


def _rate_curve(part: Part, number: int, points: Sequence[_Point]) -> RateCurve:
    assert part.item.work is not None  # asked of machines that have one
    rates, fed = [], []
    for flows, state in points:
        rates.append(hourly_rate(part, number, flows))
        fed.append(not state.get((number, "needs"), True))
    return RateCurve(part.name, part.item.work.unit, tuple(rates), tuple(fed))
