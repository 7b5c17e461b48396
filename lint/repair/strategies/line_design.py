"""A line made anew: stages in line, lines side by side, and the parts that stay, in driving order."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from lineshaft.bill_of_materials import goods_of
from lineshaft.repair.line.design import CloseSlot, Found, OpenSlot, StageSlot
from lineshaft.repair.line.segment import End, Segment
from lineshaft.repair.line.segment import Kept as Member
from lineshaft.repair.line.segment import Make as Made
from lineshaft.repair.line.segment import Stage as StageOnOffer
from lineshaft.repair.line.trees import Branching, weakest
from lineshaft.repair.strategies.prices import Prices
from lineshaft.repair.strategies.segments import Line
from lineshaft.repair.strategies.strength import Make
from lineshaft.schema.model.catalogue import NO_GOODS, Catalogue, Direction, Goods, OfferedRatio
from lineshaft.solve.solved_rig import SolvedRig


class Stage(NamedTuple):
    """A gear stage: item and grade, ratio, direction. ``part`` is the stage of the rig that it is, unchanged."""

    make: Make
    offer: OfferedRatio
    direction: Direction
    part: int | None = None


class Kept(NamedTuple):
    """A part of the line that stays where it is; ``make`` and its goods where it has to be another item or grade.

    ``copied`` is what one more of it is made of, for lines side by side.
    """

    part: int
    make: Make | None = None
    goods: Goods = NO_GOODS
    copied: Goods = NO_GOODS


class SideBySide(NamedTuple):
    """Equal lines between a tree of splitters and one of combiners, each with the same stages and parts."""

    lines: int
    divide: Branching[Make]
    elements: "tuple[Stage | Kept, ...]"
    gather: Branching[Make]


Slot = Stage | SideBySide | Kept


class Design(NamedTuple):
    """A line in driving order, with what it adds in worth and parts, and the speed [rad/s] at which it is left.

    ``end`` is what it ends at, where that has to be another item or grade.
    """

    slots: tuple[Slot, ...]
    worth: float
    added: int
    speed: float = 0.0
    end: Kept | None = None

    @property
    def remade(self) -> tuple[Kept, ...]:
        """The parts that stay and have to be another item or grade, that at the end too."""
        kept = (*kept_of(self.slots), *((self.end,) if self.end is not None else ()))
        return tuple(part for part in kept if part.make is not None)


def design_of(
    rig: SolvedRig, line: Line, prices: Prices, segment: Segment, found: Found, torque: float
) -> Design:
    """What the search found for a line, with its whole bill; ``torque`` [N*m] enters it."""
    slots = slots_of(segment, found, rig.catalogue, torque)
    last = slots[-1] if segment.ended else None
    end = last if isinstance(last, Kept) else None
    design = Design(slots if end is None else slots[:-1], 0.0, 0, found.speed, end)
    more = [goods for slot in slots for goods in goods_of_slot(slot)]
    fewer = [goods_of(rig.parts[number]) for number in (*line.stages, *(kept.part for kept in design.remade))]
    added = sum(parts_of_slot(slot) for slot in design.slots) - len(line.parts)
    return design._replace(worth=prices.added(more, fewer), added=added)


def slots_of(segment: Segment, found: Found, catalogue: Catalogue, torque: float) -> tuple[Slot, ...]:
    """What the search found in the catalogue's own things; splitters and combiners in the weakest grade that does.

    ``torque`` [N*m] enters the segment.
    """
    slots: list[Slot] = []
    inside: list[Stage | Kept] | None = None
    opened: tuple[OpenSlot, float, float] | None = None
    speed, pass_on, turned = segment.speed, 1.0, 1.0
    for slot in found.slots:
        if isinstance(slot, OpenSlot):
            inside, opened = [], (slot, torque * pass_on / turned, speed * turned)
            continue
        if isinstance(slot, CloseSlot):
            assert inside is not None and opened is not None
            split, entering, turns = opened
            divide = _divided(split.tree.node, entering, turns, catalogue)
            sides = [leaf * torque * pass_on / turned for leaf in split.tree.leaves]
            gather, _ = _gathered(slot.tree.node, sides, speed * turned, catalogue)
            assert divide is not None and gather is not None
            slots.append(SideBySide(split.lines, divide, tuple(inside), gather))
            pass_on *= slot.tree.leaves[0]
            inside = None
            continue
        if isinstance(slot, StageSlot):
            made: Stage | Kept = _stage(slot.stage, catalogue)
            gain, efficiency = float(slot.stage.gain), slot.stage.make.efficiency
        else:
            member = segment.kept[slot.at]
            made = _kept(member, slot.make, catalogue)
            gain, efficiency = float(member.turning), slot.make.efficiency
        pass_on, turned = pass_on * efficiency, turned * gain
        (slots if inside is None else inside).append(made)
    return tuple(slots)


def _version(made: Made, catalogue: Catalogue) -> Make:
    return Make(catalogue.items[made.item], made.grade, made.torque, made.speed)


def _stage(stage: StageOnOffer, catalogue: Catalogue) -> Stage:
    item = catalogue.items[stage.make.item]
    offers = [offer for offer in item.ratios if offer.ratio.terms == stage.ratio.terms]
    offer = offers[0] if offers else OfferedRatio(stage.ratio, item.made_of)
    return Stage(_version(stage.make, catalogue), offer, stage.direction, stage.make.part)


def _kept(member: Member, make: Made, catalogue: Catalogue) -> Kept:
    if make.part is not None:
        return Kept(member.number, copied=_goods(member, make, catalogue))
    goods = _goods(member, make, catalogue)
    return Kept(member.number, _version(make, catalogue), goods, goods)


def _goods(member: Member, make: Made, catalogue: Catalogue) -> Goods:
    item = catalogue.items[make.item]
    turning = max(member.turning, 1 / member.turning)
    return next((offer.made_of for offer in item.ratios if offer.ratio.value == turning), item.made_of)


def _weakest(end: End, torque: float, speed: float, catalogue: Catalogue) -> Make:
    made = weakest(end.makes, torque, speed) or max(end.makes, key=lambda make: make.torque)
    return _version(made, catalogue)


def _divided(
    node: Branching[End] | None, torque: float, speed: float, catalogue: Catalogue
) -> Branching[Make] | None:
    if node is None:
        return None
    out, lines = torque * node.end.efficiency, sum(node.lines)
    pairs = zip(node.below, node.lines, strict=True)
    below = tuple(_divided(branch, out * count / lines, speed, catalogue) for branch, count in pairs)
    return Branching(_weakest(node.end, torque, speed, catalogue), node.lines, below)


def _gathered(
    node: Branching[End] | None, sides: Sequence[float], speed: float, catalogue: Catalogue
) -> tuple[Branching[Make] | None, float]:
    """A tree of combiners, and the torque that leaves it."""
    if node is None:
        return None, sides[0]
    at, below, enters = 0, [], []
    for branch, count in zip(node.below, node.lines, strict=True):
        made, torque = _gathered(branch, sides[at : at + count], speed, catalogue)
        below.append(made)
        enters.append(torque)
        at += count
    out = sum(enters) * node.end.efficiency
    return Branching(_weakest(node.end, max(*enters, out), speed, catalogue), node.lines, tuple(below)), out


def goods_of_slot(slot: Slot) -> Iterator[Goods]:
    """What a slot is made of, part by part; nothing for a part that stays as it is."""
    if isinstance(slot, Stage):
        yield slot.offer.made_of
    elif isinstance(slot, Kept):
        if slot.make is not None:
            yield slot.goods
    else:
        for element in slot.elements:
            if isinstance(element, Stage):
                yield from (element.offer.made_of for _ in range(slot.lines))
            else:
                yield from goods_of_slot(element)
                yield from (element.copied for _ in range(slot.lines - 1))
        for branching in (*slot.divide.parts, *slot.gather.parts):
            yield branching.end.item.made_of


def kept_of(slots: Sequence[Slot]) -> Iterator[Kept]:
    """The parts that stay, those in lines side by side too."""
    for slot in slots:
        if isinstance(slot, Kept):
            yield slot
        elif isinstance(slot, SideBySide):
            yield from (element for element in slot.elements if isinstance(element, Kept))


def stages_of(design: Design) -> Iterator[Stage]:
    """The stages of a design, those of lines side by side once."""
    for slot in design.slots:
        elements = slot.elements if isinstance(slot, SideBySide) else (slot,)
        yield from (element for element in elements if isinstance(element, Stage))


def parts_of_slot(slot: Slot) -> int:
    """How many parts a slot is."""
    if isinstance(slot, SideBySide):
        branchings = sum(1 for _ in (*slot.divide.parts, *slot.gather.parts))
        return len(slot.elements) * slot.lines + branchings
    return 1
