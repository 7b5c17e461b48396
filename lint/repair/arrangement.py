"""A mix of ratios in a line: every order, place and item in which all of it holds, by plain arithmetic."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from lineshaft.repair.design import Kept, SideBySide, Slot, Stage, written
from lineshaft.repair.goal import Demand, Goal, allowed
from lineshaft.repair.line import Line
from lineshaft.repair.mixes import Choice
from lineshaft.repair.side_by_side import Branches, Branching
from lineshaft.repair.strength import Load, Make, Strength, written_grade
from lineshaft.schema.catalogue import Goods, Item
from lineshaft.schema.rig import Part
from lineshaft.solve.solved_rig import SolvedRig

MOST_TRIED = 3_000
"""Steps in placing one choice of stages."""
MOST_PLACINGS = 6
"""Orders of one choice of stages that are worth telling apart: all cost the same."""


class _State(NamedTuple):
    """A line built so far: what is still to be placed, the next part that stays, what leaves, and what is open."""

    left: tuple[Choice, ...]
    next: int
    torque: float
    speed: float
    slots: tuple[Slot, ...]
    gap: int
    opened: Branching | None = None
    inside: tuple[Stage, ...] = ()
    spare: frozenset[int] = frozenset()


@dataclass(slots=True)
class Arranger:
    """Places mixes in one line.

    ``kept`` are the parts that stay, in order; ``gaps`` how many stages stood before each, and behind the last.
    """

    rig: SolvedRig
    line: Line
    goal: Goal
    demand: Demand
    strength: Strength
    branches: Branches
    kept: tuple[int, ...] = ()
    gaps: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        stages = set(self.line.stages)
        self.kept = tuple(n for n in self.line.parts if n not in stages)
        gaps = [0]
        for number in self.line.parts:
            if number in stages:
                gaps[-1] += 1
            else:
                gaps.append(0)
        self.gaps = tuple(gaps)

    def arrangements(self, chosen: tuple[Choice, ...], lines: int) -> Iterator[tuple[Slot, ...]]:
        """The ways to place some stages in the line, ``lines`` of them side by side somewhere (1: nowhere).

        Of placings that differ only in which side of a part that stays a stage stands, the likeliest is enough.
        """
        tried = 0
        seen: set[tuple[str, ...]] = set()
        start = _State(chosen, 0, self.line.torque, self.line.speed, (), 0, spare=frozenset(self.line.stages))
        waiting = [start]
        while waiting and tried < MOST_TRIED and len(seen) < MOST_PLACINGS:
            state = waiting.pop()
            tried += 1
            if not state.left and state.next == len(self.kept) and state.opened is None:
                made = written(state.slots)
                if made not in seen and self._complete(state, lines):
                    seen.add(made)
                    yield state.slots
                continue
            waiting += reversed(list(self._steps(state, lines)))

    def _complete(self, state: _State, lines: int) -> bool:
        divided = any(isinstance(slot, SideBySide) for slot in state.slots)
        if divided != (lines > 1) or not self.demand.met(state.torque, state.speed):
            return False
        if divided and not self._needs_dividing(state.slots):
            return False
        return any(isinstance(s, SideBySide) or (isinstance(s, Stage) and s.part is None) for s in state.slots) or (
            any(isinstance(s, Kept) and s.make is not None for s in state.slots) or self._moved(state.slots)
        )

    def _needs_dividing(self, slots: tuple[Slot, ...]) -> bool:
        """Whether some stage of the lines side by side would not stand in one line."""
        torque, speed = self.line.torque, self.line.speed
        for slot in slots:
            if isinstance(slot, Kept):
                item = slot.make.item if slot.make is not None else self.rig.parts[slot.part].item
                torque, speed = self._through_kept(self.rig.parts[slot.part], torque, speed, item.efficiency)
            elif isinstance(slot, Stage):
                torque, speed = through(slot, torque, speed)
            else:
                for stage in slot.stages:
                    if not _stands(stage, torque, speed):
                        return True
                    torque, speed = through(stage, torque, speed)
        return False

    def _moved(self, slots: Sequence[Slot]) -> bool:
        """Whether the line is another than it was although nothing in it is new."""
        order = [slot.part for slot in slots if isinstance(slot, Stage | Kept)]
        return order != list(self.line.parts)

    def _steps(self, state: _State, lines: int) -> Iterator[_State]:
        """What may come next, likeliest first: as many stages before a part that stays as stood there before."""
        if state.opened is not None:
            yield from self._inside(state, lines, state.opened)
            return
        first = state.gap < self.gaps[state.next]
        if not first:
            yield from self._pass(state)
        for choice in dict.fromkeys(state.left):
            stage = self._held(choice, state.torque, state.speed, state.spare)
            if stage is not None and not _undoes(stage, state.slots):
                yield self._placed(state, choice, stage)
        if lines > 1 and not any(isinstance(slot, SideBySide) for slot in state.slots) and state.left:
            tree = self.branches.divided(lines, Load(state.torque, state.speed))
            if tree is not None:
                yield state._replace(opened=tree)
        if first:
            yield from self._pass(state)

    def _placed(self, state: _State, choice: Choice, stage: Stage) -> _State:
        torque, speed = through(stage, state.torque, state.speed)
        spare = state.spare - {stage.part} if stage.part is not None else state.spare
        return state._replace(
            left=_without(state.left, choice),
            torque=torque,
            speed=speed,
            slots=(*state.slots, stage),
            gap=state.gap + 1,
            spare=spare,
        )

    def _inside(self, state: _State, lines: int, tree: Branching) -> Iterator[_State]:
        """Another stage in each of the lines side by side, or the combiners that gather them."""
        torque, speed = tree.torque, state.speed
        for placed in state.inside:
            torque, speed = through(placed, torque, speed)
        for choice in dict.fromkeys(state.left):
            stage = self._held(choice, torque, speed, frozenset())
            if stage is not None and not _undoes(stage, state.inside):
                yield state._replace(left=_without(state.left, choice), inside=(*state.inside, stage))
        if state.inside:
            gather = self.branches.gathered(lines, Load(torque, speed))
            if gather is not None:
                slot = SideBySide(lines, tree, state.inside, gather)
                done = state._replace(opened=None, inside=(), torque=gather.torque, speed=speed)
                yield done._replace(slots=(*state.slots, slot), gap=state.gap + len(state.inside))

    def _pass(self, state: _State) -> Iterator[_State]:
        """The next part that stays: as it is where it holds, else in the items and grades that do."""
        if state.next == len(self.kept):
            return
        number = self.kept[state.next]
        part = self.rig.parts[number]
        held = allowed(self.strength, number, self.goal)
        makes: list[tuple[Make | None, Goods, float]] = []
        torque, speed = self._through_kept(part, state.torque, state.speed, part.item.efficiency)
        load = Load(max(torque, state.torque), max(speed, state.speed))
        if Make(part.item, None, held.torque, held.speed).stands(load):
            makes.append((None, {}, part.item.efficiency))
        else:
            for make, goods in substitutes(self.rig, number, self.strength):
                out = self._through_kept(part, state.torque, state.speed, make.item.efficiency)
                if make.stands(Load(max(out[0], state.torque), max(out[1], state.speed))):
                    makes.append((make, goods, make.item.efficiency))
            makes = _undominated(makes)
        for make_or_none, goods, efficiency in makes:
            torque, speed = self._through_kept(part, state.torque, state.speed, efficiency)
            kept = Kept(number, make_or_none, goods)
            yield state._replace(
                next=state.next + 1, torque=torque, speed=speed, slots=(*state.slots, kept), gap=0
            )

    def _through_kept(self, part: Part, torque: float, speed: float, efficiency: float) -> tuple[float, float]:
        if not part.engaged:
            return 0.0, 0.0
        turning = 1.0 if part.ratio is None else part.ratio.factor
        if part.direction == "reduce":
            turning = 1 / turning
        return torque * efficiency / turning, speed * turning

    def turning(self, number: int) -> float:
        """What a part that stays makes of a speed."""
        return self._through_kept(self.rig.parts[number], 1.0, 1.0, 1.0)[1] or 1.0

    def efficiencies(self, number: int) -> tuple[float, float]:
        """The worst and best efficiency of a part that stays, in any item that may take its place."""
        own = self.rig.parts[number].item.efficiency
        found = [own, *(make.item.efficiency for make, _ in substitutes(self.rig, number, self.strength))]
        return min(found), max(found)

    def _held(self, choice: Choice, torque: float, speed: float, spare: frozenset[int]) -> Stage | None:
        """A stage that holds here: one of the line as it is, or else in the weakest grade that does."""
        version, direction = choice.version, choice.gear.direction
        for number in sorted(spare):
            part = self.rig.parts[number]
            alike = part.item.name == version.item.name and part.direction == direction
            if alike and part.ratio is not None and part.ratio.value == choice.gear.ratio:
                held = allowed(self.strength, number, self.goal)
                make = Make(part.item, written_grade(part), held.torque, held.speed)
                stage = Stage(make, version.offer, direction, number)
                if _stands(stage, torque, speed):
                    return stage
        factor = choice.gear.factor if direction == "increase" else 1 / choice.gear.factor
        load = Load(max(torque, torque * version.item.efficiency / factor), max(speed, speed * factor))
        found = self.strength.make_of(version.item, load)
        return None if found is None else Stage(found, version.offer, direction)


def through(stage: Stage, torque: float, speed: float) -> tuple[float, float]:
    """What leaves a stage: torque [N*m], speed [rad/s]."""
    factor = stage.offer.ratio.factor
    turning = factor if stage.direction == "increase" else 1 / factor
    return torque * stage.make.item.efficiency / turning, speed * turning


def _stands(stage: Stage, torque: float, speed: float) -> bool:
    out = through(stage, torque, speed)
    return stage.make.stands(Load(max(torque, out[0]), max(speed, out[1])))


def _undoes(stage: Stage, slots: Sequence[Slot]) -> bool:
    """Whether a stage undoes the one before it in the line, so that both would be for nothing."""
    for slot in reversed(slots):
        if isinstance(slot, SideBySide):
            return False
        if isinstance(slot, Stage):
            return slot.offer.ratio.value == stage.offer.ratio.value and slot.direction != stage.direction
    return False


def _without(choices: tuple[Choice, ...], choice: Choice) -> tuple[Choice, ...]:
    at = choices.index(choice)
    return choices[:at] + choices[at + 1 :]


def _dominates(goods: Goods, item: Item, other_goods: Goods, other: Item) -> bool:
    """Whether an item does all that another does, out of no more goods of any kind."""
    if item.efficiency != other.efficiency or (item.lubricant is not None and other.lubricant is None):
        return False
    return all(count <= other_goods.get(name, 0) for name, count in goods.items())


def _undominated(makes: list[tuple[Make | None, Goods, float]]) -> list[tuple[Make | None, Goods, float]]:
    kept: list[tuple[Make | None, Goods, float]] = []
    for make, goods, efficiency in makes:
        if make is not None and not any(
            m is not None and _dominates(g, m.item, goods, make.item) for m, g, _ in kept
        ):
            kept.append((make, goods, efficiency))
    return kept


def substitutes(rig: SolvedRig, number: int, strength: Strength) -> tuple[tuple[Make, Goods], ...]:
    """Other grades of a part's item, and other items that take its place with the same settings, with their goods."""
    part = rig.parts[number]
    found: list[tuple[Make, Goods]] = []
    for item in rig.catalogue.items.values():
        if item.name != part.item.name and not takes_place_of(item, part):
            continue
        goods = item.made_of
        if part.ratio is not None:
            goods = next((o.made_of for o in item.ratios if o.ratio.value == part.ratio.value), goods)
        for make in strength.makes(item):
            if item.name != part.item.name or make.grade != written_grade(part):
                found.append((make, goods))
    return tuple(sorted(found, key=lambda pair: (pair[0].item.name != part.item.name, pair[0].torque, pair[0].speed)))


def takes_place_of(item: Item, part: Part) -> bool:
    """Whether an item may stand in a part's place with the same ratio, outlets and inlets."""
    old = part.item
    if item.kind != old.kind or item.kind in ("prime-mover", "driven-machine"):
        return False
    if part.ratio is not None:
        return any(offer.ratio.value == part.ratio.value for offer in item.ratios)
    if item.is_stage:
        return False
    return item.outlets == old.outlets and item.inlets == old.inlets
