"""A build sheet as plain data: writers see this and no rig."""

from typing import NamedTuple

from lineshaft.check.finding import Text


class BuildPart(NamedTuple):
    """A part to build: what it is made from, its settings in words, what drives it, its goods, what it is filled with.

    ``driven_by`` has an entry an inlet; ``at`` is its place in the world where the rig gives it.
    """

    name: str
    item: str
    settings: tuple[str, ...]
    driven_by: tuple[str, ...]
    goods: tuple[tuple[str, int], ...]
    lubricant: tuple[Text, ...]
    at: tuple[float, float, float] | None


class Stretch(NamedTuple):
    """Parts in line that are built one behind the other; ``goods`` are those of all of them together."""

    title: str
    parts: tuple[BuildPart, ...]
    goods: tuple[tuple[str, int], ...]
    tanks: tuple[Text, ...]


class StartStep(NamedTuple):
    """One step of the start: what it does, what it breaks (empty where it is nothing), whether it is done already."""

    does: Text
    breaks: Text
    done: bool


class BuildSheet(NamedTuple):
    """A rig as a list to build by: what to gather and make first, then its stretches from the prime movers outward.

    Then how it is started, or ``no_start``: why it cannot be. ``solved`` is false where a part could not be solved.
    """

    file: str
    name: str
    raw: tuple[tuple[str, int], ...]
    making: tuple[tuple[str, int, int], ...]
    stretches: tuple[Stretch, ...]
    start_up: tuple[StartStep, ...]
    no_start: Text
    solved: bool
    cautions: bool
