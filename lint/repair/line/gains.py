"""Gains of stages, exact and quick: each is one integer, so that gears in line are added; what so many can reach."""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import combinations_with_replacement

_MOST_PRODUCTS = 12_000
NEVER = 1 << 200
"""A weight that nothing has."""


class Gains:
    """Gains as integers: the exponents over a coprime base of all numerators and denominators, packed side by side."""

    __slots__ = ("_base", "_known", "_logs", "_values", "_width")

    def __init__(self, gains: Iterable[Fraction], most: int) -> None:
        gains = list(gains)
        self._base = coprime_base({n for gain in gains for n in (gain.numerator, gain.denominator) if n > 1})
        largest = max((n for gain in gains for n in (gain.numerator, gain.denominator)), default=1)
        # Room for the largest exponent as often as stages may come, both ways.
        self._width = (2 * (most + 1) * largest.bit_length()).bit_length() + 1
        self._known: dict[Fraction, int] = {}
        self._values: dict[int, float] = {0: 1.0}
        self._logs: dict[int, float] = {0: 0.0}

    def packed(self, gain: Fraction) -> int:
        """A gain of the stock as an integer; 1 : 1 is 0."""
        found = self._known.get(gain)
        if found is None:
            found = 0
            for place, base in enumerate(self._base):
                exponent = _exponent(gain.numerator, base) - _exponent(gain.denominator, base)
                found += exponent << (self._width * place)
            self._known[gain] = found
            self._values[found] = float(gain)
            self._logs[found] = math.log(gain)
        return found

    def times(self, so_far: int, more: int) -> int:
        """The product of two gains."""
        product = so_far + more
        if product not in self._values:
            self._values[product] = self._values[so_far] * self._values[more]
            self._logs[product] = self._logs[so_far] + self._logs[more]
        return product

    def value(self, gain: int) -> float:
        """Speed out for speed in."""
        return self._values[gain]

    def log(self, gain: int) -> float:
        """The natural logarithm of speed out for speed in."""
        return self._logs[gain]


def _exponent(number: int, base: int) -> int:
    count = 0
    while number % base == 0:
        number //= base
        count += 1
    return count


def coprime_base(numbers: Iterable[int]) -> tuple[int, ...]:
    """Whole numbers above 1 that share no factor, of whose powers each of ``numbers`` is a product."""
    base: list[int] = []
    waiting = [n for n in numbers if n > 1]
    while waiting:
        number = waiting.pop()
        for place, other in enumerate(base):
            common = math.gcd(number, other)
            if common > 1:
                base.pop(place)
                waiting += [n for n in (number // common, other // common, common) if n > 1]
                break
        else:
            base.append(number)
    return tuple(sorted(base))


class Reach:
    """The least weight of stages whose product lies within a window: of so many, or of at most so many.

    Products of two, and of more while they are few, are sorted with their weights; beyond that so many of the
    lightest count, where the outermost gains reach the window at all.
    """

    __slots__ = ("_lightest", "_most", "_products", "_range")

    def __init__(self, gains: Sequence[tuple[float, int]], most: int) -> None:
        """``gains``: the logarithm of each gain with the least weight of a stage that has it."""
        self._lightest = min((weight for _, weight in gains), default=NEVER)
        logs = [log for log, _ in gains]
        self._range = (min(logs, default=0.0), max(logs, default=0.0))
        self._most = most
        self._products: list[_Least] = []
        for count in range(1, most + 1):
            if count > 1 and math.comb(len(gains) + count - 1, count) > _MOST_PRODUCTS:
                break
            self._products.append(_Least(_products(gains, count)))

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
            if count <= len(self._products):
                found = min(found, self._products[count - 1].between(low, high))
            elif count * self._range[0] <= high and count * self._range[1] >= low:
                found = min(found, count * self._lightest)
        return found


def _products(gains: Sequence[tuple[float, int]], count: int) -> Iterator[tuple[float, int]]:
    if count == 1:
        yield from gains
        return
    for chosen in combinations_with_replacement(gains, count):
        yield math.fsum(log for log, _ in chosen), sum(weight for _, weight in chosen)


class _Least:
    """The least weight over any stretch of sorted logarithms: a table of stretches of doubling length."""

    __slots__ = ("_logs", "_table")

    def __init__(self, pairs: Iterable[tuple[float, int]]) -> None:
        ordered = sorted(pairs)
        self._logs = [log for log, _ in ordered]
        self._table = [[weight for _, weight in ordered]]
        step = 1
        while 2 * step <= len(ordered):
            row = self._table[-1]
            self._table.append([min(row[k], row[k + step]) for k in range(len(row) - step)])
            step *= 2

    def between(self, low: float, high: float) -> int:
        """The least weight from a logarithm to another."""
        first, last = bisect_left(self._logs, low), bisect_right(self._logs, high)
        if first >= last:
            return NEVER
        level = (last - first).bit_length() - 1
        row = self._table[level]
        return min(row[first], row[last - (1 << level)])
