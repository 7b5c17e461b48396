"""The order of vertices inside their layers, with few crossings of lines.

The layered layout of igraph sets it (barycentres, after Sugiyama, Tagawa, Toda, IEEE Trans. SMC 11, 1981). Where plain
depth-first order, in which a tree never crosses, has fewer crossings, that is taken.
"""

from bisect import bisect_right, insort
from collections.abc import Sequence

_ROUNDS = 200


def layer_order(layer: Sequence[int], steps: Sequence[tuple[int, int]]) -> list[float]:
    """A number for each vertex that orders its layer; ``steps`` join neighbouring layers."""
    met = _depth_first(layer, steps)
    swept = _by_barycentres(layer, steps, met)
    plain = [float(place) for place in met]
    return plain if crossings(layer, steps, plain) < crossings(layer, steps, swept) else swept


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


def _by_barycentres(layer: Sequence[int], steps: Sequence[tuple[int, int]], met: Sequence[int]) -> list[float]:
    import igraph  # a tenth of a second: only where something is drawn

    vertex_at = sorted(range(len(layer)), key=lambda vertex: met[vertex])
    graph = igraph.Graph(n=len(layer), edges=[(met[s], met[t]) for s, t in steps], directed=True)
    layout = graph.layout_sugiyama(layers=[layer[v] for v in vertex_at], hgap=1, vgap=1, maxiter=_ROUNDS)
    return [round(float(layout[place][0]), 6) for place in met]
