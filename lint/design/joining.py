"""Options joined: those of a splitter's outlets by its shares, those behind a line at its head."""

from collections.abc import Iterator, Sequence
from itertools import combinations, islice, permutations

from lineshaft.design.batches import Taken
from lineshaft.design.options import Divided, Laid, Option, Row
from lineshaft.design.supply import Supply
from lineshaft.repair.line.design import Found
from lineshaft.repair.line.segment import End, Segment
from lineshaft.solve.limits import EQUAL

MOST_ROWS = 120
"""Orders of one row of shares that are tried."""


class Joining:
    """What a splitter makes of an option for each of its outlets."""

    __slots__ = ("_batches", "_end", "_own", "_stands")

    def __init__(self, end: End, stands: float, supply: Supply) -> None:
        self._end, self._stands, self._batches = end, stands, supply.batches
        self._own = self._batches.of_goods(supply.rig.catalogue.items[end.item].made_of)

    def joined(self, below: Sequence[Option]) -> Iterator[Option]:
        """The options of the splitter, by each order of each row of shares; one where it takes any."""
        end = self._end
        weight = end.weight + sum(option.weight for option in below)
        taken = self._batches.together([self._own, *(option.taken for option in below)])
        rates = tuple(sorted(rate for option in below for rate in option.rates))
        for row in _rows(end, len(below)):
            if row is None:
                least, most = sum(o.least for o in below), sum(o.most for o in below)
            else:
                total = sum(row)
                least = max(o.least * total / share for o, share in zip(below, row, strict=True))
                most = min(o.most * total / share for o, share in zip(below, row, strict=True))
            least, most = least / end.efficiency, min(most / end.efficiency, self._stands)
            if least <= most * (1 + EQUAL):
                laid = Laid(0, _NOTHING, _NOWHERE)
                yield Option(weight, least, most, Divided(laid, end, row, tuple(below)), rates, taken)


_NOTHING = Found((), 0, (0.0, 0.0), 1.0, 0.0)
_NOWHERE = Segment((0.0, 0.0), 0.0)


class Behind:
    """What options behind a line come to at its head."""

    __slots__ = ("_head",)

    def __init__(self, head: Laid) -> None:
        self._head = head

    def __call__(self, option: Option) -> Iterator[Option]:
        found, node = self._head.found, option.node
        least, most = option.least / found.passes, min(option.most / found.passes, found.torque[1])
        if least <= most * (1 + EQUAL) and isinstance(node, Divided):
            weight = option.weight + self._head.weight
            yield Option(weight, least, most, node._replace(laid=self._head), option.rates, _both(option, self._head))


def _both(option: Option, head: Laid) -> Taken:
    return tuple(round(a + b, 9) for a, b in zip(option.taken, head.taken, strict=True))


def _rows(end: End, outlets: int) -> Iterator[Row | None]:
    """Each order of each row of shares that an item offers; none where it takes any."""
    if end.rows is None:
        yield None
        return
    for row in end.rows:
        if len(row) == outlets:
            yield from sorted(set(islice(permutations(row), MOST_ROWS)))


def partitions(members: Sequence[int], blocks: int | None) -> Iterator[tuple[tuple[int, ...], ...]]:
    """The ways to put members into so many blocks, or into any number from two on, none of them empty."""
    if blocks is None:
        for number in range(2, len(members) + 1):
            yield from partitions(members, number)
        return
    if blocks > len(members) or blocks < 1:
        return
    if blocks == 1:
        yield (tuple(members),)
        return
    first, rest = members[0], members[1:]
    for size in range(len(rest) - blocks + 2):
        for others in combinations(rest, size):
            left = [member for member in rest if member not in others]
            for more in partitions(left, blocks - 1):
                yield ((first, *others), *more)
