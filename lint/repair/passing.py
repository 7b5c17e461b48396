"""What passes through the parts of a line that stay: as they are, or in another make where they have to be."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from lineshaft.repair.design import Kept, Stage
from lineshaft.repair.goal import Goal, allowed
from lineshaft.repair.segments import Line
from lineshaft.repair.strength import Load, Make, Strength, written_grade
from lineshaft.schema.model.catalogue import Goods, Item
from lineshaft.schema.model.rig import Part
from lineshaft.solve.solved_rig import SolvedRig


@dataclass(frozen=True, slots=True)
class Member:
    """A part that stays: what it may carry, what it makes of a speed, and the makes that may take its place."""

    number: int
    part: Part
    held: Load
    turning: float
    others: tuple[tuple[Make, Goods], ...]
    _known: dict[Load, tuple[tuple[Kept, Load], ...]] = field(default_factory=dict, repr=False, compare=False)

    def passed(self, load: Load) -> tuple[tuple[Kept, Load], ...]:
        """What may stand here under a load, with what leaves it: the part as it is, else the makes that hold."""
        found = self._known.get(load)
        if found is None:
            found = self._known[load] = tuple(self._passed(load))
        return found

    def _passed(self, load: Load) -> Iterator[tuple[Kept, Load]]:
        out = self.out(load, None)
        if Make(self.part.item, None, *self.held).stands(_most(load, out)):
            yield Kept(self.number), out
            return
        kept: list[tuple[Make, Goods]] = []
        for make, goods in self.others:
            out = self.out(load, make)
            if make.stands(_most(load, out)) and not any(outdoes(m.item, g, make.item, goods) for m, g in kept):
                kept.append((make, goods))
                yield Kept(self.number, make, goods), out

    def out(self, load: Load, make: Make | None) -> Load:
        """What leaves the part."""
        if not self.part.engaged:
            return Load(0.0, 0.0)
        efficiency = self.part.item.efficiency if make is None else make.item.efficiency
        return Load(load.torque * efficiency / self.turning, load.speed * self.turning)

    @property
    def efficiencies(self) -> tuple[float, float]:
        """The worst and best efficiency of any make that may stand here."""
        found = [self.part.item.efficiency, *(make.item.efficiency for make, _ in self.others)]
        return min(found), max(found)


def members_of(rig: SolvedRig, line: Line, goal: Goal, strength: Strength) -> tuple[Member, ...]:
    """The parts of a line that stay, in driving order."""
    found = []
    for number in line.parts:
        if number not in line.stages:
            part = rig.parts[number]
            turning = 1.0 if part.ratio is None else part.ratio.factor
            held = allowed(strength, number, goal)
            others = substitutes(rig, number, strength)
            found.append(Member(number, part, held, 1 / turning if part.direction == "reduce" else turning, others))
    return tuple(found)


def _most(load: Load, out: Load) -> Load:
    return Load(max(load.torque, out.torque), max(load.speed, out.speed))


def through(stage: Stage, torque: float, speed: float) -> tuple[float, float]:
    """What leaves a stage: torque [N*m], speed [rad/s]."""
    factor = stage.offer.ratio.factor
    turning = factor if stage.direction == "increase" else 1 / factor
    return torque * stage.make.item.efficiency / turning, speed * turning


def outdoes(item: Item, goods: Goods, other: Item, other_goods: Goods) -> bool:
    """Whether an item does all that another does, out of no more goods of any kind."""
    if item.efficiency != other.efficiency or (item.lubricant is not None and other.lubricant is None):
        return False
    return all(count <= other_goods.get(name, 0) for name, count in goods.items())


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
