"""A line made anew: stages in line, lines side by side, and the parts that stay, in driving order."""

from collections.abc import Iterator
from typing import NamedTuple

from lineshaft.repair.side_by_side import Branching
from lineshaft.repair.strength import Make
from lineshaft.schema.model.catalogue import NO_GOODS, Direction, Goods, OfferedRatio


class Stage(NamedTuple):
    """A gear stage: item and grade, ratio, direction. ``part`` is the stage of the rig that it is, unchanged."""

    make: Make
    offer: OfferedRatio
    direction: Direction
    part: int | None = None


class SideBySide(NamedTuple):
    """Equal lines between a tree of splitters and one of combiners, each with the same stages."""

    lines: int
    divide: Branching
    stages: tuple[Stage, ...]
    gather: Branching


class Kept(NamedTuple):
    """A part of the line that stays where it is; ``make`` and its goods where it has to be another item or grade."""

    part: int
    make: Make | None = None
    goods: Goods = NO_GOODS


Slot = Stage | SideBySide | Kept


class Design(NamedTuple):
    """A line in driving order, with what it adds in worth and parts."""

    slots: tuple[Slot, ...]
    worth: float
    added: int

    @property
    def stages(self) -> Iterator[tuple[Stage, int]]:
        """Every stage with how many of it there are."""
        for slot in self.slots:
            if isinstance(slot, Stage):
                yield slot, 1
            elif isinstance(slot, SideBySide):
                yield from ((stage, slot.lines) for stage in slot.stages)


def goods_of_slot(slot: Slot) -> Iterator[Goods]:
    """What a slot is made of, part by part; nothing for a part that stays as it is."""
    if isinstance(slot, Stage):
        yield slot.offer.made_of
    elif isinstance(slot, Kept):
        if slot.make is not None:
            yield slot.goods
    else:
        for stage in slot.stages:
            yield from (stage.offer.made_of for _ in range(slot.lines))
        for branching in (*slot.divide.parts, *slot.gather.parts):
            yield branching.make.item.made_of


def parts_of_slot(slot: Slot) -> int:
    """How many parts a slot is."""
    if isinstance(slot, SideBySide):
        branchings = sum(1 for _ in (*slot.divide.parts, *slot.gather.parts))
        return len(slot.stages) * slot.lines + branchings
    return 1

