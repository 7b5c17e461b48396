"""Lines side by side: trees of splitters that divide into lines, and of combiners that gather them.

A splitter that divides otherwise, or only in two, still serves in a tree: 1 : 3 and then 1 : 1 : 1 behind the larger
share make four lines. Every load in a tree is a share of what enters it, so a tree is known by the most it may be fed.
"""

from collections.abc import Iterable, Iterator
from itertools import product
from typing import Generic, NamedTuple, TypeVar

from lineshaft.repair.line.gains import NEVER
from lineshaft.repair.line.segment import ENDLESS, End, Make
from lineshaft.solve.limits import over

_T = TypeVar("_T")
Profile = tuple[float, ...]
"""The share of the undivided torque that each line carries, in order; losses of splitters make them unequal."""
MOST_TREES = 24
"""Trees that are told apart for one number of lines; of more, the heaviest are left out."""


class Branching(NamedTuple, Generic[_T]):
    """A splitter or combiner of a tree: how many lines hang on each of its ends; 1 is a line itself, no part.

    ``end`` is what it is: an item that is looked for, or the make of one that was found.
    """

    end: _T
    lines: tuple[int, ...]
    below: "tuple[Branching[_T] | None, ...]"

    @property
    def parts(self) -> "Iterator[Branching[_T]]":
        """This one and all below it."""
        yield self
        for branch in self.below:
            if branch is not None:
                yield from branch.parts


class Tree(NamedTuple):
    """A tree: its weight, the most undivided torque [N*m], and the lines' profile, or the share that is gathered."""

    weight: int
    torque: float
    leaves: Profile
    node: Branching[End] | None
    parts: int = 0


_LEAF = Tree(0, ENDLESS, (1.0,), None)


