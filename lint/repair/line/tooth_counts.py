"""Whole tooth counts for a ratio: the nearest that so many teeth allow, and the smallest that lie within bounds.

Source: continued fractions, as any book on number theory has them; Hayes, "On the Teeth of Wheels", *American
Scientist* 2000, tells their use for wheels.
"""

from collections.abc import Iterator
from fractions import Fraction


def convergents(ratio: Fraction) -> Iterator[Fraction]:
    """The convergents of a ratio's continued fraction: each is nearer than any ratio of smaller counts; itself last."""
    over, under = (1, 0), (0, 1)
    driven, driver = ratio.numerator, ratio.denominator
    while driver:
        whole, rest = divmod(driven, driver)
        driven, driver = driver, rest
        over = (whole * over[0] + over[1], over[0])
        under = (whole * under[0] + under[1], under[0])
        yield Fraction(over[0], under[0])


def nearest(ratio: Fraction, most: int) -> Fraction:
    """The ratio nearest to ``ratio`` whose driver has at most ``most`` teeth."""
    return ratio.limit_denominator(most)


def simplest_between(low: Fraction, high: Fraction) -> Fraction:
    """The ratio of the smallest counts from ``low`` to ``high``, both above 0; the one that needs the fewest teeth."""
    whole = -(-low.numerator // low.denominator)
    if whole <= high:
        return Fraction(whole)
    floor = low.numerator // low.denominator
    return floor + 1 / simplest_between(1 / (high - floor), 1 / (low - floor))
