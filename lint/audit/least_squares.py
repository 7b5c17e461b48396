"""Free values by Gauss and Newton's method, within their spans and with the sums that they may come to."""

from collections.abc import Sequence
from math import sqrt

from lineshaft.audit.comparison import Measured
from lineshaft.audit.response import Response

EXACT = 1e-6
"""The least tolerance that errors are weighed by."""
_ROUNDS = 12
_HOLDS = 4
"""How often a value may be held, over all of them on average."""
_NOTHING = 1e-9
"""A gain below this share of the most that there could be is rounding."""


def error_of(m: Measured, value: float) -> float:
    """The error of a number in tolerances."""
    scale = max(abs(value), abs(m.read))
    return (m.read - value) / (scale * max(m.tolerance, EXACT)) if scale else 0.0


def least_squares(
    found: Response, read: Sequence[tuple[int, Measured]], start: Sequence[float], weights: Sequence[float]
) -> list[float]:
    """Gauss and Newton's method over numbers that the free values move, each of these kept within 0 to 1."""
    free = list(start)
    for _ in range(_ROUNDS):
        rows, errors = [], []
        for (k, m), weight in zip(read, weights, strict=True):
            value = found.value(k, free)
            scale = max(abs(value), abs(m.read)) * max(m.tolerance, EXACT)
            if scale > 0:
                times = sqrt(weight) / scale
                rows.append([slope * times for slope in found.slopes(k, free)])
                errors.append((m.read - value) * times)
        moved = _within(found, free, rows, errors)
        change = max((abs(a - b) for a, b in zip(moved, free, strict=True)), default=0.0)
        free = moved
        if change < 1e-9:
            break
    return free


def _within(found: Response, free: list[float], rows: list[list[float]], errors: list[float]) -> list[float]:
    """The free values of the least squares among those within 0 to 1 whose sums are within their bounds.

    By active sets (P. B. Stark and R. L. Parker, *Bounded-variable least squares*, 1995): on the way to the least
    squares of those that are loose the first that comes to its end is held there; one that is held and would do better
    within is loose again.
    """
    at = list(free)
    held: dict[int, float] = {}
    bound: list[tuple[list[float], float]] = []
    for _ in range(_HOLDS * (len(free) + 1) + len(found.sums)):
        some = [*zip(rows, errors, strict=True), *bound]
        target = _least(some, free, held)
        share, first = _way(at, target, held)
        if first is not None:
            at = [a + share * (t - a) for a, t in zip(at, target, strict=True)]
            at[first] = held[first] = float(target[first] > 0)
            continue
        at = target
        better = _better_within(some, free, at, held)
        if better is not None:
            del held[better]
            continue
        over = next(found.over(at), None)
        if over is None or len(bound) == len(found.sums):
            break
        bound.append(_held_sum(found, free, over[0], rows))
    return [min(max(u, 0.0), 1.0) for u in at]


def _least(some: list[tuple[list[float], float]], free: list[float], held: dict[int, float]) -> list[float]:
    """Least squares of the loose, wherever that is, with the others where they are held."""
    loose = [i for i in range(len(free)) if i not in held]
    gone = [error - sum(row[i] * (value - free[i]) for i, value in held.items()) for row, error in some]
    step = _normal_solution([[row[i] for i in loose] for row, _ in some], gone, len(loose))
    moved = {**held, **{i: free[i] + du for i, du in zip(loose, step, strict=True)}}
    return [moved[i] for i in range(len(free))]


def _way(at: list[float], target: list[float], held: dict[int, float]) -> tuple[float, int | None]:
    """The share of the way to a target that stays within 0 to 1, and which value comes to its end there, if any."""
    beyond = [i for i, t in enumerate(target) if i not in held and not 0 <= t <= 1]
    shares = [(float(target[i] > 0) - at[i]) / (target[i] - at[i]) for i in beyond]
    return min(zip(shares, beyond, strict=True), default=(1.0, None))


def _better_within(
    some: list[tuple[list[float], float]], free: list[float], at: list[float], held: dict[int, float]
) -> int | None:
    """Which of those that are held makes the error less the fastest on its way back within, if any does."""
    left = [e - sum(r * (a - u) for r, a, u in zip(row, at, free, strict=True)) for row, e in some]
    size = sqrt(sum(e * e for e in left))
    gains = []
    for i, value in held.items():
        length = sqrt(sum(row[i] * row[i] for row, _ in some))
        gain = sum(row[i] * e for (row, _), e in zip(some, left, strict=True)) * (-1 if value else 1)
        if gain > _NOTHING * length * size:
            gains.append((gain / length, -i))
    return -max(gains)[1] if gains else None


def _held_sum(
    found: Response, free: list[float], row: tuple[int, ...], rows: list[list[float]]
) -> tuple[list[float], float]:
    """A row of least squares that outweighs all others: these values come to their bound, and no more."""
    most = next(bound for values, bound in found.sums if values == row)
    times = 1e4 * max((abs(slope) for one in rows for slope in one), default=1.0)
    values = found.values(free)
    slopes = [0.0] * len(free)
    for i in row:
        slopes[i] = times * (found.spans[i].low - found.spans[i].high)
    return slopes, times * (most - sum(values[i] for i in row))


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