class Trees:
    """The trees of some splitters and combiners, by number of lines and speed; worked out when asked for.

    ``work`` counts the combinations that were looked at; ``capped`` tells that some trees were left out.
    """

    def __init__(self, splitters: tuple[End, ...], combiners: tuple[End, ...]) -> None:
        self._splitters, self._combiners = splitters, combiners
        speeds = {make.speed for end in (*splitters, *combiners) for make in end.makes}
        self._speeds = sorted(speeds)
        self._divided: dict[tuple[int, int], tuple[Tree, ...]] = {}
        self._gathered: dict[tuple[Profile, int], tuple[Tree, ...]] = {}
        self._lightest: dict[int, int] = {}
        self.work = 0
        self.capped = False

    def speed_class(self, speed: float) -> int:
        """Speeds [rad/s] of one class are stood by the same makes: the number of limits that are exceeded."""
        return sum(1 for limit in self._speeds if over(speed, limit))

    def lightest_gathering(self, lines: int) -> int:
        """The least weight of gathering so many lines, whatever they carry."""
        if lines not in self._lightest:
            found = self.gathered((1.0 / lines,) * lines, 0)
            self._lightest[lines] = min((tree.weight for tree in found), default=NEVER)
        return self._lightest[lines]

    def lightest(self, lines: int) -> int:
        """No splitters and combiners for so many lines, or more, weigh less; ``NEVER`` where there are none.

        Each of an item adds one line fewer than it has ends, so the cheapest by line added bounds any mixture.
        """
        least = 0
        for ends in (self._splitters, self._combiners):
            adding = [(end.weight, (end.ends or lines) - 1) for end in ends if end.ends != 1]
            if not adding:
                return NEVER
            by_line = min(weight * (lines - 1) // more for weight, more in adding)
            least += max(by_line, min(weight for weight, _ in adding))
        return least

    @property
    def worst(self) -> float:
        """No tree for the most lines leaves less of the torque than this: one is at most so deep."""
        worst = [min((end.efficiency for end in ends), default=1.0) for ends in (self._splitters, self._combiners)]
        return float((worst[0] * worst[1]) ** 7)

    def divided(self, lines: int, speed: int) -> tuple[Tree, ...]:
        """Trees of splitters for so many lines, lightest first, for a class of speeds."""
        key = (lines, speed)
        if key not in self._divided:
            self._divided[key] = self._front(self._dividing(lines, speed)) if lines > 1 else (_LEAF,)
        return self._divided[key]

    def gathered(self, profile: Profile, speed: int) -> tuple[Tree, ...]:
        """Trees of combiners for lines of a profile, lightest first, for a class of speeds."""
        key = (profile, speed)
        if key not in self._gathered:
            alone = (Tree(0, ENDLESS, profile, None),)
            self._gathered[key] = self._front(self._gathering(profile, speed)) if len(profile) > 1 else alone
        return self._gathered[key]

    def _front(self, found: Iterable[Tree]) -> tuple[Tree, ...]:
        """Of trees with one profile those that bear more, or are fewer parts, for more weight; all pass something."""
        kept: list[Tree] = []
        best: dict[Profile, list[Tree]] = {}
        for tree in sorted(found, key=lambda tree: (tree.weight, -tree.torque)):
            lighter = best.setdefault(tree.leaves, [])
            if all(tree.leaves) and not any(one.torque >= tree.torque and one.parts <= tree.parts for one in lighter):
                lighter.append(tree)
                kept.append(tree)
        self.capped = self.capped or len(kept) > MOST_TREES
        return tuple(kept[:MOST_TREES])

    def _dividing(self, lines: int, speed: int) -> Iterator[Tree]:
        for end in self._splitters:
            stands = self._stands(end, speed)
            for row in _rows(end, lines) if stands > 0 else ():
                counts = sorted(set(row))
                for chosen in product(*(self.divided(count, speed) for count in counts)):
                    self.work += 1
                    below = dict(zip(counts, chosen, strict=True))
                    most, leaves = stands, []
                    for count in row:
                        share = end.efficiency * count / lines
                        most = min(most, below[count].torque / share)
                        leaves += [round(share * leaf, 12) for leaf in below[count].leaves]
                    weight = end.weight + sum(below[count].weight for count in row)
                    node = Branching(end, row, tuple(below[count].node for count in row))
                    parts = 1 + sum(below[count].parts for count in row)
                    yield Tree(weight, most, tuple(leaves), node, parts)

    def _gathering(self, profile: Profile, speed: int) -> Iterator[Tree]:
        lines = len(profile)
        for end in self._combiners:
            stands = self._stands(end, speed)
            for row in _partitions(lines, min(end.ends or lines, lines)) if stands > 0 else ():
                # A combiner takes fewer inlets than it has nowhere: those it has are all driven.
                if len(row) < 2 or (end.ends is not None and len(row) != end.ends):
                    continue
                pieces = _slices(profile, row)
                kinds = list(dict.fromkeys(pieces))
                for chosen in product(*(self.gathered(piece, speed) for piece in kinds)):
                    self.work += 1
                    below = dict(zip(kinds, chosen, strict=True))
                    enters = [below[piece].leaves[0] for piece in pieces]
                    out = sum(enters) * end.efficiency
                    most = min(stands / max(*enters, out), *(below[piece].torque for piece in pieces))
                    weight = end.weight + sum(below[piece].weight for piece in pieces)
                    node = Branching(end, row, tuple(below[piece].node for piece in pieces))
                    parts = 1 + sum(below[piece].parts for piece in pieces)
                    yield Tree(weight, most, (round(out, 12),), node, parts)

    def _stands(self, end: End, speed: int) -> float:
        """The most torque that any make of an item stands at a class of speeds."""
        slowest = self._speeds[speed] if speed < len(self._speeds) else ENDLESS
        return max((make.torque for make in end.makes if make.speed >= slowest), default=0.0)


def _slices(profile: Profile, row: tuple[int, ...]) -> list[Profile]:
    found, at = [], 0
    for count in row:
        found.append(profile[at : at + count])
        at += count
    return found


def _rows(end: End, lines: int) -> Iterator[tuple[int, ...]]:
    """How a splitter may divide ``lines`` equal lines among its outlets; every outlet gets one or more."""
    for count in (end.ends,) if end.ends is not None else range(2, lines + 1):
        if count > lines or count < 2:
            continue
        if end.rows is None:
            yield from (row for row in _partitions(lines, count) if len(row) == count)
            continue
        for offered in end.rows:
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


def weakest(makes: Iterable[Make], torque: float, speed: float) -> Make | None:
    """The weakest make that stands a load [N*m, rad/s]."""
    fits = [make for make in makes if not over(torque, make.torque) and not over(speed, make.speed)]
    return min(fits, key=lambda make: (make.torque, make.speed, make.grade or ""), default=None)


