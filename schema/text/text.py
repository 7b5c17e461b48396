"""Bytes of a file to text, with its lines.

A line ends at LF or CRLF and at nothing else, as editors and CI runners count; a byte order mark is kept apart
so that columns start behind it and a rewritten file gets it back.
"""

from bisect import bisect_right
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from lineshaft.schema.text.span import Position, Span

if TYPE_CHECKING:  # most files are text
    from lineshaft.schema.text.undecodable import Undecodable

BOM = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class SourceText:
    """One file as read: where it is, how it is shown, and its text without a byte order mark."""

    path: Path
    shown: str
    text: str
    has_bom: bool = False
    _line_starts: list[int] = field(default_factory=list, repr=False, compare=False)

    def lines(self) -> list[int]:
        """The first character of each line, in order; the list is the text's own, so do not change it."""
        starts = self._line_starts
        if not starts:
            starts.append(0)
            at = self.text.find("\n")
            while at >= 0:
                starts.append(at + 1)
                at = self.text.find("\n", at + 1)
        return starts

    def position(self, index: int) -> Position:
        """The position of the character at ``index`` (counted in code points from the start of the text)."""
        starts = self._line_starts or self.lines()
        line = bisect_right(starts, index)
        return Position(line, index - starts[line - 1] + 1)

    def index(self, position: Position) -> int:
        """The inverse of :meth:`position`."""
        return self.lines()[position.line - 1] + position.column - 1

    def span(self, start: int, end: int) -> Span:
        """The span from ``start`` to just before ``end``, both indices of characters."""
        return Span(self.position(start), self.position(end))


def read_text(path: Path, shown: str, raw: bytes) -> "SourceText | Undecodable":
    """Decode ``raw`` strictly as UTF-8, with or without a byte order mark.

    Other encodings, and lines that end in a bare carriage return, are refused with the place where they show.
    """
    has_bom = raw.startswith(BOM)
    body = raw[3:] if has_bom else raw
    top = Span(Position(1, 1), Position(1, 1))
    if body[:2] in (b"\xff\xfe", b"\xfe\xff") or body[:4] == b"\x00\x00\xfe\xff":
        return _refused("the file is UTF-16 or UTF-32; save it as UTF-8", top)
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError as error:
        before = body[: error.start].decode("utf-8")
        line = before.count("\n") + 1
        column = len(before) - (before.rfind("\n") + 1) + 1
        spot = Position(line, column)
        message = f"byte 0x{body[error.start]:02x} is not UTF-8 here; save the file as UTF-8"
        return _refused(message, Span(spot, spot))
    source = SourceText(path, shown, text, has_bom)
    if "\r" in text and text.count("\r") != text.count("\r\n"):
        bare = next(i for i, c in enumerate(text) if c == "\r" and text[i + 1 : i + 2] != "\n")
        message = "a bare carriage return stands here; end lines with LF or CRLF"
        return _refused(message, source.span(bare, bare + 1))
    return source


def _refused(message: str, span: Span) -> "Undecodable":
    from lineshaft.schema.text.undecodable import Undecodable

    return Undecodable(message, span)
