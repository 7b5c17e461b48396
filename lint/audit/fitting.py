"""Free values fitted to what was read: each number is straight in every one of them, so a few solves tell all.

With one free value the fit is exact: each number allows an interval, and all intervals have to meet. With more it is
least squares by Gauss and Newton's method, then weights that rise with the error until the largest error is least
(C. L. Lawson, 1961), since a fit counts only where every number lies within its tolerance.
"""

from collections.abc import Sequence
from math import sqrt
from typing import NamedTuple

from lineshaft.audit.comparison import NO_READING, Measured, disagree
from lineshaft.audit.least_squares import EXACT, error_of, least_squares
from lineshaft.audit.response import Response

_LAWSON = 30
_STARTS = (0.3, 0.7)


class Fit(NamedTuple):
    """Free values with which every number agrees, and how well: the root mean square of errors in tolerances."""

    values: tuple[float, ...]
    misfit: float


class Clash(NamedTuple):
    """Why nothing fits: of ``each`` (bits) every number, of ``some`` at least one has to be moved by another deviation.

    A conflict in the sense of R. Reiter, *A Theory of Diagnosis from First Principles* (1987). ``ranges`` are what each
    number allows a single free value to be.
    """

    each: int
    some: int
    ranges: tuple[tuple[float, float], ...] | None = None

    def left_by(self, moved: int) -> bool:
        """Whether the clash may be gone once the numbers in ``moved`` are another's to explain."""
        if self.each & ~moved or (self.some and not self.some & moved):
            return False
        if self.ranges is None:
            return True
        low = max((r[0] for k, r in enumerate(self.ranges) if not moved >> k & 1), default=0.0)
        high = min((r[1] for k, r in enumerate(self.ranges) if not moved >> k & 1), default=1.0)
        return low <= high


def fit(found: Response, measured: Sequence[Measured]) -> Fit | Clash:
    """The best fit of a response to what was read, or why there is none."""
    broken = sum(1 << k for k, factors in enumerate(found.factors) if factors is None)
    if broken:
        return Clash(broken, 0)
    if not found.spans:
        wrong = _wrong(found, measured, ())
        return Clash(wrong, 0) if wrong else Fit((), misfit_of(found, measured, ()))
    return _one(found, measured) if len(found.spans) == 1 else _several(found, measured)


def misfit_of(found: Response, measured: Sequence[Measured], free: Sequence[float]) -> float:
    """The root mean square of all errors, in tolerances."""
    read = [(k, m) for k, m in enumerate(measured) if m.reading != NO_READING]
    total = sum(error_of(m, found.value(k, free)) ** 2 for k, m in read)
    return sqrt(total / len(read))


def agrees(found: Response, measured: Sequence[Measured], free: Sequence[float]) -> bool:
    """Whether every number agrees with these free values, and they may stand together."""
    return not _wrong(found, measured, free) and not any(found.over(free))


def _wrong(found: Response, measured: Sequence[Measured], free: Sequence[float]) -> int:
    bits = 0
    for k, m in enumerate(measured):
        if disagree(m.read, found.value(k, free), m.tolerance):
            bits |= 1 << k
    return bits


def _one(found: Response, measured: Sequence[Measured]) -> Fit | Clash:
    ranges = tuple(_range(m, *factors) for m, factors in zip(measured, found.factors, strict=True) if factors)
    each = sum(1 << k for k, (low, high) in enumerate(ranges) if low > high)
    lowest = max(range(len(ranges)), key=lambda k: ranges[k][0])
    highest = min(range(len(ranges)), key=lambda k: ranges[k][1])
    low, high = ranges[lowest][0], ranges[highest][1]
    if each or low > high:
        return Clash(each, 0 if each else 1 << lowest | 1 << highest, ranges)
    best = least_squares(found, list(enumerate(measured)), [low], [1.0] * len(measured))
    free = [min(max(best[0], low), high)]
    if not agrees(found, measured, free):
        free = [(low + high) / 2]
    return Fit(found.values(free), misfit_of(found, measured, free))


def _range(m: Measured, start: float, slope: float) -> tuple[float, float]:
    """The free values, within 0 to 1, with which one number agrees; an empty range where there is none."""
    if slope == 0:
        return (1.0, 0.0) if disagree(m.read, start, m.tolerance) else (0.0, 1.0)
    # read = (1 ± tolerance) · (start + slope · u)
    ends = [(m.read / (1 + sign * m.tolerance) - start) / slope for sign in (1, -1) if sign * m.tolerance > -1]
    if len(ends) == 1:
        ends.append(float("inf") if slope > 0 else float("-inf"))
    low, high = max(min(ends), 0.0), min(max(ends), 1.0)
    return (low, high) if low <= high else (1.0, 0.0)


def _several(found: Response, measured: Sequence[Measured]) -> Fit | Clash:
    for start in _STARTS if any(len(term) > 1 for term in found.terms) else _STARTS[:1]:
        result = _descended(found, measured, start)
        if isinstance(result, Fit) or result.each:
            return result
    return result


def _descended(found: Response, measured: Sequence[Measured], start: float) -> Fit | Clash:
    at_start = [start] * len(found.spans)
    moving = [k for k in range(len(measured)) if any((found.factors[k] or ())[1:])]
    fixed = _wrong(found, measured, at_start) & ~sum(1 << k for k in moving)
    if fixed:
        return Clash(fixed, 0)
    read = [(k, measured[k]) for k in moving]
    weights = [1.0] * len(read)
    free = least_squares(found, read, at_start, weights)
    # The least mean square is never over the least largest error: where it is over 1, nothing is within all tolerances.
    mean_square = sum(error_of(m, found.value(k, free)) ** 2 for k, m in read) / len(read) if read else 0.0
    for _ in range(_LAWSON if mean_square <= 1 + EXACT else 0):
        if agrees(found, measured, free):
            return Fit(found.values(free), misfit_of(found, measured, free))
        weights = _weighed(found, read, free, weights)
        free = least_squares(found, read, free, weights)
    return Clash(0, sum(1 << k for k in moving))


def _weighed(
    found: Response, read: Sequence[tuple[int, Measured]], free: Sequence[float], weights: Sequence[float]
) -> list[float]:
    """Weights that rise with the error. The inlets of a combiner keep theirs: they agree, or it would lock."""
    risen = [
        w if m.reading == NO_READING else w * abs(error_of(m, found.value(k, free)))
        for (k, m), w in zip(read, weights, strict=True)
    ]
    own = [m.reading != NO_READING for _, m in read]
    total = sum(w for w, is_own in zip(risen, own, strict=True) if is_own)
    if not total:
        return list(weights)
    return [w * sum(own) / total if is_own else w for w, is_own in zip(risen, own, strict=True)]
