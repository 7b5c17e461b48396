"""The order of vertices inside their layers, with few crossings of lines.

Depth-first order first, in which a tree never crosses and the outlets of a part keep their order. Where lines cross all
the same, layers are sorted by the barycentres of their neighbours, down the layers and up again, and the best order met
is taken (Sugiyama, Tagawa, Toda, IEEE Trans. SMC 11, 1981).
"""

from bisect import bisect_right, insort
from collections.abc import Sequence

_SWEEPS = 24


def layer_order(layer: Sequence[int], steps: Sequence[tuple[int, int]]) -> list[float]:
    """A number for each vertex that orders its layer; ``steps`` join neighbouring layers."""
    best = [float(place) for place in _depth_first(layer, steps)]
    fewest = crossings(layer, steps, best)
    for first_down in (True, False) if fewest else ():
        order = best if first_down else [float(place) for place in _depth_first(layer, steps)]
        for sweep in range(_SWEEPS):
            if not fewest:
                break
            order = _by_barycentres(layer, steps, order, down=(sweep % 2 == 0) == first_down)
            found = crossings(layer, steps, order)
            if found < fewest:
                best, fewest = order, found
    return best


def crossings(layer: Sequence[int], steps: Sequence[tuple[int, int]], order: Sequence[float]) -> int:
    """How many pairs of steps between the same two layers cross."""
    by_layer: dict[int, list[tuple[float, float]]] = {}
    for source, target in steps:
        by_layer.setdefault(layer[source], []).append((order[source], order[target]))
    count = 0
    for pairs in by_layer.values():
        ends: list[float] = []
        for _, end in sorted(pairs):
            count += len(ends) - bisect_right(ends, end)
            insort(ends, end)
    return count


def _depth_first(layer: Sequence[int], steps: Sequence[tuple[int, int]]) -> list[int]:
    """The place of each vertex in depth-first order from the vertices that nothing leads to."""
    below: list[list[int]] = [[] for _ in layer]
    led_to = set()
    for source, target in steps:
        below[source].append(target)
        led_to.add(target)
    place = [-1] * len(layer)
    met = 0
    for root in (vertex for vertex in range(len(layer)) if vertex not in led_to):
        way = [root]
        while way:
            here = way.pop()
            if place[here] < 0:
                place[here] = met
                met += 1
                way += reversed(below[here])
    return place


def _by_barycentres(
    layer: Sequence[int], steps: Sequence[tuple[int, int]], order: Sequence[float], *, down: bool
) -> list[float]:
    """Each layer in turn, down or up, sorted by the mean place of its neighbours in the layer before it."""
    near: list[list[int]] = [[] for _ in layer]
    for source, target in steps:
        near[target if down else source].append(source if down else target)
    columns: dict[int, list[int]] = {}
    for vertex in sorted(range(len(layer)), key=lambda vertex: order[vertex]):
        columns.setdefault(layer[vertex], []).append(vertex)
    place = [0.0] * len(layer)
    for number in sorted(columns, reverse=not down):
        column = columns[number]
        for at, vertex in enumerate(column):
            place[vertex] = sum(place[one] for one in near[vertex]) / len(near[vertex]) if near[vertex] else float(at)
        for at, vertex in enumerate(sorted(column, key=lambda vertex: place[vertex])):
            place[vertex] = float(at)
    return place
