"""What a label has still to come, at least: never more than any way on from it weighs."""

import math
from typing import NamedTuple

from lineshaft.repair.line.demand import Demand
from lineshaft.repair.line.gains import NEVER, Reach
from lineshaft.repair.line.labels import Label
from lineshaft.repair.line.prices import cost_units
from lineshaft.repair.line.segment import ENDLESS
from lineshaft.repair.line.steps import Steps
from lineshaft.solve.limits import EQUAL

_SLACK = 4e-9


class Shown(NamedTuple):
    """A design that is shown already: cost in whole units, parts put in, speed at the end [rad/s]."""

    cost: int
    parts: int
    speed: float


class Bounds:
    """The least weight to come, by the window that the end leaves to the gain."""

    def __init__(self, steps: Steps, demand: Demand) -> None:
        self._steps, self._demand = steps, demand
        segment = steps.segment
        lightest: dict[int, tuple[float, int]] = {}
        for group in steps.groups:
            weight = min(stage.make.weight for stage in group.stages)
            known = lightest.get(group.gain, (0.0, NEVER))[1]
            lightest[group.gain] = (math.log(group.factor), min(known, weight))
        self._reach = Reach(list(lightest.values()), segment.stages)
        self._worst_stage = min((group.efficiency for group in steps.groups), default=1.0)
        self._kept = [(0, 1.0, 1.0)]
        for kept in reversed(segment.kept):
            weight, best, worst = self._kept[-1]
            own = [make.efficiency for make in kept.makes]
            lightest_make = min((make.weight for make in kept.makes), default=0)
            self._kept.append((weight + lightest_make, best * max(own, default=1.0), worst * min(own, default=1.0)))
        self._kept.reverse()
        self._turn = steps.turns[-1]
        self._power = demand.least_power
        self.shown: list[Shown] = []

    def to_come(self, label: Label) -> int:
        """The least weight to come; ``NEVER`` where no way on does."""
        state, steps = label.state, self._steps
        weight, best, worst = self._kept[state.passed]
        left = steps.segment.stages - label.stages
        best *= label.pass_on
        worst *= label.pass_on * self._worst_stage**left
        if state.phase in (1, 2):
            best *= sum(state.profile)
            weight += steps.trees.lightest_gathering(len(state.profile))
        if state.phase != 3 and steps.segment.lines > 1:
            worst *= steps.trees.worst
        if weight >= NEVER:
            return NEVER
        turned = steps.gains.value(state.gain) * self._turn
        low, high = self._window(best, worst, turned, min(steps.most, label.most))
        faster = self._must_be_faster(label.weight + weight, label.parts)
        if faster is not None:
            if faster == ENDLESS:
                return NEVER
            low = max(low, _log(faster / (steps.segment.speed * turned)) + 2 * _SLACK)
        more = self._reach.at_most(left, low, high)
        return NEVER if more >= NEVER else weight + more

    def asked_for(self, weight: int, parts: int, speed: float) -> bool:
        """Whether a whole design is asked for still, beside those that are shown."""
        faster = self._must_be_faster(weight, parts)
        return faster is None or speed > faster * (1 + EQUAL)

    def _window(self, best: float, worst: float, turned: float, most: float) -> tuple[float, float]:
        """The logarithms of the least and greatest gain still to come that the end allows."""
        demand, steps = self._demand, self._steps
        speed = steps.segment.speed * turned
        low, high = _log(demand.speed[0] / speed), _log(demand.speed[1] / speed)
        torque = most * best / turned
        for need in demand.needs:
            if need.turns > 0 and need.speed > 0:
                low = max(low, _log(need.speed / (need.turns * speed)))
            if need.by > 0 and need.torque > need.plus:
                high = min(high, _log(torque * need.by / (need.torque - need.plus)))
        if demand.torque[0] > 0:
            high = min(high, _log(torque / demand.torque[0]))
        if demand.torque[1] < ENDLESS:
            limit = demand.torque[1]
            low = max(low, _log(steps.least * worst / turned / limit) if limit > 0 else math.inf)
        if self._power > 0 and most * best * steps.segment.speed < self._power * (1 - EQUAL):
            return math.inf, -math.inf
        return low - _SLACK, high + _SLACK

    def _must_be_faster(self, weight: int, parts: int) -> float | None:
        """The speed at the end that a label has to exceed, as what is shown is otherwise as good; endless: in vain."""
        speeds = [s.speed for s in self.shown if s.cost <= cost_units(weight) and s.parts <= parts]
        useful = self._demand.useful
        if not speeds or useful is None:
            return None
        fastest = max(speeds)
        return ENDLESS if fastest >= useful * (1 - EQUAL) else fastest


def _log(value: float) -> float:
    return -math.inf if value <= 0 else math.inf if math.isinf(value) else math.log(value)
