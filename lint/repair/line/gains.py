"""Gains of stages, exact and quick: each is one integer, so that gears in line are added."""

import math
from collections.abc import Iterable
from fractions import Fraction

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
