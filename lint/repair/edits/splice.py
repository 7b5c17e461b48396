"""Edits to text: stretches of a file replaced, every other character kept."""

from collections.abc import Iterable
from typing import NamedTuple

from lineshaft.check.finding import Edit
from lineshaft.schema.text.text import SourceText


class OverlapError(ValueError):
    """Two splices change the same characters."""


class Splice(NamedTuple):
    """The characters from ``start`` to just before ``end`` give way to ``text``."""

    start: int
    end: int
    text: str


def spliced(text: str, splices: Iterable[Splice]) -> str:
    """The text with all splices made. Raises OverlapError where two of them meet in more than a point."""
    pieces: list[str] = []
    at = 0
    for splice in sorted(splices):
        if splice.start < at or splice.end < splice.start:
            raise OverlapError(f"edits overlap at character {splice.start}")
        pieces += (text[at : splice.start], splice.text)
        at = splice.end
    return "".join((*pieces, text[at:]))


def splices_of(source: SourceText, edits: Iterable[Edit]) -> tuple[Splice, ...]:
    """The edits of a file (their spans are its places) as splices of its text."""
    return tuple(
        Splice(source.index(edit.span.start), source.index(edit.span.end), in_line_ends_of(source, edit.text))
        for edit in edits
    )


def in_line_ends_of(source: SourceText, text: str) -> str:
    """New text with the line ends that the file has: CRLF where its first line ends so."""
    first = source.text.find("\n")
    plain = text.replace("\r\n", "\n")
    return plain.replace("\n", "\r\n") if first > 0 and source.text[first - 1] == "\r" else plain
