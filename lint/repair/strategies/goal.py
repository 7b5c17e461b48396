"""What a repair of a line has to reach: the part that must hold, and what everything below the line has to get."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from lineshaft.repair.line.demand import Demand
from lineshaft.repair.proof.effect import is_starved
from lineshaft.repair.strategies.strength import ENDLESS, Load, Strength
from lineshaft.repair.strategies.wishes import Wish, demand_of, is_late
from lineshaft.schema.model.rig import Part
from lineshaft.solve.limits import speed_carried, torque_carried
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.steady_state import SPEEDS_AGREE, outlet_torque
from lineshaft.solve.surplus import surplus_ratio, wasteful

_NONE: frozenset[int] = frozenset()
_HANDED_ON = 0.95
"""The share of the torque that leaves a blueprint which still counts as all of it: two stages may lose the rest."""


class Goal(NamedTuple):
    """The part a finding is about (index) and what of it must be right afterwards.

    ``torque`` and ``speed``: it keeps to that limit. ``machine``: it gets what it needs; where it does, it meets its
    target; where it does that, it turns torque to spare into speed. ``speeds``: a combiner's lines agree. ``promise``:
    the placed blueprint it is in keeps its promises. ``agree``: the lines of that combiner, which lock now, agree too.
    ``whole``: all else on its line keeps to its limits too, and a target is met whatever else the machine is short of.
    """

    part: int
    torque: bool = False
    speed: bool = False
    machine: bool = False
    speeds: bool = False
    promise: str | None = None
    agree: int | None = None
    whole: bool = False


@dataclass(slots=True, eq=False, repr=False)
class _Reckoning:
    """Gathers the demand over the parts below a line, in driving order; those that ``hold`` keep to their limits."""

    rig: SolvedRig
    goal: Goal
    strength: Strength
    waste: bool
    hold: frozenset[int]
    most_torque: float = ENDLESS
    slowest: float = 0.0
    fastest: float = ENDLESS

    def limit(self, number: int, inlet: tuple[float, float], outlet: tuple[float, float], turns: float) -> None:
        """Narrow the bounds by one part's limits; ``inlet`` and ``outlet`` are (by, plus)."""
        held = self._held(number)
        for by, plus in (inlet, outlet):
            if by > 0 and held.torque < ENDLESS:
                self.most_torque = min(self.most_torque, (held.torque - plus) / by)
        if held.speed < ENDLESS and turns > 0:
            self.fastest = min(self.fastest, held.speed / turns)

    def _held(self, number: int) -> Load:
        if number in self.hold:
            return self.strength.allowed(number, must_hold=True)
        must = self.goal.part == number
        return _allowed(self.strength, number, must and self.goal.torque, must and self.goal.speed)

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
        """What a machine below the line has to get: its needs, or as much as now where it is short already.

        A target that is met stays met; one that is missed is met where the finding is about that: about a machine
        that runs. One about torque to spare asks for more speed. A machine that is sized gets what it needs, and no
        more is asked of it.
        """
        rig, part = self.rig, self.rig.parts[number]
        must = self.goal.machine and self.goal.part == number
        if must and self.goal.whole:
            return Wish(number, part, by, plus, turns, *part.item.needs, part.target)
        torque, speed = rig.flows.torque_in[number], rig.flows.speed_in[number]
        known = rig.flows.solved[number]
        needs = part.item.needs

        def wanted(need: float | None, has: float) -> float | None:
            return need if need is None or must or not known else min(need, has)

        starved = is_starved(rig, number)
        late = known and is_late(part, speed)
        time = part.target if not starved and (must or not late) else None
        idle = known and wasteful(part, torque, speed, rig.once(_surplus_ratio) or ENDLESS)
        more = must and idle and not starved and not late
        thrifty = more or (self.waste and not idle and not starved)
        return Wish(
            number, part, by, plus, turns, wanted(needs.torque, torque), wanted(needs.speed, speed),
            wanted(needs.power, torque * speed), time, speed if more else 0.0, thrifty,
        )  # fmt: skip


