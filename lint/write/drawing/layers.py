"""Where boxes and lines stand: in layers from what drives to what is driven, by Sugiyama's layered method.

Layers by the longest way from a prime mover; then the order inside them (`order`), then the distances (`spacing`).
Boxes may differ in size. Pure geometry: sizes in, places out; no text, no rig.
"""

from collections import Counter
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from lineshaft.write.drawing.order import layer_order
from lineshaft.write.drawing.rings import closing
from lineshaft.write.drawing.spacing import spread

ROW_GAP = 18.0
ROUTE = 38.0
"""Width [px] in which lines go from row to row between two columns."""
_PAD = 8.0
BESIDE = 7.0
"""Distance [px] of a label from the line that it stands beside."""
_BEND = 20.0
"""Height [px] that is kept free for a line that passes a column."""


class Box(NamedTuple):
    """A rectangle [px]."""

    left: float
    top: float
    width: float
    height: float

    @property
    def middle(self) -> float:
        """The height at which lines come and go."""
        return self.top + self.height / 2


class Size(NamedTuple):
    """Width and height [px]."""

    width: float
    height: float


class Placed(NamedTuple):
    """A box for each part, a box for each link's label, the points of each link's line; the size of it all.

    ``down`` tells whether power runs down the page; else it runs across, and a label's line passes its middle.

    A link that closes a ring has two points, a stub in front of its target.
    """

    boxes: tuple[Box, ...]
    labels: tuple[Box, ...]
    lines: tuple[tuple[tuple[float, float], ...], ...]
    width: float
    height: float
    down: bool


class Net(NamedTuple):
    """The links as paths through one vertex a column: parts first, then the bends of links that skip columns.

    ``spots`` are the vertices in whose rows the labels stand; ``rings`` the links that close a ring.
    """

    layer: list[int]
    paths: list[list[int]]
    spots: list[int]
    rings: frozenset[int]

    @property
    def steps(self) -> list[tuple[int, int]]:
        """The pieces of the paths, each from a column to the next."""
        return [pair for number, path in enumerate(self.paths) if number not in self.rings for pair in pairwise(path)]


class _Grid(NamedTuple):
    """Of each column the left edge of its parts, and where lines leave and arrive; the middle of each row."""

    lefts: list[float]
    outs: list[float]
    ins: list[float]
    rows: Sequence[float]
    width: float


def placed(parts: Sequence[Size], links: Sequence[tuple[int, int]], labels: Sequence[Size]) -> Placed:
    """Places for parts and labels. A label stands before its target, or behind its source where several lines meet.

    Power runs down the page or across it, from left to right, whichever makes the narrower page.
    """
    net = net_of(len(parts), links)
    if not _down_is_narrower(net, parts, labels):
        return _across(net, parts, labels)
    # Down is across with the axes changed; a label stands beside its line then, so its cell is twice as wide.
    turned = [Size(size.height, size.width) for size in parts]
    beside = [Size(size.height, 2 * (size.width + BESIDE)) for size in labels]
    found = _across(net, turned, beside)
    return Placed(
        tuple(Box(box.top, box.left, box.height, box.width) for box in found.boxes),
        tuple(
            Box(box.middle + BESIDE, box.left, size.width, size.height)
            for box, size in zip(found.labels, labels, strict=True)
        ),
        tuple(tuple((y, x) for x, y in line) for line in found.lines),
        found.height,
        found.width,
        True,
    )


def _down_is_narrower(net: Net, parts: Sequence[Size], labels: Sequence[Size]) -> bool:
    widest = max((size.width for size in parts), default=0.0)
    label = max((size.width for size in labels), default=0.0)
    abreast = Counter(net.layer)  # bends too: a line that passes takes room
    down = max(abreast.values(), default=0) * (widest + ROW_GAP)
    return down <= len(abreast) * (widest + label + 2 * _PAD + ROUTE)


def _across(net: Net, parts: Sequence[Size], labels: Sequence[Size]) -> Placed:
    heights = _heights(parts, labels, net)
    rows = spread(net.layer, net.steps, layer_order(net.layer, net.steps), heights, ROW_GAP)
    grid = _grid(parts, labels, net, rows)
    boxes = tuple(
        Box(grid.lefts[net.layer[number]], rows[number] - size.height / 2, size.width, size.height)
        for number, size in enumerate(parts)
    )
    every = range(len(labels))
    lines = tuple(_line(number, net, boxes, grid) for number in every)
    spots = tuple(_label_box(number, labels, net, boxes, grid) for number in every)
    height = max((row + tall / 2 for row, tall in zip(rows, heights, strict=True)), default=0.0)
    return Placed(boxes, spots, lines, grid.width, height, False)


