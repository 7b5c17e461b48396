"""What so many stages can reach: the least weight of those whose gains multiply to one within a window."""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from itertools import takewhile

from lineshaft.repair.line.gains import NEVER
from lineshaft.repair.line.labels import BOTH_WAYS, DOWNWARD, UPWARD

_MOST_PRODUCTS = 12_000


class Reaches:
    """The same for stages that gear up, for those that gear down, and for both together."""

    __slots__ = ("_by_ways",)

    def __init__(self, gains: Sequence[tuple[float, int]], most: int) -> None:
        """``gains``: the logarithm of each gain with the least weight of a stage that has it."""
        up, down = [gain for gain in gains if gain[0] > 0], [gain for gain in gains if gain[0] < 0]
        self._by_ways = {UPWARD: Reach(up, most), DOWNWARD: Reach(down, most), BOTH_WAYS: Reach(gains, most)}

    def at_most(self, stages: int, low: float, high: float, ways: int = BOTH_WAYS) -> int:
        """The least weight of up to so many stages that gear some way, either where it is 0."""
        if ways:
            return self._by_ways[ways].at_most(stages, low, high)
        up, down = self._by_ways[UPWARD], self._by_ways[DOWNWARD]
        return min(up.at_most(stages, low, high), down.at_most(stages, low, high))


class Reach:
    """The least weight of stages whose product lies within a window: of so many, or of at most so many.

    Products of two, and of more while they are few, are sorted with their weights when they are first asked for; beyond
    that so many of the lightest count, where the outermost gains reach the window at all.
    """

    __slots__ = ("_gains", "_lightest", "_products", "_range", "_rows")

    def __init__(self, gains: Sequence[tuple[float, int]], most: int) -> None:
        """``gains``: the logarithm of each gain with the least weight of a stage that has it."""
        self._gains = tuple(gains)
        self._lightest = min((weight for _, weight in gains), default=NEVER)
        logs = [log for log, _ in gains]
        self._range = (min(logs, default=0.0), max(logs, default=0.0))
        self._rows: list[list[_Row]] = [[(log, weight, at) for at, (log, weight) in enumerate(gains)]]
        self._products: list[_Least | None] = [None] * tabled(len(gains), most)

    def at_most(self, stages: int, low: float, high: float) -> int:
        """The least weight of up to so many stages; ``NEVER`` where none reach between two logarithms."""
        if low > high:
            return NEVER
        found = 0 if low <= 0.0 <= high else NEVER
        if found == 0:
            return 0
        for count in range(1, stages + 1):
            if count * self._lightest >= found:
                break
            if count * self._range[0] > high or count * self._range[1] < low:
                continue
            if count <= len(self._products):
                found = min(found, self._of(count).between(low, high))
            else:
                found = min(found, count * self._lightest)
        return found

    def _of(self, count: int) -> "_Least":
        """The products of exactly so many."""
        known = self._products[count - 1]
        if known is None:
            while len(self._rows) < count:
                self._rows.append([
                    (log + more, weight + own, at)
                    for log, weight, last in self._rows[-1]
                    for at, (more, own) in enumerate(self._gains[last:], last)
                ])
            known = self._products[count - 1] = _Least((log, weight) for log, weight, _ in self._rows[count - 1])
        return known


def tabled(gains: int, most: int) -> int:
    """Up to how many of ``most`` stages products of some gains are few enough to be tabled; of one they always are."""
    few = takewhile(lambda count: math.comb(gains + count - 1, count) <= _MOST_PRODUCTS, range(2, most + 1))
    return 1 + sum(1 for _ in few)


_Row = tuple[float, int, int]
"""A product: its logarithm and weight, and the number of the last gain in it."""


class _Least:
    """The least weight over any stretch of sorted logarithms: a table of stretches of doubling length."""

    __slots__ = ("_logs", "_table")

    def __init__(self, pairs: Iterable[tuple[float, int]]) -> None:
        ordered = sorted(pairs)
        self._logs = [log for log, _ in ordered]
        self._table = [[weight for _, weight in ordered]]

    def between(self, low: float, high: float) -> int:
        """The least weight from a logarithm to another."""
        first, last = bisect_left(self._logs, low), bisect_right(self._logs, high)
        if first >= last:
            return NEVER
        level = (last - first).bit_length() - 1
        while len(self._table) <= level:
            row, step = self._table[-1], 1 << (len(self._table) - 1)
            self._table.append(list(map(min, row, row[step:])))
        row = self._table[level]
        return min(row[first], row[last - (1 << level)])
