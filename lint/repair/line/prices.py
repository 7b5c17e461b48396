"""Weights: cost in whole numbers of a common denominator, with parts and then words as the lower digits.

One integer that adds up and compares first by cost, then by parts added, then by how much of a file changes. Cost is
that of shares of batches, which is never more than what a bill says.
"""

import math
from collections.abc import Iterable, Mapping
from fractions import Fraction

_DIGITS = 24
WORD = 1
"""One word of a file that changes, or one place further from where the line had its stages."""
PART = 1 << _DIGITS
"""One part more."""
_UNIT = 1 << (2 * _DIGITS)


def denominator_of(costs: Iterable[Fraction]) -> int:
    """The common denominator of costs."""
    return math.lcm(*(cost.denominator for cost in costs))


def weight_of(cost: Fraction, denominator: int, parts: int = 0, words: int = 0) -> int:
    """A cost with parts and words as one integer."""
    return weight_of_units(int(cost * denominator), parts, words)


def weight_of_units(units: int, parts: int, words: int) -> int:
    """The same for a cost in units of the denominator."""
    return units * _UNIT + parts * PART + words


def cost_of(weight: int, denominator: int) -> Fraction:
    """The cost that a weight holds; parts and words of it must be at least 0."""
    return Fraction(weight >> (2 * _DIGITS), denominator)


def cost_units(weight: int) -> int:
    """The cost that a weight holds, in units of the denominator."""
    return weight >> (2 * _DIGITS)


def parts_of(weight: int) -> int:
    """The parts that a weight holds."""
    return (weight >> _DIGITS) & (PART - 1)


Components = Mapping[str, tuple[Mapping[str, int], int]]


def exact_units(raw: Mapping[str, float], components: Components) -> dict[str, Fraction]:
    """The exact cost of one of each good: raw goods as written, components by shares of a batch.

    ``components`` gives what one making takes and how many it yields; none is made of itself.
    """
    known = {name: Fraction(repr(worth)) for name, worth in raw.items()}

    def unit(name: str) -> Fraction:
        if name not in known:
            known[name] = Fraction(0)
            if name in components:
                made_of, yields = components[name]
                known[name] = sum((unit(good) * count for good, count in made_of.items()), Fraction(0)) / yields
        return known[name]

    for name in components:
        unit(name)
    return known
