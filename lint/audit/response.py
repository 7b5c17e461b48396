"""What was read as a function of free values: each number is straight in every one, so a few solves tell all."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from math import inf, prod

from lineshaft.audit.candidate import Span
from lineshaft.audit.survey import Values

_EQUAL_SUM = 1e-9


@dataclass(frozen=True, slots=True)
class Response:
    """Each number as a sum of products of free values, each value counted from 0 to 1 over its span.

    ``terms`` are the values (indices) multiplied in each term; ``factors`` for each number the factor of each term;
    none where the number's place is not solved. ``sums`` are rows of values that may come to no more than a bound
    together, as the shares of a splitter.
    """

    spans: tuple[Span, ...]
    terms: tuple[tuple[int, ...], ...]
    factors: tuple[tuple[float, ...] | None, ...]
    sums: tuple[tuple[tuple[int, ...], float], ...] = ()

    def over(self, free: Sequence[float]) -> Iterator[tuple[tuple[int, ...], float]]:
        """The rows of values that come to more than they may, and by how much."""
        values = self.values(free)
        for row, most in self.sums:
            excess = sum(values[i] for i in row) - most
            if excess > _EQUAL_SUM:
                yield row, excess

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


def response(
    solved: Callable[[tuple[float, ...]], Values], groups: Sequence[tuple[Span, ...]], most: Sequence[float] = ()
) -> Response:
    """The response of a survey: ``solved`` gives the numbers for free values.

    Values of one group (the shares of one splitter) are never multiplied with one another; ``most`` is for each group
    what they may come to together.
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
    rows_of = [tuple(range(start, start + len(group))) for start, group in zip(starts, groups, strict=True)]
    sums = tuple((row, bound) for row, bound in zip(rows_of, most, strict=False) if bound < inf and len(row) > 1)
    return Response(spans, terms, tuple(_whole(column) for column in columns), sums)


def _whole(column: tuple[float | None, ...]) -> tuple[float, ...] | None:
    found = []
    for value in column:
        if value is None:
            return None
        found.append(value)
    return tuple(found)