def _allowed(strength: Strength, number: int, torque: bool, speed: bool) -> Load:
    strict, now = strength.allowed(number, must_hold=True), strength.allowed(number, must_hold=False)
    return Load(strict.torque if torque else now.torque, strict.speed if speed else now.speed)


def allowed(strength: Strength, number: int, goal: Goal) -> Load:
    """What a part may carry after the repair: no more than its limit where the goal says so, else no more than now."""
    must = goal.part == number
    return _allowed(strength, number, goal.whole or (must and goal.torque), goal.whole or (must and goal.speed))


def demand_below(
    rig: SolvedRig,
    end: tuple[int, int],
    goal: Goal,
    strength: Strength,
    waste: bool,
    but_for: frozenset[int] = _NONE,
    *,
    held: bool = False,
) -> tuple[Demand, tuple[Wish, ...]]:
    """The demand at one inlet (part, inlet number) and on all below it, and what each machine there has to get.

    ``waste``: whether a machine with torque to spare would be a finding. ``but_for`` some parts. ``held``:
    the limits of the part with that inlet are kept by the line that is looked for. Torque below is linear in what
    enters: each part's is by·T + plus, where plus comes from other lines through a combiner.
    """
    reckoning = _Reckoning(rig, goal, strength, waste, frozenset(rig.chain(goal.part)) if goal.whole else _NONE)
    first, inlet = end
    torque: dict[tuple[int, int], tuple[float, float]] = {rig.parts[first].inlets[inlet]: (1.0, 0.0)}
    turns: dict[int, float] = {}
    wishes: list[Wish] = []
    speeds: list[tuple[float, float]] = []
    for number in _below(rig, first, goal, but_for):
        part = rig.parts[number]
        if stays_apart(rig, number, goal):
            # Its lines turn apart and go on doing so, no further: what is below it is not solved, now or then.
            speeds += _no_further_apart(rig, number, end, turns)
            continue
        inlets = [_entering(rig, torque, number, k) for k in range(len(part.inlets))]
        mine = next((turns[source] for source, _ in part.inlets if source in turns), 1.0)
        if part.item.kind == "combiner" and len(inlets) > 1:
            speeds += _agreed(rig, number, end, turns, mine)
        by, plus = sum(i[0] for i in inlets), sum(i[1] for i in inlets)
        widest = max(inlets, key=lambda i: i[0] + i[1])
        gain, turning = through(part, mine)
        out = (by * gain, plus * gain)
        share = max(part.shares) / sum(part.shares) if part.shares else 1.0
        leaves = (0.0, 0.0) if part.item.kind == "driven-machine" else (out[0] * share, out[1] * share)
        if not held or number != first:
            reckoning.limit(number, widest, leaves, max(mine, turning))
        if part.item.kind == "driven-machine":
            wishes.append(reckoning.wish(number, by, plus, mine))
        turns[number] = turning
        for outlet in range(max(1, len(part.outlets))):
            piece = part.shares[outlet] / sum(part.shares) if part.shares else 1.0
            torque[number, outlet] = (out[0] * piece, out[1] * piece)
    reckoning.promises(torque, turns)
    speed = max([0.0, *(low for low, _ in speeds)]), min([reckoning.fastest, *(high for _, high in speeds)])
    demand = demand_of(wishes, (0.0, reckoning.most_torque), speed, rig.once(_surplus_ratio))
    return demand, tuple(wishes)


def _surplus_ratio(rig: SolvedRig) -> float | None:
    return surplus_ratio(rig.catalogue)


def through(part: Part, turning: float) -> tuple[float, float]:
    """What a part makes of a torque of 1, and of a speed."""
    gain = part.item.efficiency if part.engaged else 0.0
    ratio = part.ratio.factor if part.ratio is not None else 1.0
    if part.direction == "increase":
        return gain / ratio, turning * ratio
    if part.direction == "reduce":
        return gain * ratio, turning / ratio
    return gain, turning if part.engaged else 0.0


