"""A text as the client has it: its lines and the units of its columns, against places in the file as it is read.

The protocol ends a line at LF, CRLF and a lone CR, and counts a column in UTF-16 code units unless another encoding is
agreed on (LSP 3.17, "Position"). Here a line ends at LF, and a column is a code point.
"""

import re
from bisect import bisect_right
from dataclasses import dataclass, field
from typing import Literal

from lsprotocol import types

from lineshaft.schema.text.span import Position, Span

Encoding = Literal["utf-8", "utf-16", "utf-32"]
_MARK = "\ufeff"


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class ClientText:
    """One version of a text, a byte order mark included where the client sends one."""

    text: str
    encoding: Encoding = "utf-16"
    _client_lines: list[int] = field(default_factory=list)
    _lines: list[int] = field(default_factory=list)

    @property
    def start(self) -> int:
        """Where the file's text begins: behind the byte order mark."""
        return 1 if self.text.startswith(_MARK) else 0

    def raw(self) -> bytes:
        """The text as the file's bytes; half of a surrogate pair, which is no text, stays what it is."""
        return self.text.encode("utf-8", "surrogatepass")

    def line_count(self) -> int:
        """How many lines the client counts."""
        return len(self._starts())

    def index(self, position: types.Position) -> int:
        """The character (code points, from the start of the text) at a client's position; beyond a line, its end."""
        starts = self._starts()
        if position.line >= len(starts):
            return len(self.text)
        start = starts[position.line]
        line = self.text[start : self._end_of(position.line)]
        if self.encoding == "utf-32" or line.isascii():
            return start + min(position.character, len(line))
        passed = 0
        for number, letter in enumerate(line):
            if passed >= position.character:
                return start + number
            passed += self._units(letter)
        return start + len(line)

    def position(self, index: int) -> types.Position:
        """The client's position of a character."""
        starts = self._starts()
        line = bisect_right(starts, index) - 1
        before = self.text[starts[line] : index]
        if self.encoding == "utf-32" or before.isascii():
            return types.Position(line, len(before))
        return types.Position(line, sum(map(self._units, before)))

    def range(self, start: int, end: int) -> types.Range:
        """The client's range between two characters."""
        return types.Range(self.position(start), self.position(end))

    def range_of(self, span: Span) -> types.Range:
        """The client's range of a span in the file; what lies beyond the text ends with it."""
        return self.range(self.index_of(span.start), self.index_of(span.end))

    def index_of(self, position: Position) -> int:
        """The character at a place in the file."""
        if not self._lines:
            self._lines.extend(_starts_at(self.text, "\n"))
        if position.line > len(self._lines):
            return len(self.text)
        start = self._lines[position.line - 1] + (self.start if position.line == 1 else 0)
        return min(start + position.column - 1, len(self.text))

    def with_change(self, change: types.TextDocumentContentChangeEvent) -> "ClientText":
        """The next version, after a change by the client."""
        if isinstance(change, types.TextDocumentContentChangeWholeDocument):
            return ClientText(change.text, self.encoding)
        start, end = sorted((self.index(change.range.start), self.index(change.range.end)))
        return ClientText(self.text[:start] + change.text + self.text[end:], self.encoding)

    def _units(self, letter: str) -> int:
        code = ord(letter)
        if self.encoding == "utf-16":
            return 2 if code > 0xFFFF else 1
        return 1 if code < 0x80 else 2 if code < 0x800 else 3 if code < 0x10000 else 4

    def _end_of(self, line: int) -> int:
        """The end of a line, before what ends it."""
        starts = self._starts()
        if line + 1 == len(starts):
            return len(self.text)
        end = starts[line + 1] - 1
        return end - 1 if self.text[end] == "\n" and self.text[end - 1 : end] == "\r" and end > starts[line] else end

    def _starts(self) -> list[int]:
        if not self._client_lines:
            if "\r" in self.text:
                self._client_lines.append(0)
                self._client_lines.extend(found.end() for found in re.finditer("\r\n|\r|\n", self.text))
            else:
                self._client_lines.extend(_starts_at(self.text, "\n"))
        return self._client_lines


def _starts_at(text: str, ending: str) -> list[int]:
    starts = [0]
    at = text.find(ending)
    while at >= 0:
        starts.append(at + 1)
        at = text.find(ending, at + 1)
    return starts
