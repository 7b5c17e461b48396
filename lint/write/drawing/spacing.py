"""Heights for the rows of a layered drawing: none nearer to the next than it may be, lines as straight as can be."""

from collections.abc import Sequence

_SWEEPS = 12


def spread(
    layer: Sequence[int],
    steps: Sequence[tuple[int, int]],
    order: Sequence[float],
    heights: Sequence[float],
    gap: float,
) -> list[float]:
    """The middle [px] of each vertex, from 0 down. ``order`` sorts a column; ``steps`` join neighbouring columns.

    By turns from left to right and back each vertex is drawn to the mean of its neighbours, and each column is then set
    as near to that as its heights allow: least squares under least distances, by pooling neighbours that are too near.
    """
    columns: list[list[int]] = [[] for _ in range(max(layer, default=-1) + 1)]
    for vertex in sorted(range(len(layer)), key=lambda v: (order[v], v)):
        columns[layer[vertex]].append(vertex)
    above: list[list[int]] = [[] for _ in layer]
    below: list[list[int]] = [[] for _ in layer]
    for source, target in steps:
        above[target].append(source)
        below[source].append(target)
    rows = [0.0] * len(layer)
    for column in columns:
        _settle(column, [0.0] * len(column), heights, gap, rows)
    for sweep in range(_SWEEPS):
        near, way = (above, columns) if sweep % 2 == 0 else (below, columns[::-1])
        for column in way:
            wish = [_mean([rows[n] for n in near[v]], rows[v]) for v in column]
            _settle(column, wish, heights, gap, rows)
    top = min((row - tall / 2 for row, tall in zip(rows, heights, strict=True)), default=0.0)
    return [round(row - top, 2) for row in rows]


def _mean(values: Sequence[float], otherwise: float) -> float:
    return sum(values) / len(values) if values else otherwise


def _settle(
    column: Sequence[int], wish: Sequence[float], heights: Sequence[float], gap: float, rows: list[float]
) -> None:
    """Set one column as near to its wishes as can be: pool adjacent violators (Ayer et al., 1955)."""
    offset = 0.0
    offsets: list[float] = []
    pools: list[tuple[float, int]] = []  # mean of wish less offset, how many
    for at, vertex in enumerate(column):
        if at:
            offset += (heights[column[at - 1]] + heights[vertex]) / 2 + gap
        offsets.append(offset)
        mean, count = wish[at] - offset, 1
        while pools and pools[-1][0] >= mean:
            other, more = pools.pop()
            mean = (mean * count + other * more) / (count + more)
            count += more
        pools.append((mean, count))
    settled = [mean for mean, count in pools for _ in range(count)]
    for at, vertex in enumerate(column):
        rows[vertex] = settled[at] + offsets[at]
