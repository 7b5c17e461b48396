"""Where boxes and lines stand: nothing overlaps, lines lead to their parts, rings and bends are drawn too."""

from itertools import pairwise
from random import Random

import pytest

from lineshaft.write.drawing.geometry import Box, Placed, Size
from lineshaft.write.drawing.order import crossings
from lineshaft.write.drawing.placing import placed
from lineshaft.write.drawing.rings import closing

Links = list[tuple[int, int]]


def overlap(one: Box, other: Box) -> bool:
    """Whether two rectangles share more than an edge; a tenth of a pixel is rounding."""
    across = min(one.left + one.width, other.left + other.width) - max(one.left, other.left)
    down = min(one.top + one.height, other.top + other.height) - max(one.top, other.top)
    return across > 0.1 and down > 0.1


def overlapping(boxes: list[Box]) -> list[tuple[Box, Box]]:
    """The pairs that lie on each other, found from top to bottom."""
    found, near = [], list[Box]()
    for box in sorted(boxes, key=lambda box: box.top):
        near = [one for one in near if one.top + one.height > box.top]
        found += [(one, box) for one in near if overlap(one, box)]
        near.append(box)
    return found


def assert_apart(found: Placed) -> None:
    """No box or label lies on another."""
    boxes = [*found.boxes, *found.labels]
    assert overlapping(boxes) == []
    for box in boxes:
        assert box.left >= -0.1
        assert box.top >= -0.1
        assert box.left + box.width <= found.width + 0.1
        assert box.top + box.height <= found.height + 0.1


def laid(count: int, links: Links, seed: int = 0) -> Placed:
    """A layout of boxes of mixed sizes."""
    rng = Random(seed)
    parts = [Size(rng.choice((160, 230)), rng.uniform(60, 170)) for _ in range(count)]
    return placed(parts, links, [Size(rng.uniform(40, 120), 64) for _ in links])


def random_rig(seed: int, count: int) -> Links:
    """Trees with now and then a second line into a part, as combiners have."""
    rng = Random(seed)
    links = [(rng.randrange(max(0, n - 9), n), n) for n in range(1, count) if rng.random() > 0.05]
    for _ in range(count // 12):
        source, target = sorted(rng.sample(range(count), 2))
        links.append((source, target))
    return links


@pytest.mark.parametrize("count", [1, 2, 5, 38, 150])
@pytest.mark.parametrize("seed", range(8))
def test_nothing_overlaps(seed: int, count: int) -> None:
    """From one part to 150, with lines that skip layers and several into one part, all boxes stand apart."""
    assert_apart(laid(count, random_rig(seed, count), seed))


def test_lines_lead_from_part_to_part() -> None:
    """In a chain of three each line begins on the edge of its source and ends on the edge of its target."""
    found = laid(3, [(0, 1), (1, 2)])
    for (source, target), line in zip([(0, 1), (1, 2)], found.lines, strict=True):
        assert found.down
        assert line[0][1] == pytest.approx(found.boxes[source].top + found.boxes[source].height)
        assert line[-1][1] == pytest.approx(found.boxes[target].top)


def through(box: Box, one: tuple[float, float], other: tuple[float, float]) -> bool:
    """Whether a straight line enters a rectangle, by clipping it against the four edges (Liang and Barsky, 1984)."""
    (x, y), (dx, dy) = one, (other[0] - one[0], other[1] - one[1])
    edges = ((-dx, x - box.left), (dx, box.left + box.width - x), (-dy, y - box.top), (dy, box.top + box.height - y))
    first, last = 0.0, 1.0
    for step, room in edges:
        if step == 0:
            if room <= 0.1:
                return False
        elif step < 0:
            first = max(first, room / step)
        else:
            last = min(last, room / step)
    return last - first > 1e-6


@pytest.mark.parametrize("count", [5, 38, 150])
@pytest.mark.parametrize("seed", range(4))
def test_no_line_runs_through_a_part_or_anothers_label(seed: int, count: int) -> None:
    """Lines keep to their own rows and to the space between the layers; only its own label stands on a line."""
    links = random_rig(seed, count)
    found = laid(count, links, seed)
    for number, line in enumerate(found.lines):
        foreign = [box for part, box in enumerate(found.boxes) if part not in links[number]]
        foreign += [box for other, box in enumerate(found.labels) if other != number]
        for one, other in pairwise(line):
            assert not any(through(box, one, other) for box in foreign)


def test_the_clipping_finds_what_is_planted() -> None:
    """A line across a square is found; one along its edge and one beside it are not."""
    square = Box(10, 10, 10, 10)
    assert through(square, (0, 15), (30, 15))
    assert through(square, (5, 5), (25, 25))
    assert not through(square, (0, 10), (30, 10))
    assert not through(square, (0, 0), (30, 5))


def test_power_always_runs_one_way() -> None:
    """However many layers a line skips, it never turns back."""
    found = laid(60, random_rig(3, 60), 3)
    axis = 1 if found.down else 0
    for line in found.lines:
        assert all(one[axis] <= other[axis] + 0.1 for one, other in pairwise(line))


@pytest.mark.parametrize(
    ("links", "closes"),
    [([(0, 1), (1, 2), (2, 0)], {2}), ([(0, 0)], {0}), ([(0, 1), (1, 0), (1, 2), (2, 1)], {1, 3})],
    ids=["ring", "itself", "two rings"],
)
def test_rings_are_drawn_as_stubs(links: Links, closes: set[int]) -> None:
    """The link that leads back is found by hand; its line is a stub of two points, and nothing overlaps."""
    assert closing(3, links) == closes
    found = laid(3, links)
    assert all(len(found.lines[number]) == 2 for number in closes)
    assert_apart(found)


def test_a_tree_has_no_crossing() -> None:
    """Three branches of three written in a mixed order: a tree can be drawn without a crossing, so it is."""
    links = [(0, n) for n in (1, 2, 3)] + [(1 + n % 3, 4 + n) for n in range(9)]
    found = laid(13, links)
    middle = [box.left + box.width / 2 if found.down else box.middle for box in found.boxes]
    layer = [0] + [1] * 3 + [2] * 9
    assert crossings(layer, links, middle) == 0


def test_outlets_keep_their_order() -> None:
    """A part that drives 3, 1 and 2, in this order of its outlets, has them side by side in this order."""
    found = laid(7, [(0, 3), (0, 1), (0, 2), (3, 4), (1, 5), (2, 6)])
    across = [box.left if found.down else box.top for box in found.boxes]
    assert across[3] < across[1] < across[2]
    assert across[4] < across[5] < across[6]


def test_crossings_are_counted() -> None:
    """Two lines that swap their order cross once; three that are turned round cross three times."""
    assert crossings([0, 0, 1, 1], [(0, 3), (1, 2)], [0, 1, 0, 1]) == 1
    assert crossings([0] * 3 + [1] * 3, [(0, 5), (1, 4), (2, 3)], [0, 1, 2, 0, 1, 2]) == 3


def test_wide_rigs_run_across_and_deep_ones_down() -> None:
    """One part that drives twelve is narrower across; a chain of twelve is narrower down."""
    assert not laid(13, [(0, n) for n in range(1, 13)]).down
    assert laid(12, [(n, n + 1) for n in range(11)]).down
