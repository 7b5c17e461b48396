"""Free values fitted to what was read: each number is straight in every one of them, so a few solves tell all.

With one free value the fit is exact: each number allows an interval, and all intervals have to meet. With more it is
least squares by Gauss and Newton's method, then weights that rise with the error until the largest error is least
(C. L. Lawson, 1961), since a fit counts only where every number lies within its tolerance.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod, sqrt
from typing import NamedTuple

from lineshaft.audit.candidates import Span
from lineshaft.audit.comparison import NO_READING, Measured, disagree
from lineshaft.audit.survey import Values

_EXACT = 1e-6  # the least tolerance that errors are weighed by
_ROUNDS = 12
_LAWSON = 30


@dataclass(frozen=True, slots=True)
class Response:
    """Each number as a sum of products of free values, each value counted from 0 to 1 over its span.

    ``terms`` are the values (indices) multiplied in each term; ``factors`` for each number the factor of each term;
    none where the number's place is not solved.
    """

    spans: tuple[Span, ...]
    terms: tuple[tuple[int, ...], ...]
    factors: tuple[tuple[float, ...] | None, ...]

    def value(self, number: int, free: Sequence[float]) -> float:
        """One number with the free values (0 to 1) given."""
        total = 0.0
        for factor, term in zip(self.factors[number] or (), self.terms, strict=False):
            if factor:
                for i in term:
                    factor *= free[i]
                total += factor
        return total

    def slopes(self, number: int, free: Sequence[float]) -> list[float]:
        """How one number moves with each free value."""
        found = [0.0] * len(self.spans)
        for factor, term in zip(self.factors[number] or (), self.terms, strict=False):
            if factor:
                for i in term:
                    found[i] += factor * prod(free[j] for j in term if j != i)
        return found

    def free(self, values: Sequence[float]) -> list[float]:
        """Values on their spans as 0 to 1."""
        return [(v - s.high) / (s.low - s.high) for v, s in zip(values, self.spans, strict=True)]

    def values(self, free: Sequence[float]) -> tuple[float, ...]:
        """0 to 1 as values on their spans."""
        return tuple(s.high + u * (s.low - s.high) for u, s in zip(free, self.spans, strict=True))


def response(solved: Callable[[tuple[float, ...]], Values], groups: Sequence[tuple[Span, ...]]) -> Response:
    """The response of a survey: ``solved`` gives the numbers for free values.

    Values of one group (the shares of one splitter) are never multiplied with one another.
    """
    spans = tuple(span for group in groups for span in group)
    starts = [sum(len(group) for group in groups[:n]) for n in range(len(groups))]
    axes = [(None, *range(start, start + len(group))) for start, group in zip(starts, groups, strict=True)]
    points = list(product(*axes))
    rows: dict[tuple[int | None, ...], list[float | None]] = {}
    for point in points:
        chosen = set(point)
        rows[point] = list(solved(tuple(s.low if i in chosen else s.high for i, s in enumerate(spans))))
    for axis in range(len(groups)):
        for point in points:
            if point[axis] is not None:
                base = rows[(*point[:axis], None, *point[axis + 1 :])]
                pairs = zip(rows[point], base, strict=True)
                rows[point] = [None if v is None or b is None else v - b for v, b in pairs]
    terms = tuple(tuple(i for i in point if i is not None) for point in points)
    columns = zip(*(rows[point] for point in points), strict=True)
    return Response(spans, terms, tuple(_whole(column) for column in columns))


def _whole(column: tuple[float | None, ...]) -> tuple[float, ...] | None:
    found = tuple(value for value in column if value is not None)
    return found if len(found) == len(column) else None


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
    total = sum(_error(m, found.value(k, free)) ** 2 for k, m in read)
    return sqrt(total / len(read))


def agrees(found: Response, measured: Sequence[Measured], free: Sequence[float]) -> bool:
    """Whether every number agrees with these free values."""
    return not _wrong(found, measured, free)


def _wrong(found: Response, measured: Sequence[Measured], free: Sequence[float]) -> int:
    bits = 0
    for k, m in enumerate(measured):
        if disagree(m.read, found.value(k, free), m.tolerance):
            bits |= 1 << k
    return bits


def _error(m: Measured, value: float) -> float:
    scale = max(abs(value), abs(m.read))
    return (m.read - value) / (scale * max(m.tolerance, _EXACT)) if scale else 0.0


def _one(found: Response, measured: Sequence[Measured]) -> Fit | Clash:
    ranges = tuple(_range(m, *(found.factors[k] or (0.0, 0.0))) for k, m in enumerate(measured))
    each = sum(1 << k for k, (low, high) in enumerate(ranges) if low > high)
    lowest = max(range(len(ranges)), key=lambda k: ranges[k][0])
    highest = min(range(len(ranges)), key=lambda k: ranges[k][1])
    low, high = ranges[lowest][0], ranges[highest][1]
    if each or low > high:
        return Clash(each, 0 if each else 1 << lowest | 1 << highest, ranges)
    best = _least_squares(found, list(enumerate(measured)), [(low + high) / 2], [1.0] * len(measured))
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
    at_start = [0.3] * len(found.spans)
    moving = [k for k in range(len(measured)) if any((found.factors[k] or ())[1:])]
    fixed = _wrong(found, measured, at_start) & ~sum(1 << k for k in moving)
    if fixed:
        return Clash(fixed, 0)
    read = [(k, measured[k]) for k in moving]
    weights = [1.0] * len(read)
    free = _least_squares(found, read, at_start, weights)
    # The least mean square is never over the least largest error: where it is over 1, nothing is within all tolerances.
    mean_square = sum(_error(m, found.value(k, free)) ** 2 for k, m in read) / len(read) if read else 0.0
    for _ in range(_LAWSON if mean_square <= 1 + _EXACT else 0):
        if agrees(found, measured, free):
            return Fit(found.values(free), misfit_of(found, measured, free))
        errors = [abs(_error(m, found.value(k, free))) for k, m in read]
        weights = [w * e for w, e in zip(weights, errors, strict=True)]
        total = sum(weights)
        weights = [w * len(weights) / total for w in weights]
        free = _least_squares(found, read, free, weights)
    return Clash(0, sum(1 << k for k in moving))


def _least_squares(
    found: Response, read: Sequence[tuple[int, Measured]], start: Sequence[float], weights: Sequence[float]
) -> list[float]:
    """Gauss and Newton's method over numbers that the free values move, each of these kept within 0 to 1."""
    free = list(start)
    for _ in range(_ROUNDS):
        rows, errors = [], []
        for (k, m), weight in zip(read, weights, strict=True):
            value = found.value(k, free)
            scale = max(abs(value), abs(m.read)) * max(m.tolerance, _EXACT)
            if scale > 0:
                times = sqrt(weight) / scale
                rows.append([slope * times for slope in found.slopes(k, free)])
                errors.append((m.read - value) * times)
        step = _normal_solution(rows, errors, len(free))
        moved = [min(max(u + du, 0.0), 1.0) for u, du in zip(free, step, strict=True)]
        change = max((abs(a - b) for a, b in zip(moved, free, strict=True)), default=0.0)
        free = moved
        if change < 1e-9:
            break
    return free


def _normal_solution(rows: list[list[float]], errors: list[float], size: int) -> list[float]:
    """The step of least squares from the normal equations, by Gauss's elimination; no step where nothing depends."""
    matrix = [
        [sum(row[i] * row[j] for row in rows) for j in range(size)]
        + [sum(row[i] * error for row, error in zip(rows, errors, strict=True))]
        for i in range(size)
    ]
    largest = max((matrix[i][i] for i in range(size)), default=0.0)
    for i in range(size):
        matrix[i][i] += 1e-12 * largest
    for i in range(size):
        pivot = max(range(i, size), key=lambda r: abs(matrix[r][i]))
        matrix[i], matrix[pivot] = matrix[pivot], matrix[i]
        if matrix[i][i] == 0:
            return [0.0] * size
        for r in range(size):
            if r != i:
                times = matrix[r][i] / matrix[i][i]
                matrix[r] = [a - times * b for a, b in zip(matrix[r], matrix[i], strict=True)]
    return [matrix[i][size] / matrix[i][i] for i in range(size)]
