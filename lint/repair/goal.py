"""What a repair of a line has to reach: the part that must hold, and what everything below the line has to get."""

from dataclasses import dataclass
from typing import NamedTuple

from lineshaft.repair.strength import ENDLESS, Load, Strength
from lineshaft.schema.model.rig import Part
from lineshaft.solve.limits import EQUAL, over, short, speed_carried, torque_carried
from lineshaft.solve.machine_output import time_of_unit
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.steady_state import SPEEDS_AGREE, outlet_torque
from lineshaft.solve.surplus import surplus_ratio, wasteful
from lineshaft.solve.work_rate import speed_for_time

_HANDED_ON = 0.95
"""The share of the torque that leaves a blueprint which still counts as all of it: two stages may lose the rest."""


class Goal(NamedTuple):
    """The part a finding is about (index) and what of it must be right afterwards.

    ``torque`` and ``speed``: it keeps to that limit. ``machine``: it gets what it needs, meets its target and wastes
    nothing. ``speeds``: a combiner's lines agree. ``promise``: the placed blueprint it is in keeps its promises.
    """

    part: int
    torque: bool = False
    speed: bool = False
    machine: bool = False
    speeds: bool = False
    promise: str | None = None


class Wish(NamedTuple):
    """One machine's share of what leaves the line: its torque is ``by``·T + ``plus``, its speed ``turns``·ω."""

    part: Part
    by: float
    plus: float
    turns: float
    torque: float | None
    speed: float | None
    power: float | None
    thrifty: bool


@dataclass(frozen=True, slots=True)
class Demand:
    """What may leave a line [N*m, rad/s], so that all below it holds and every machine gets what it has to."""

    torque: tuple[float, float]
    speed: tuple[float, float]
    wishes: tuple[Wish, ...]
    smallest: float

    def met(self, torque: float, speed: float) -> bool:
        """Whether a torque and speed at the line's end will do."""
        (least, most), (slowest, fastest) = self.torque, self.speed
        if over(torque, most) or short(torque, least) or over(speed, fastest) or short(speed, slowest):
            return False
        return all(self._fulfilled(wish, torque * wish.by + wish.plus, speed * wish.turns) for wish in self.wishes)

    def could_be_met(self, torque: tuple[float, float], speed: float) -> bool:
        """Whether some torque between a least and a most would do at a speed: false only where none does."""
        least, most = torque
        if over(least, self.torque[1]) or short(most, self.torque[0]):
            return False
        if over(speed, self.speed[1]) or short(speed, self.speed[0]):
            return False
        return all(
            self._fulfilled(w._replace(thrifty=False), most * w.by + w.plus, speed * w.turns)
            and not (w.thrifty and wasteful(w.part, least * w.by + w.plus, speed * w.turns, self.smallest))
            for w in self.wishes
        )

    def _fulfilled(self, wish: Wish, torque: float, speed: float) -> bool:
        if wish.torque is not None and short(torque, wish.torque):
            return False
        if wish.speed is not None and short(speed, wish.speed):
            return False
        if wish.power is not None and short(torque * speed, wish.power):
            return False
        return not (wish.thrifty and wasteful(wish.part, torque, speed, self.smallest))


