"""Chosen stages in a line: every order in which all of it holds, by plain arithmetic, each in its likeliest place."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, pairwise, permutations

from lineshaft.bill_of_materials import goods_of
from lineshaft.repair.design import Kept, SideBySide, Slot, Stage
from lineshaft.repair.goal import Demand, Goal, allowed
from lineshaft.repair.mixes import Choice
from lineshaft.repair.passing import Member, members_of, through
from lineshaft.repair.segments import Line
from lineshaft.repair.side_by_side import Branches
from lineshaft.repair.strength import Load, Make, Strength, written_grade
from lineshaft.solve.solved_rig import SolvedRig

MOST_ORDERS = 6
"""Orders of one choice of stages that are worth telling apart: all cost the same."""
_Placing = tuple[float, tuple[Slot, ...]]
Order = tuple["Choice | tuple[Choice, ...]", ...]
"""Choices in driving order; those in one tuple stand in every line side by side."""


@dataclass(slots=True)
class Arranger:
    """Places choices in one line. ``kept`` are its parts that stay; ``before`` how many stages stood before each."""

    rig: SolvedRig
    line: Line
    goal: Goal
    demand: Demand
    strength: Strength
    branches: Branches
    kept: tuple[Member, ...] = ()
    before: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        self.kept = members_of(self.rig, self.line, self.goal, self.strength)
        stages = set(self.line.stages)
        kept = [n for n in self.line.parts if n not in stages]
        self.before = tuple(sum(1 for n in self.line.parts[: self.line.parts.index(k)] if n in stages) for k in kept)

    def arrangements(self, chosen: tuple[Choice, ...], lines: int) -> Iterator[tuple[Slot, ...]]:
        """The ways to place some stages in the line, ``lines`` of them side by side somewhere (1: nowhere)."""
        found = 0
        for order in self._orders(chosen, lines):
            slots = self._placed(order, lines)
            if slots is not None and (lines == 1 or self._needs_dividing(slots)) and not self._as_it_was(slots):
                yield slots
                found += 1
                if found == MOST_ORDERS:
                    return

    def _orders(self, chosen: tuple[Choice, ...], lines: int) -> Iterator[Order]:
        """Every order, the line's own first; with lines side by side, every run of each that may stand in them."""
        old = [self.rig.parts[number] for number in self.line.stages]
        wanted = [(part.ratio.value if part.ratio is not None else 1, part.direction) for part in old]
        orders = dict.fromkeys(permutations(chosen))
        ranked = sorted(orders, key=lambda order: sum(_gear(c) != w for c, w in zip(order, wanted, strict=False)))
        for order in ranked:
            if lines == 1:
                if not any(_undo(a, b) for a, b in pairwise(order)):
                    yield order
                continue
            for length in range(1, len(order) + 1):
                for start in range(len(order) - length + 1):
                    run = order[start : start + length]
                    if not any(_undo(a, b) for a, b in pairwise(run)):
                        yield (*order[:start], run, *order[start + length :])

    def _placed(self, order: Order, lines: int) -> tuple[Slot, ...] | None:
        """An order in the place where the fewest parts that stay have to be others: as it stood, where that holds."""
        known: dict[tuple[int, int, Load], _Placing | None] = {}

        def best(done: int, passed: int, load: Load, spare: frozenset[int]) -> _Placing | None:
            if done == len(order) and passed == len(self.kept):
                return (0.0, ()) if self.demand.met(load.torque, load.speed) else None
            key = (done, passed, load)
            if key in known:
                return known[key]
            found: _Placing | None = None
            passes = ((slot, out, 0, 1) for slot, out in self._pass(passed, load))
            places = ((slot, out, 1, 0) for slot, out in self._next(order, done, load, lines, spare))
            here = passed < len(self.kept) and done >= self.before[passed]
            for slot, out, placed, by in chain(passes, places) if here else chain(places, passes):
                left = spare - {slot.part} if isinstance(slot, Stage) and slot.part is not None else spare
                rest = best(done + placed, passed + by, out, left)
                if rest is not None:
                    worth = rest[0] + self._change(slot)
                    if found is None or worth < found[0] - 1e-9:
                        found = (worth, (slot, *rest[1]))
                    if found[0] <= 0:
                        break
            known[key] = found
            return found

        placing = best(0, 0, Load(self.line.torque, self.line.speed), frozenset(self.line.stages))
        return None if placing is None else placing[1]

    def _change(self, slot: Slot) -> float:
        """What another make of a part that stays adds, at least."""
        if not isinstance(slot, Kept) or slot.make is None:
            return 0.0
        prices = self.branches.prices
        # A part more to change counts even where it costs nothing.
        return prices.least(slot.goods) - prices.least(goods_of(self.rig.parts[slot.part])) + 1e-6

    def _pass(self, passed: int, load: Load) -> Iterator[tuple[Slot, Load]]:
        if passed < len(self.kept):
            yield from self.kept[passed].passed(load)

    def _next(
        self, order: Order, done: int, load: Load, lines: int, spare: frozenset[int]
    ) -> Iterator[tuple[Slot, Load]]:
        """The next stage of an order, or the lines side by side."""
        if done == len(order):
            return
        choice = order[done]
        if isinstance(choice, Choice):
            stage = self._held(choice, load, spare)
            if stage is not None:
                yield stage, Load(*through(stage, load.torque, load.speed))
            return
        tree = self.branches.divided(lines, load)
        if tree is None:
            return
        each, inside = Load(tree.torque, load.speed), []
        for one in choice:
            stage = self._held(one, each, frozenset())
            if stage is None:
                return
            inside.append(stage)
            each = Load(*through(stage, each.torque, each.speed))
        gather = self.branches.gathered(lines, each)
        if gather is not None:
            yield SideBySide(lines, tree, tuple(inside), gather), Load(gather.torque, each.speed)

    def _held(self, choice: Choice, load: Load, spare: frozenset[int]) -> Stage | None:
        """A stage that holds here: one of the line as it is, or else in the weakest grade that does."""
        version, direction = choice.version, choice.gear.direction
        for number in sorted(spare):
            part = self.rig.parts[number]
            alike = part.item.name == version.item.name and part.direction == direction
            if alike and part.ratio is not None and part.ratio.value == choice.gear.ratio:
                held = allowed(self.strength, number, self.goal)
                make = Make(part.item, written_grade(part), held.torque, held.speed)
                stage = Stage(make, version.offer, direction, number)
                if _stands(stage, load):
                    return stage
        factor = choice.gear.factor if direction == "increase" else 1 / choice.gear.factor
        out = load.torque * version.item.efficiency / factor
        found = self.strength.make_of(version.item, Load(max(load.torque, out), max(load.speed, load.speed * factor)))
        return None if found is None else Stage(found, version.offer, direction)

    def _needs_dividing(self, slots: Sequence[Slot]) -> bool:
        """Whether some stage of the lines side by side would not stand in one line."""
        load = Load(self.line.torque, self.line.speed)
        members = iter(self.kept)
        for slot in slots:
            if isinstance(slot, Kept):
                load = next(members).out(load, slot.make)
            elif isinstance(slot, Stage):
                load = Load(*through(slot, load.torque, load.speed))
            else:
                for stage in slot.stages:
                    if not _stands(stage, load):
                        return True
                    load = Load(*through(stage, load.torque, load.speed))
        return False

    def _as_it_was(self, slots: Sequence[Slot]) -> bool:
        """Whether nothing in the line is new, changed or in another order."""
        if any(isinstance(s, SideBySide) or (isinstance(s, Kept) and s.make is not None) for s in slots):
            return False
        return [slot.part for slot in slots if not isinstance(slot, SideBySide)] == list(self.line.parts)


def _gear(choice: Choice) -> tuple[object, str]:
    return choice.gear.ratio, choice.gear.direction


def _undo(one: Choice, other: Choice) -> bool:
    """Whether one stage behind another would undo it, so that both were for nothing."""
    return one.gear.log + other.gear.log == 0


def _stands(stage: Stage, load: Load) -> bool:
    out = through(stage, load.torque, load.speed)
    return stage.make.stands(Load(max(load.torque, out[0]), max(load.speed, out[1])))
