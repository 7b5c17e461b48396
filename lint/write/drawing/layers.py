"""Where boxes and lines stand: in layers from what drives to what is driven, by Sugiyama's layered method.

Layers by the longest way from a prime mover; then the order inside them (`order`), then the distances (`spacing`).
Boxes may differ in size. Pure geometry: sizes in, places out; no text, no rig.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from lineshaft.write.drawing.frames import FRAME_GAP, Columns, outline
from lineshaft.write.drawing.geometry import Box, Group, Net, Placed, Points, Size
from lineshaft.write.drawing.order import layer_order
from lineshaft.write.drawing.ports import Ports, ports_of
from lineshaft.write.drawing.rings import closing
from lineshaft.write.drawing.spacing import spread

ROW_GAP = 18.0
ROUTE = 34.0
"""Width [px] in which lines go from row to row between two columns."""
PAD = 8.0
BESIDE = 15.0
"""Distance [px] of a label from the line that it stands beside."""
_BEND = 20.0
"""Height [px] that is kept free for a line that passes a column."""


class _Grid(NamedTuple):
    """Of each column the left edge of its parts, and where lines leave and arrive; the middle of each row."""

    lefts: list[float]
    outs: list[float]
    ins: list[float]
    rows: Sequence[float]
    width: float


def across(
    net: Net, parts: Sequence[Size], labels: Sequence[Size], groups: Sequence[Group] = ()
) -> Placed:
    """Places for parts and labels, with power from left to right.

    A label stands before its target, or behind its source where several lines meet.
    """
    heights = _heights(parts, labels, net)
    deepest = max((group.depth for group in groups), default=0)
    gap = ROW_GAP + FRAME_GAP * deepest
    rows = spread(net.layer, net.steps, layer_order(net.layer, net.steps), heights, gap)
    top = FRAME_GAP * deepest
    rows = [row + top for row in rows]
    grid = _grid(parts, labels, net, rows, top and FRAME_GAP)
    boxes = tuple(
        Box(grid.lefts[net.layer[number]], rows[number] - size.height / 2, size.width, size.height)
        for number, size in enumerate(parts)
    )
    every = range(len(labels))
    ports = ports_of(net, [size.height for size in parts], rows)
    lines = tuple(_line(number, net, boxes, grid, ports) for number in every)
    spots = tuple(_label_box(number, labels, net, boxes, grid) for number in every)
    height = max((row + tall / 2 for row, tall in zip(rows, heights, strict=True)), default=0.0)
    columns = Columns(net, boxes, heights, grid.ins, grid.outs, ROUTE)
    frames = tuple(outline(columns, rows, group, deepest) for group in groups)
    return Placed(boxes, spots, lines, grid.width, height + (FRAME_GAP * deepest) / 2, False, frames)


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


def _grid(parts: Sequence[Size], labels: Sequence[Size], net: Net, rows: Sequence[float], lead: float) -> _Grid:
    count = max(net.layer, default=0) + 1
    wide, before, behind = [0.0] * count, [0.0] * count, [0.0] * count
    for number, size in enumerate(parts):
        wide[net.layer[number]] = max(wide[net.layer[number]], size.width)
    for number, size in enumerate(labels):
        spot, path = net.spots[number], net.paths[number]
        zone = before if spot == path[-1] else behind if spot == path[0] else wide
        zone[net.layer[spot]] = max(zone[net.layer[spot]], size.width + 2 * PAD)
    grid = _Grid([], [], [], rows, 0.0)
    x = lead
    for column in range(count):
        grid.ins.append(x)
        grid.lefts.append(x + before[column])
        grid.outs.append(grid.lefts[-1] + wide[column] + behind[column])
        x = grid.outs[-1] + ROUTE
    return grid._replace(width=grid.outs[-1])


def _line(number: int, net: Net, boxes: Sequence[Box], grid: _Grid, ports: Ports) -> Points:
    path = net.paths[number]
    source, target = path[0], path[-1]
    end = (boxes[target].left, grid.rows[target])
    if number in net.rings:
        return ((grid.ins[net.layer[target]], grid.rows[target]), end)
    leaves, arrives = grid.rows[source] + ports.out[number], grid.rows[target] + ports.into[number]
    rows = [leaves, *(grid.rows[bend] for bend in path[1:-1]), arrives]
    points = [(boxes[source].left + boxes[source].width, leaves)]
    for (here, from_row), (there, to_row) in pairwise(zip(path, rows, strict=True)):
        points += [(grid.outs[net.layer[here]], from_row), (grid.ins[net.layer[there]], to_row)]
    points.append((end[0], arrives))
    return tuple(point for at, point in enumerate(points) if at == 0 or point != points[at - 1])


def _label_box(number: int, labels: Sequence[Size], net: Net, boxes: Sequence[Box], grid: _Grid) -> Box:
    size, spot, path = labels[number], net.spots[number], net.paths[number]
    top = grid.rows[spot] - size.height / 2
    if spot == path[0] and number not in net.rings:
        return Box(boxes[spot].left + boxes[spot].width + PAD, top, size.width, size.height)
    if spot != path[-1]:
        return Box(grid.lefts[net.layer[spot]] + PAD, top, size.width, size.height)
    ends = enumerate(net.spots) if net.rings else ()
    stack = [other for other, at in ends if at == spot and net.paths[other][-1] == spot]
    if len(stack) > 1:  # a line and rings that end in one part: one below the other
        above = sum(labels[other].height for other in stack if other < number)
        top = grid.rows[spot] - sum(labels[other].height for other in stack) / 2 + above
    return Box(boxes[spot].left - PAD - size.width, top, size.width, size.height)
