"""What a layout is made of: boxes, sizes, and the net of vertices that lines run through. No text, no rig."""

from itertools import pairwise
from typing import NamedTuple


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


Points = tuple[tuple[float, float], ...]


class Placed(NamedTuple):
    """A box for each part, a box for each link's label, the points of each link's line; the size of it all.

    ``down`` tells whether power runs down the page; else it runs across, and a label's line passes its middle.
    ``frames`` are the corners of the outline round each group of parts that was asked for, none where others stand
    among them.

    A link that closes a ring has two points, a stub in front of its target.
    """

    boxes: tuple[Box, ...]
    labels: tuple[Box, ...]
    lines: tuple[Points, ...]
    width: float
    height: float
    down: bool
    frames: tuple[Points, ...] = ()


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


class Group(NamedTuple):
    """Parts that a frame is drawn round, and how deep it lies inside others, from 1."""

    parts: frozenset[int]
    depth: int