@dataclass(slots=True)
class _Reckoning:
    """Gathers the demand over the parts below a line, in driving order."""

    rig: SolvedRig
    goal: Goal
    strength: Strength
    waste: bool
    most_torque: float = ENDLESS
    slowest: float = 0.0
    fastest: float = ENDLESS

    def limit(self, number: int, inlet: tuple[float, float], outlet: tuple[float, float], turns: float) -> None:
        """Narrow the bounds by one part's limits; ``inlet`` and ``outlet`` are (by, plus)."""
        must = self.goal.part == number
        held = _allowed(self.strength, number, must and self.goal.torque, must and self.goal.speed)
        for by, plus in (inlet, outlet):
            if by > 0 and held.torque < ENDLESS:
                self.most_torque = min(self.most_torque, (held.torque - plus) / by)
        if held.speed < ENDLESS and turns > 0:
            self.fastest = min(self.fastest, held.speed / turns)

    def promises(self, torque: dict[tuple[int, int], tuple[float, float]], turns: dict[int, float]) -> None:
        """Narrow the bounds by what blueprints below promise to stand: no more than that, or than now."""
        flows = self.rig.flows
        for promise in self.rig.rig.placed.promises:
            source, outlet = promise.source
            if promise.source not in torque:
                continue
            (by, plus), turning = torque[promise.source], turns.get(source, 1.0)
            most, fastest = promise.torque, promise.speed
            if self.goal.promise != promise.part:
                most = max(most, outlet_torque(self.rig.parts[source], flows.passed[source], outlet))
                fastest = max(fastest, flows.speed_out[source])
            if by > 0:
                self.most_torque = min(self.most_torque, (most - plus) / by)
            if turning > 0:
                self.fastest = min(self.fastest, fastest / turning)

    def wish(self, number: int, by: float, plus: float, turns: float) -> Wish:
        """What a machine below the line has to get: its needs, or as much as now where it is short already."""
        rig, part = self.rig, self.rig.parts[number]
        must = self.goal.machine and self.goal.part == number
        torque, speed = rig.flows.torque_in[number], rig.flows.speed_in[number]
        known = rig.flows.solved[number]
        needs = part.item.needs

        def wanted(need: float | None, has: float) -> float | None:
            return need if need is None or must or not known else min(need, has)

        fast = wanted(needs.speed, speed)
        work = part.item.work
        if part.target is not None and work is not None:
            late = known and (time_of_unit(part, torque, speed) or ENDLESS) > part.target * (1 + EQUAL)
            if must or not late:
                for_time = speed_for_time(work, part.target)
                fast = ENDLESS if for_time is None else max(fast or 0.0, for_time)
        smallest = surplus_ratio(rig.catalogue) or ENDLESS
        thrifty = self.waste and (must or not (known and wasteful(part, torque, speed, smallest)))
        return Wish(
            part, by, plus, turns, wanted(needs.torque, torque), fast, wanted(needs.power, torque * speed), thrifty
        )


def _allowed(strength: Strength, number: int, torque: bool, speed: bool) -> Load:
    strict, now = strength.allowed(number, must_hold=True), strength.allowed(number, must_hold=False)
    return Load(strict.torque if torque else now.torque, strict.speed if speed else now.speed)


def allowed(strength: Strength, number: int, goal: Goal) -> Load:
    """What a part may carry after the repair: no more than its limit where the goal says so, else no more than now."""
    must = goal.part == number
    return _allowed(strength, number, must and goal.torque, must and goal.speed)