def arriving(rig: SolvedRig, source: tuple[int, int], number: int) -> float:
    """The torque that reaches a part for each N·m that leaves an outlet (part, outlet)."""
    first = rig.train.driven.get(source)
    reach = frozenset() if first is None else rig.train.below_all(first)
    torque = {source: 1.0}
    for below in rig.train.order:
        if below not in reach:
            continue
        part = rig.parts[below]
        enters = math.fsum(torque.get(inlet, 0.0) for inlet in part.inlets)
        if below == number:
            return enters
        leaves = enters * through(part, 1.0)[0]
        for outlet in range(max(1, len(part.outlets))):
            torque[below, outlet] = leaves * (part.shares[outlet] / sum(part.shares) if part.shares else 1.0)
    return 0.0


def demand_outside(rig: SolvedRig, last: int, *, kept: bool) -> Demand:
    """What may leave a blueprint behind a part: with ``kept`` as much as now, else as the rigs find that place it."""
    if not kept:
        return Demand()
    torque, speed = outlet_torque(rig.parts[last], rig.flows.passed[last], 0), rig.flows.speed_out[last]
    near = SPEEDS_AGREE / 2
    return Demand((torque * _HANDED_ON, ENDLESS), (speed * (1 - near), speed * (1 + near)))


def _entering(
    rig: SolvedRig, torque: dict[tuple[int, int], tuple[float, float]], number: int, inlet: int
) -> tuple[float, float]:
    """(by, plus) at one inlet: from the line, or a fixed torque from elsewhere."""
    found = torque.get(rig.parts[number].inlets[inlet])
    return found if found is not None else (0.0, rig.inlet_torque(number, inlet))


def _agreed(
    rig: SolvedRig, number: int, end: tuple[int, int], turns: dict[int, float], mine: float
) -> list[tuple[float, float]]:
    """The speed at the line's end that a combiner's other lines leave no choice about, as a narrow range."""
    found = []
    for k, (source, _) in enumerate(rig.parts[number].inlets):
        turning = rig.flows.speed_out[source]
        if source in turns or (number, k) == end or turning <= 0 or mine <= 0:
            continue
        found.append((turning / mine * (1 - SPEEDS_AGREE / 2), turning / mine * (1 + SPEEDS_AGREE / 2)))
    return found


def _no_further_apart(
    rig: SolvedRig, number: int, end: tuple[int, int], turns: dict[int, float]
) -> Iterator[tuple[float, float]]:
    """The speeds at the line's end at which the lines of a combiner that lock turn no further apart than now."""
    speeds = [rig.flows.speed_out[source] for source, _ in rig.parts[number].inlets]
    running = [speed for speed in speeds if speed > 0]
    apart = max(running) / min(running) * (1 + SPEEDS_AGREE / 2)
    here = rig.flows.speed_out[rig.parts[end[0]].inlets[end[1]][0]]
    moves = [source in turns or (number, k) == end for k, (source, _) in enumerate(rig.parts[number].inlets)]
    for mine, moving in zip(speeds, moves, strict=True):
        for other, stays in zip(speeds, moves, strict=True):
            if moving and not stays and mine > 0 and other > 0:
                yield here * other / (apart * mine), here * other * apart / mine


def stays_apart(rig: SolvedRig, number: int, goal: Goal) -> bool:
    """Whether a part is a combiner whose lines turn at different speeds, and the finding is about something else."""
    return number in rig.flows.mismatched and not (goal.speeds and goal.part == number) and goal.agree != number


def _below(rig: SolvedRig, first: int, goal: Goal, but_for: frozenset[int]) -> list[int]:
    """A part and all below it, each behind what drives it; nothing below a combiner whose lines stay apart."""
    reach = rig.train.below_all(first, lambda number: not stays_apart(rig, number, goal))
    reach -= but_for
    return [n for n in rig.train.order if n in reach]


def carried(rig: SolvedRig, number: int) -> Load:
    """What a part carries now."""
    return Load(torque_carried(rig.flows, number), speed_carried(rig.flows, number))
