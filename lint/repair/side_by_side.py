"""Lines side by side: trees of catalogue splitters that divide into equal lines, and of combiners that gather them.

A splitter that divides otherwise, or only in two, still serves in a tree: 1 : 3 and then 1 : 1 : 1 behind the larger
share make four equal lines.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import reduce
from math import gcd
from typing import NamedTuple

from lineshaft.repair.prices import Prices
from lineshaft.repair.strength import Load, Make, Strength
from lineshaft.schema.model.catalogue import Item

MOST_LINES = 8


class Branching(NamedTuple):
    """A splitter or combiner of a tree, with how many lines hang on each of its ends; 1 is a line itself, no part."""

    make: Make
    lines: tuple[int, ...]
    below: "tuple[Branching | None, ...]"
    least: float
    torque: float

    @property
    def parts(self) -> "Iterator[Branching]":
        """This one and all below it."""
        yield self
        for branch in self.below:
            if branch is not None:
                yield from branch.parts


@dataclass(frozen=True, slots=True)
class Branches:
    """The cheapest trees for a line, by number of lines and torque; remembered."""

    strength: Strength
    prices: Prices
    splitters: tuple[Item, ...]
    combiners: tuple[Item, ...]
    _known: dict[tuple[str, int, float, float], Branching | None] = field(default_factory=dict)

    def least(self, lines: int) -> float | None:
        """The least worth of dividing into so many equal lines and gathering them; none where no tree does."""
        divided = self.divided(lines, Load(0.0, 0.0))
        gathered = self.gathered(lines, Load(0.0, 0.0))
        return None if divided is None or gathered is None else divided.least + gathered.least

    def divided(self, lines: int, load: Load) -> Branching | None:
        """The cheapest tree of splitters under a load; ``torque`` is what each line gets, the smallest."""
        return self._cheapest("divide", lines, load)

    def gathered(self, lines: int, load: Load) -> Branching | None:
        """The cheapest tree of combiners for lines that each bring a load; ``torque`` is what leaves it."""
        return self._cheapest("gather", lines, load)

    def _cheapest(self, way: str, lines: int, load: Load) -> Branching | None:
        key = (way, lines, load.torque, load.speed)
        if key not in self._known:
            found = self._dividing(lines, load) if way == "divide" else self._gathering(lines, load)
            ranked = sorted(found, key=lambda b: (b.least, sum(1 for _ in b.parts), b.make.item.name))
            self._known[key] = ranked[0] if ranked else None
        return self._known[key]

    def _dividing(self, lines: int, load: Load) -> Iterator[Branching]:
        for item in self.splitters:
            make = self.strength.make_of(item, load)
            if make is None:
                continue
            for row in _rows(item, lines):
                torque = load.torque * item.efficiency
                loads = [Load(torque * count / lines, load.speed) for count in row]
                below = [
                    None if count == 1 else self.divided(count, each) for count, each in zip(row, loads, strict=True)
                ]
                if any(branch is None and count > 1 for branch, count in zip(below, row, strict=True)):
                    continue
                ends = [torque / lines if branch is None else branch.torque for branch in below]
                yield self._branching(make, row, below, min(ends))

    def _gathering(self, lines: int, load: Load) -> Iterator[Branching]:
        for item in self.combiners:
            most = item.inlets or lines
            for row in _partitions(lines, min(most, lines)):
                if len(row) < 2:
                    continue
                below = [None if count == 1 else self.gathered(count, load) for count in row]
                if any(branch is None and count > 1 for branch, count in zip(below, row, strict=True)):
                    continue
                entering = [load.torque if branch is None else branch.torque for branch in below]
                torque = sum(entering) * item.efficiency
                make = self.strength.make_of(item, Load(max(*entering, torque), load.speed))
                if make is not None:
                    yield self._branching(make, row, below, torque)

    def _branching(self, make: Make, row: tuple[int, ...], below: list[Branching | None], torque: float) -> Branching:
        least = self.prices.least(make.item.made_of) + sum(branch.least for branch in below if branch is not None)
        return Branching(make, row, tuple(below), least, torque)


def branches_of(strength: Strength, prices: Prices) -> Branches:
    """The branches that a catalogue allows."""
    items = tuple(strength.rig.catalogue.items.values())
    splitters = tuple(item for item in items if item.kind == "splitter")
    return Branches(strength, prices, splitters, tuple(item for item in items if item.kind == "combiner"))


def _rows(item: Item, lines: int) -> Iterator[tuple[int, ...]]:
    """How a splitter may divide ``lines`` equal lines among its outlets; every outlet gets one or more."""
    for count in (item.outlets,) if item.outlets is not None else range(2, lines + 1):
        if count > lines or count < 2:
            continue
        if item.shares is None:
            yield from (row for row in _partitions(lines, count) if len(row) == count)
            continue
        for offered in item.shares:
            if len(offered) == count:
                whole = [lines * weight / sum(offered) for weight in offered]
                row = tuple(round(part) for part in whole)
                if all(abs(a - b) < 1e-9 and b >= 1 for a, b in zip(whole, row, strict=True)):
                    yield tuple(sorted(row, reverse=True))


def _partitions(total: int, most_pieces: int, largest: int | None = None) -> Iterator[tuple[int, ...]]:
    """A whole number in at most so many pieces, larger pieces first."""
    if total == 0:
        yield ()
        return
    if most_pieces == 0:
        return
    for piece in range(min(total, largest or total), 0, -1):
        for rest in _partitions(total - piece, most_pieces - 1, piece):
            yield (piece, *rest)


def weights(row: tuple[int, ...]) -> tuple[int, ...]:
    """A row of lines as shares in lowest terms: 2 and 2 lines are 1 : 1."""
    common = reduce(gcd, row)
    return tuple(count // common for count in row)