def demand_below(rig: SolvedRig, end: tuple[int, int], goal: Goal, strength: Strength, waste: bool) -> Demand:
    """The demand at one inlet (part, inlet number) and on all below it.

    ``waste``: whether a machine with torque to spare would be a finding. Torque below is linear in what enters: each
    part's is by·T + plus, where plus comes from other lines through a combiner.
    """
    reckoning = _Reckoning(rig, goal, strength, waste)
    first, inlet = end
    torque: dict[tuple[int, int], tuple[float, float]] = {rig.parts[first].inlets[inlet]: (1.0, 0.0)}
    turns: dict[int, float] = {}
    wishes: list[Wish] = []
    speeds: list[tuple[float, float]] = []
    for number in _below(rig, first):
        part = rig.parts[number]
        inlets = [_entering(rig, torque, number, k) for k in range(len(part.inlets))]
        above = [turns[s] for s, _ in part.inlets if s in turns]
        mine = above[0] if above else 1.0
        if part.item.kind == "combiner" and len(inlets) > 1:
            speeds += _agreed(rig, number, end, turns, mine, goal)
        by, plus = sum(i[0] for i in inlets), sum(i[1] for i in inlets)
        widest = max(inlets, key=lambda i: i[0] + i[1])
        gain = part.item.efficiency if part.engaged else 0.0
        ratio = part.ratio.factor if part.ratio is not None else 1.0
        turning = mine if part.engaged else 0.0
        if part.direction is not None:
            gain *= 1 / ratio if part.direction == "increase" else ratio
            turning = mine * ratio if part.direction == "increase" else mine / ratio
        out = (by * gain, plus * gain)
        share = max(part.shares) / sum(part.shares) if part.shares else 1.0
        leaves = (0.0, 0.0) if part.item.kind == "driven-machine" else (out[0] * share, out[1] * share)
        reckoning.limit(number, widest, leaves, max(mine, turning))
        if part.item.kind == "driven-machine":
            wishes.append(reckoning.wish(number, by, plus, mine))
        turns[number] = turning
        for outlet in range(max(1, len(part.outlets))):
            piece = part.shares[outlet] / sum(part.shares) if part.shares else 1.0
            torque[number, outlet] = (out[0] * piece, out[1] * piece)
    reckoning.promises(torque, turns)
    least = max((_least(wish.torque, wish) for wish in wishes), default=0.0)
    slowest = max((wish.speed / wish.turns for wish in wishes if wish.speed and wish.turns), default=0.0)
    fastest = reckoning.fastest
    for low, high in speeds:
        slowest, fastest = max(slowest, low), min(fastest, high)
    smallest = surplus_ratio(rig.catalogue) or ENDLESS
    return Demand((least, reckoning.most_torque), (slowest, fastest), tuple(wishes), smallest)


def demand_outside(rig: SolvedRig, last: int, *, kept: bool) -> Demand:
    """What may leave a blueprint behind a part: with ``kept`` as much as now, else as the rigs find that place it."""
    if not kept:
        return Demand((0.0, ENDLESS), (0.0, ENDLESS), (), ENDLESS)
    torque, speed = outlet_torque(rig.parts[last], rig.flows.passed[last], 0), rig.flows.speed_out[last]
    near = SPEEDS_AGREE / 2
    return Demand((torque * _HANDED_ON, ENDLESS), (speed * (1 - near), speed * (1 + near)), (), ENDLESS)


def _least(need: float | None, wish: Wish) -> float:
    return (need - wish.plus) / wish.by if need is not None and wish.by > 0 else 0.0


def _entering(
    rig: SolvedRig, torque: dict[tuple[int, int], tuple[float, float]], number: int, inlet: int
) -> tuple[float, float]:
    """(by, plus) at one inlet: from the line, or a fixed torque from elsewhere."""
    found = torque.get(rig.parts[number].inlets[inlet])
    return found if found is not None else (0.0, rig.inlet_torque(number, inlet))


def _agreed(
    rig: SolvedRig, number: int, end: tuple[int, int], turns: dict[int, float], mine: float, goal: Goal
) -> list[tuple[float, float]]:
    """The speed at the line's end that a combiner's other lines leave no choice about, as a narrow range."""
    found = []
    for k, (source, _) in enumerate(rig.parts[number].inlets):
        turning = rig.flows.speed_out[source]
        if source in turns or (number, k) == end or turning <= 0 or mine <= 0:
            continue
        found.append((turning / mine * (1 - SPEEDS_AGREE / 2), turning / mine * (1 + SPEEDS_AGREE / 2)))
    return found


def _below(rig: SolvedRig, first: int) -> list[int]:
    """A part and all below it, each behind what drives it, unsolved ones below a combiner too."""
    reach, waiting = {first}, [first]
    while waiting:
        for number in rig.train.below(waiting.pop()):
            if number not in reach:
                reach.add(number)
                waiting.append(number)
    return [n for n in rig.train.order if n in reach]


def carried(rig: SolvedRig, number: int) -> Load:
    """What a part carries now."""
    return Load(torque_carried(rig.flows, number), speed_carried(rig.flows, number))
