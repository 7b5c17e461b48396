"""Geometry over 300 seeded rigs: nothing overlaps, nothing leaves the sheet, frames hold their own parts alone."""

from itertools import pairwise
from random import Random

import pytest
from write.drawing.test_crossings import SEEDS, rig_links, size_of
from write.drawing.test_layers import assert_apart, overlap

from lineshaft.write.drawing.geometry import Box, Group, Placed, Points, Size
from lineshaft.write.drawing.placing import placed
from lineshaft.write.drawing.svg import tabs

Links = list[tuple[int, int]]


def laid(seed: int, groups: list[Group]) -> tuple[Placed, Links]:
    """A seeded rig with cards and labels of mixed sizes."""
    rng, links = Random(seed), rig_links(seed)
    parts = [Size(250, rng.uniform(62, 190)) for _ in range(size_of(seed))]
    return placed(parts, links, [Size(rng.uniform(40, 120), 60) for _ in links], groups), links


def below(links: Links, top: int) -> frozenset[int]:
    """A part and all that hangs on it."""
    found, waiting = {top}, [top]
    for here in waiting:
        for source, target in links:
            if source == here and target not in found:
                found.add(target)
                waiting.append(target)
    return frozenset(found)


def inside(points: Points, x: float, y: float) -> bool:
    """Whether a point lies in a polygon, by the even-odd rule."""
    odd = False
    for (x1, y1), (x2, y2) in zip(points, (*points[1:], points[0]), strict=True):
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) / (y2 - y1) * (x2 - x1):
            odd = not odd
    return odd


def corners(box: Box) -> list[tuple[float, float]]:
    """The four corners of a rectangle."""
    right, low = box.left + box.width, box.top + box.height
    return [(box.left, box.top), (right, box.top), (right, low), (box.left, low)]


@pytest.mark.parametrize("start", range(0, SEEDS, 60))
def test_nothing_overlaps_or_leaves_the_sheet(start: int) -> None:
    """Cards and labels stand apart on the sheet; every line begins at its source's edge and ends at its target's."""
    for seed in range(start, start + 60):
        found, links = laid(seed, [])
        assert_apart(found)
        for (source, target), line in zip(links, found.lines, strict=True):
            first, last = found.boxes[source], found.boxes[target]
            (x1, y1), (x2, y2) = line[0], line[-1]
            assert first.left - 0.1 <= x1 <= first.left + first.width + 0.1
            assert first.top - 0.1 <= y1 <= first.top + first.height + 0.1
            assert last.left - 0.1 <= x2 <= last.left + last.width + 0.1
            assert last.top - 0.1 <= y2 <= last.top + last.height + 0.1


def test_no_two_lines_end_in_one_arrowhead() -> None:
    """The lines into one part end at least 8 px apart."""
    for seed in range(SEEDS):
        found, links = laid(seed, [])
        ends: dict[int, list[tuple[float, float]]] = {}
        for (_, target), line in zip(links, found.lines, strict=True):
            ends.setdefault(target, []).append(line[-1])
        for points in ends.values():
            along = sorted(x + y for x, y in points)
            assert all(later - before >= 8 for before, later in pairwise(along))


def test_frames_hold_their_parts_and_no_others() -> None:
    """A frame round all below a part: its parts lie in it whole, others not at all; its title stands free."""
    drawn = 0
    for seed in range(0, SEEDS, 3):
        links = rig_links(seed)
        sizes = [(len(below(links, part)), part) for part in range(size_of(seed))]
        tops = [part for size, part in sizes if 3 <= size <= 12][:1]
        groups = [Group(below(links, part), 1) for part in tops]
        found, _ = laid(seed, groups)
        assert_apart(found)
        for group, points in zip(groups, found.frames, strict=True):
            if not points:
                continue
            drawn += 1
            for part, box in enumerate(found.boxes):
                within = [inside(points, x, y) for x, y in corners(box)]
                assert all(within) if part in group.parts else not any(within)
            (tab,) = tabs([points])
            assert not any(overlap(tab, box) for box in found.boxes)
            assert tab.top >= -0.1
    assert drawn > 60
