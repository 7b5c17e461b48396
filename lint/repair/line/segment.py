"""A segment as plain data: what enters it, the parts that stay, and what may be put in. It knows no rig and no file."""

from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from lineshaft.schema.model.catalogue import Direction
from lineshaft.schema.quantities.ratio import Ratio

ENDLESS = float("inf")
MOST_STAGES = 4
"""Most stages in line, unless a line has as many already."""
MOST_LINES = 8
"""Most lines side by side."""


class Make(NamedTuple):
    """An item in a grade: what it stands [N*m, rad/s], its efficiency, and its weight (see `prices`).

    ``part`` is the part of the rig that it is, as it stands; ``once`` a bit of its own where it can be had only once.
    ``copy`` is the weight of one more of it beside itself, none where it cannot stand in lines side by side.
    """

    item: str
    grade: str | None
    torque: float = ENDLESS
    speed: float = ENDLESS
    efficiency: float = 1.0
    weight: int = 0
    part: int | None = None
    once: int = 0
    copy: int | None = None


class Kept(NamedTuple):
    """A part that stays in its place: the makes it may be, and what it does to a speed.

    Of ``makes``, one or more, the part as it is comes first, then others, lightest first. ``clear``: a stage below it
    may still undo a stage above it.
    """

    number: int
    makes: tuple[Make, ...]
    turning: Fraction = Fraction(1)
    clear: bool = True


class Stage(NamedTuple):
    """A stage that can be had: its make, ratio and direction."""

    make: Make
    ratio: Ratio
    direction: Direction

    @property
    def gain(self) -> Fraction:
        """Speed out for speed in, exactly."""
        return _gain(self.ratio.terms, self.direction)


@lru_cache(maxsize=4096)
def _gain(terms: tuple[int, int], direction: Direction) -> Fraction:
    return Fraction(*terms) if direction == "increase" else Fraction(*terms[::-1])


class End(NamedTuple):
    """A splitter or combiner that can be had: its makes, efficiency, weight, and what it offers.

    ``ends`` is the number of its outlets or inlets, none where it takes any; ``rows`` are a splitter's shares, none
    where it takes any.
    """

    item: str
    makes: tuple[Make, ...]
    efficiency: float = 1.0
    weight: int = 0
    ends: int | None = None
    rows: tuple[tuple[float, ...], ...] | None = None


class Stock(NamedTuple):
    """What a catalogue offers for lines."""

    stages: tuple[Stage, ...]
    splitters: tuple[End, ...] = ()
    combiners: tuple[End, ...] = ()


class Segment(NamedTuple):
    """A segment: the head's torque [N*m] between a least and a most (the same where it is known), its speed [rad/s].

    ``kept`` are the parts that stay, in driving order; ``stages`` and ``lines`` the most stages in line and lines side
    by side. ``gaps`` tells how far a stage in a gap (before so many kept parts) is from where the line has its stages.
    ``undone`` are gains that the line as it stands gives and takes back: no other is taken back. ``ended``: the last of
    ``kept`` is what the line ends at, so nothing is put in behind it. ``straight``: what gears up and down again is
    asked for only while nothing is shown that costs no more and has no more parts.
    """

    torque: tuple[float, float]
    speed: float
    kept: tuple[Kept, ...] = ()
    stages: int = MOST_STAGES
    lines: int = MOST_LINES
    gaps: tuple[int, ...] = ()
    undone: frozenset[Fraction] = frozenset()
    ended: bool = False
    straight: bool = False
