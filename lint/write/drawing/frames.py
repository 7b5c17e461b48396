"""Outlines round groups of parts: stepped, one step a column, so that no stranger stands inside."""

from collections.abc import Sequence
from typing import NamedTuple

from lineshaft.write.drawing.geometry import Box, Group, Net, Points

FRAME_GAP = 26.0
"""Room [px] between rows for the edge and the title of a frame."""
_ALONG, _ASIDE = 3.0, 8.0


class Columns(NamedTuple):
    """A layout as frames need it: its net, boxes, heights of vertices, where lines enter and leave each column."""

    net: Net
    boxes: Sequence[Box]
    heights: Sequence[float]
    ins: Sequence[float]
    outs: Sequence[float]
    route: float


def outline(columns: Columns, rows: Sequence[float], group: Group, deepest: int) -> Points:
    """The corners of a frame, first that where its title stands; none where others stand among the parts."""
    layer = columns.net.layer
    inside = group.parts | _bends(columns.net, group.parts)
    spans: dict[int, tuple[float, float]] = {}
    for vertex in inside:
        half = columns.boxes[vertex].height / 2 if vertex < len(columns.boxes) else columns.heights[vertex] / 2
        low, high = spans.get(layer[vertex], (rows[vertex], rows[vertex]))
        spans[layer[vertex]] = min(low, rows[vertex] - half), max(high, rows[vertex] + half)
    numbers = sorted(spans)
    if not numbers or numbers != list(range(numbers[0], numbers[-1] + 1)) or _strangers(columns, rows, inside, spans):
        return ()
    nested = deepest - group.depth
    aside, along = _ASIDE + nested * (FRAME_GAP - 4), _ALONG + 2 * nested
    upper: list[tuple[float, float]] = []
    lower: list[tuple[float, float]] = []
    for number in numbers:
        left, right = _edges(columns, group, number, numbers, along)
        low, high = spans[number]
        upper += [(left, low - aside), (right, low - aside)]
        lower += [(left, high + aside), (right, high + aside)]
    return (*upper, *reversed(lower))


def _edges(columns: Columns, group: Group, number: int, numbers: Sequence[int], along: float) -> tuple[float, float]:
    boxes = [columns.boxes[part] for part in group.parts if columns.net.layer[part] == number]
    left = columns.ins[number] - columns.route / 2
    right = columns.outs[number] + columns.route / 2
    if number == numbers[0] and boxes:
        left = min(box.left for box in boxes) - along
    if number == numbers[-1] and boxes:
        right = max(box.left + box.width for box in boxes) + along
    return left, right


def _bends(net: Net, parts: frozenset[int]) -> frozenset[int]:
    paths = (path for number, path in enumerate(net.paths) if number not in net.rings)
    return frozenset(bend for path in paths if path[0] in parts and path[-1] in parts for bend in path[1:-1])


def _strangers(
    columns: Columns, rows: Sequence[float], inside: frozenset[int], spans: dict[int, tuple[float, float]]
) -> bool:
    """Whether something else stands in one of the spans."""
    for vertex, column in enumerate(columns.net.layer):
        if vertex in inside or column not in spans:
            continue
        low, high = spans[column]
        half = columns.heights[vertex] / 2
        if rows[vertex] + half > low and rows[vertex] - half < high:
            return True
    return False
