"""Free values by Gauss and Newton's method, within their spans and with the sums that they may come to."""

from collections.abc import Sequence
from math import sqrt

from lineshaft.audit.comparison import Measured
from lineshaft.audit.response import Response

EXACT = 1e-6
"""The least tolerance that errors are weighed by."""
_ROUNDS = 12


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
    """The free values after a step of least squares, none beyond 0 or 1 and no sum beyond its bound.

    What would go beyond is held at its bound, the farthest first, and the step of the others is found anew.
    """
    held: dict[int, float] = {}
    bound: list[tuple[list[float], float]] = []
    for _ in range(len(free) + len(found.sums) + 1):
        loose = [i for i in range(len(free)) if i not in held]
        moved = list(free)
        for i, value in held.items():
            moved[i] = value
        some = [*zip(rows, errors, strict=True), *bound]
        gone = [e - sum(row[i] * (value - free[i]) for i, value in held.items()) for row, e in some]
        step = _normal_solution([[row[i] for i in loose] for row, _ in some], gone, len(loose))
        for i, du in zip(loose, step, strict=True):
            moved[i] = free[i] + du
        farthest = max(loose, key=lambda i: max(-moved[i], moved[i] - 1), default=None)
        if farthest is not None and max(-moved[farthest], moved[farthest] - 1) > 0:
            held[farthest] = min(max(moved[farthest], 0.0), 1.0)
            continue
        over = next(found.over(moved), None)
        if over is None or len(bound) == len(found.sums):
            break
        bound.append(_held_sum(found, free, over[0], rows))
    return [min(max(u, 0.0), 1.0) for u in moved]


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
