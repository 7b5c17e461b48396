"""Places in a text: positions, spans, and the route of keys that leads to a value."""

from collections.abc import Iterable
from typing import NamedTuple

Route = tuple[str | int, ...]
"""Keys and list indices from the top of a file to a value."""


class Position(NamedTuple):
    """A place between two characters: line and column count from 1, columns in code points."""

    line: int
    column: int


class Span(NamedTuple):
    """A stretch of text; ``end`` is the position just behind it."""

    start: Position
    end: Position


TOP = Span(Position(1, 1), Position(1, 1))
"""The empty span at the start of a file, for what concerns the file as a whole."""


def pointer(route: Iterable[str | int]) -> str:
    """The route as a JSON Pointer (RFC 6901)."""
    return "".join("/" + str(step).replace("~", "~0").replace("/", "~1") for step in route)
