"""What a label has still to come, at least: never more than any way on from it weighs."""

import math
from typing import NamedTuple

from lineshaft.repair.line.demand import Demand
from lineshaft.repair.line.gains import NEVER
from lineshaft.repair.line.labels import BOTH_WAYS, Label
from lineshaft.repair.line.prices import cost_units
from lineshaft.repair.line.reach import Reaches
from lineshaft.repair.line.segment import ENDLESS
from lineshaft.repair.line.steps import LOSSES, Steps
from lineshaft.solve.limits import over, short

_SLACK = 4e-9
_MOST_LOG = 700.0


class Shown(NamedTuple):
    """A design that is shown already: cost in whole units, parts put in, speed at the end [rad/s].

    What costs no less and has no fewer parts has to be faster, unless no speed is said. In a straight segment it gears
    up or down, not both: nobody gears up and down again for more money and parts.
    """

    cost: int
    parts: int
    speed: float | None


class _Rest(NamedTuple):
    """What is left behind so many kept parts: the least weight, and what it leaves of the torque at best and worst."""

    weight: int
    best: float
    worst: float


class Bounds:
    """The least weight to come, by the window that the end leaves to the gain; all in logarithms."""

    def __init__(self, steps: Steps, reach: Reaches, demand: Demand) -> None:
        self._steps, self._reach, self._demand = steps, reach, demand
        segment = steps.segment
        self._straight = segment.straight
        self._worst_stage = _log(min((group.efficiency for group in steps.groups), default=1.0))
        self._worst_trees = _log(steps.trees.worst) if segment.lines > 1 else 0.0
        rest = [_Rest(0, 0.0, 0.0)]
        for kept in reversed(segment.kept):
            below, own = rest[-1], [_log(make.efficiency) for make in kept.makes]
            weight = below.weight + min(make.weight for make in kept.makes)
            rest.append(_Rest(weight, below.best + max(own), below.worst + min(own)))
        self._rest = rest[::-1]
        self._set_window()
        self.shown: list[Shown] = []

    @property
    def least_torque(self) -> float:
        """The torque [N*m] at the head that the end cannot do without, if all that stays loses the least."""
        asked = max(self._power, self._needed + self._speeds[0] - _SLACK) - self._rest[0].best
        return math.exp(min(asked, _MOST_LOG))

    def _set_window(self) -> None:
        """The bounds of the whole gain of the stages, but for what the losses on the way make of the torque."""
        demand, steps = self._demand, self._steps
        speed = steps.segment.speed * steps.turns[-1]
        low, high = _log(demand.speed[0] / speed), _log(demand.speed[1] / speed)
        # Torque at the end is the head's through the losses over all that turns: needs bound the gain from above.
        wanted = demand.torque[0]
        for need in demand.needs:
            if need.turns > 0:
                low = max(low, _log(need.speed / (need.turns * speed)))
            if need.by > 0:
                wanted = max(wanted, (need.torque - need.plus) / need.by)
        self._speeds = (low - _SLACK, high + _SLACK)
        turn = steps.turns[-1]
        self._needed = _log(wanted * turn)
        self._limit = _log(steps.least / turn) - _log(demand.torque[1])
        self._power = _log(demand.least_power / steps.segment.speed) - _SLACK
        self._whole_speed = speed

    def to_come(self, label: Label) -> int:
        """The least weight to come; ``NEVER`` where no way on does."""
        state, steps = label.state, self._steps
        weight, best, worst = self._rest[state.passed]
        left = steps.segment.stages - label.stages
        passes = state.loss / LOSSES
        best += passes
        worst += passes + self._worst_stage * left
        if state.phase in (1, 2):
            best += _log(sum(state.profile))
            gathering = steps.trees.lightest_gathering(len(state.profile))
            if gathering >= NEVER:
                return NEVER
            weight += gathering
        if state.phase != 3:
            worst += self._worst_trees
        gain = steps.gains.log(state.gain)
        available = best + _log(min(steps.most, label.most))
        if available < self._power:
            return NEVER
        low = max(self._speeds[0], self._limit + worst - _SLACK)
        high = min(self._speeds[1], available - self._needed + _SLACK)
        ways = BOTH_WAYS
        beside = self._beside(label.weight + weight, label.parts)
        if beside:
            if label.ways == BOTH_WAYS:
                return NEVER
            ways = label.ways if self._straight else BOTH_WAYS
            faster = self._must_be_faster(beside)
            if faster is not None:
                low = max(low, _log(faster / self._whole_speed) + _SLACK)
        more = self._reach.at_most(left, low - gain, high - gain, ways)
        return NEVER if more >= NEVER else weight + more  # what is cheaper than what stands weighs less than nothing

    def asked_for(self, weight: int, parts: int, speed: float, ways: int) -> bool:
        """Whether a whole design is asked for still, beside those that are shown."""
        beside = self._beside(weight, parts)
        if beside and ways == BOTH_WAYS:
            return False
        faster = self._must_be_faster(beside)
        return faster is None or over(speed, faster)

    def _beside(self, weight: int, parts: int) -> list[Shown]:
        """What is shown that costs no more than a weight and has no more parts."""
        if not self.shown:
            return []
        cost = cost_units(weight)
        return [one for one in self.shown if one.cost <= cost and one.parts <= parts]

    def _must_be_faster(self, beside: list[Shown]) -> float | None:
        """The speed at the end that a label has to exceed, as what is shown is otherwise as good; endless: in vain."""
        speeds = [one.speed for one in beside if one.speed is not None]
        useful = self._demand.useful
        if not speeds or useful is None:
            return None
        fastest = max(speeds)
        return fastest if short(fastest, useful) else ENDLESS


def _log(value: float) -> float:
    return math.log(value) if value > 0 else -math.inf