def net_of(count: int, links: Sequence[tuple[int, int]]) -> Net:
    """The links (source, target) of so many parts, laid out in columns."""
    rings = closing(count, links)
    below: list[list[int]] = [[] for _ in range(count)]
    ins = [0] * count
    for number, (source, target) in enumerate(links):
        if number not in rings:
            below[source].append(target)
            ins[target] += 1
    layer, waiting = [0] * count, ins[:]
    ready = [number for number in range(count) if not waiting[number]]
    for here in ready:
        for target in below[here]:
            # Between a part with several outlets and one with several inlets the label needs a column of its own.
            length = 2 if len(below[here]) > 1 and ins[target] > 1 else 1
            layer[target] = max(layer[target], layer[here] + length)
            waiting[target] -= 1
            if not waiting[target]:
                ready.append(target)
    paths, spots = [], []
    for number, (source, target) in enumerate(links):
        bends = [] if number in rings else range(layer[source] + 1, layer[target])
        path = [source, *range(len(layer), len(layer) + len(bends)), target]
        layer += bends
        paths.append(path)
        alone = number in rings or ins[target] == 1
        spots.append(target if alone else path[1] if len(below[source]) > 1 else source)
    return Net(layer, paths, spots, rings)


def _heights(parts: Sequence[Size], labels: Sequence[Size], net: Net) -> list[float]:
    heights = [size.height for size in parts] + [_BEND] * (len(net.layer) - len(parts))
    stacked: dict[int, float] = {}
    for number, size in enumerate(labels):
        at = net.spots[number]
        stacked[at] = stacked.get(at, 0.0) + size.height
        heights[at] = max(heights[at], stacked[at])
    return heights


def _grid(parts: Sequence[Size], labels: Sequence[Size], net: Net, rows: Sequence[float]) -> _Grid:
    count = max(net.layer, default=0) + 1
    wide, before, behind = [0.0] * count, [0.0] * count, [0.0] * count
    for number, size in enumerate(parts):
        wide[net.layer[number]] = max(wide[net.layer[number]], size.width)
    for number, size in enumerate(labels):
        spot, path = net.spots[number], net.paths[number]
        zone = before if spot == path[-1] else behind if spot == path[0] else wide
        zone[net.layer[spot]] = max(zone[net.layer[spot]], size.width + 2 * _PAD)
    grid = _Grid([], [], [], rows, 0.0)
    x = 0.0
    for column in range(count):
        grid.ins.append(x)
        grid.lefts.append(x + before[column])
        grid.outs.append(grid.lefts[-1] + wide[column] + behind[column])
        x = grid.outs[-1] + ROUTE
    return grid._replace(width=grid.outs[-1])


def _line(number: int, net: Net, boxes: Sequence[Box], grid: _Grid) -> tuple[tuple[float, float], ...]:
    path = net.paths[number]
    source, target = path[0], path[-1]
    end = (boxes[target].left, grid.rows[target])
    if number in net.rings:
        return ((grid.ins[net.layer[target]], grid.rows[target]), end)
    points = [(boxes[source].left + boxes[source].width, grid.rows[source])]
    for here, there in pairwise(path):
        points += [(grid.outs[net.layer[here]], grid.rows[here]), (grid.ins[net.layer[there]], grid.rows[there])]
    points.append(end)
    return tuple(point for at, point in enumerate(points) if at == 0 or point != points[at - 1])


def _label_box(number: int, labels: Sequence[Size], net: Net, boxes: Sequence[Box], grid: _Grid) -> Box:
    size, spot, path = labels[number], net.spots[number], net.paths[number]
    top = grid.rows[spot] - size.height / 2
    if spot == path[0] and number not in net.rings:
        return Box(boxes[spot].left + boxes[spot].width + _PAD, top, size.width, size.height)
    if spot != path[-1]:
        return Box(grid.lefts[net.layer[spot]] + _PAD, top, size.width, size.height)
    ends = enumerate(net.spots) if net.rings else ()
    stack = [other for other, at in ends if at == spot and net.paths[other][-1] == spot]
    if len(stack) > 1:  # a line and rings that end in one part: one below the other
        above = sum(labels[other].height for other in stack if other < number)
        top = grid.rows[spot] - sum(labels[other].height for other in stack) / 2 + above
    return Box(boxes[spot].left - _PAD - size.width, top, size.width, size.height)
