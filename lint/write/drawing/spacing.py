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
    tall = [[heights[v] for v in column] for column in columns]
    for column, sizes in zip(columns, tall, strict=True):
        _set(rows, column, settled([0.0] * len(column), sizes, gap))
    for sweep in range(_SWEEPS):
        near, way = (above, range(len(columns))) if sweep % 2 == 0 else (below, range(len(columns))[::-1])
        for at in way:
            wish = [_mean([rows[n] for n in near[v]], rows[v]) for v in columns[at]]
            _set(rows, columns[at], settled(wish, tall[at], gap))
    top = min((row - height / 2 for row, height in zip(rows, heights, strict=True)), default=0.0)
    return [round(row - top, 2) for row in rows]


def _set(rows: list[float], column: Sequence[int], places: Sequence[float]) -> None:
    for vertex, place in zip(column, places, strict=True):
        rows[vertex] = place


def _mean(values: Sequence[float], otherwise: float) -> float:
    return sum(values) / len(values) if values else otherwise


def settled(wish: Sequence[float], heights: Sequence[float], gap: float) -> list[float]:
    """Places in this order, none nearer to the next than its height and a gap, as near to the wishes as can be.

    Least squares by pooling adjacent violators (Ayer et al., 1955).
    """
    offset = 0.0
    offsets: list[float] = []
    pools: list[tuple[float, int]] = []  # mean of wish less offset, how many
    for at, wanted in enumerate(wish):
        if at:
            offset += (heights[at - 1] + heights[at]) / 2 + gap
        offsets.append(offset)
        mean, count = wanted - offset, 1
        while pools and pools[-1][0] >= mean:
            other, more = pools.pop()
            mean = (mean * count + other * more) / (count + more)
            count += more
        pools.append((mean, count))
    means = [mean for mean, count in pools for _ in range(count)]
    return [mean + offset for mean, offset in zip(means, offsets, strict=True)]
