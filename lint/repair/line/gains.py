"""Gains of stages, exact and quick: each is one integer, so that gears in line are added."""

import math
from collections.abc import Iterable
from fractions import Fraction

NEVER = 1 << 200
"""A weight that nothing has."""
_WIDTH = 24
"""Bits for each exponent, both ways: those of a line's stages never add up to as many as 2^23."""


class Gains:
    """Gains as integers: the exponents over a coprime base of all numerators and denominators, packed side by side."""

    __slots__ = ("_base", "_known", "_logs", "_values")

    def __init__(self, gains: Iterable[Fraction]) -> None:
        self._base = coprime_base({n for gain in gains for n in (gain.numerator, gain.denominator)})
        self._known: dict[Fraction, int] = {}
        self._values: dict[int, float] = {0: 1.0}
        self._logs: dict[int, float] = {0: 0.0}

    def packed(self, gain: Fraction) -> int:
        """A gain of the stock as an integer; 1 : 1 is 0."""
        found = self._known.get(gain)
        if found is None:
            found = 0
            for place, base in enumerate(self._base):
                found += _exponent(gain, base) << (_WIDTH * place)
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


def _exponent(gain: Fraction, base: int) -> int:
    """How often a base divides a gain: as often less than never as it divides the denominator."""
    count = 0
    for number, one in ((gain.numerator, 1), (gain.denominator, -1)):
        while number % base == 0:
            number //= base
            count += one
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
