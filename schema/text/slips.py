"""Slips of the hand that make a text no YAML, each at its own place, in words for who does not know YAML.

A parser stops where it can go on no more, often lines behind the slip. Here the lines up to there are looked at once
more, one by one, for what people do: a brace or quote left open, a line out of line, a second colon, a tab. It is asked
only where a parser has stopped, so it may take legal but rare YAML for a slip, never the other way round.
"""

import re
import unicodedata
from dataclasses import dataclass, field
from typing import Final, NamedTuple

from lineshaft.schema.text.slips_in_brackets import QUOTED_REST, Slip, left_open, read_flow

_NAME: Final = r"""[^\s"'{\[\]},#&*!|>%@`-][^:\n]*?|-[^\s:][^:\n]*?"""
_KEY: Final = re.compile(rf"""((?:-[ ]+)*)("[^"]*"|'[^']*'|{_NAME})[ ]*:(?=[ ]|$)[ ]*""")
_DASHES: Final = re.compile(r"(?:-(?:[ ]+|$))*")
_BLANK: Final = re.compile(r"[^\S \t]|[\u200b\u2060\ufeff]")
_LONGEST_KEY: Final = 400
_RESERVED: Final = "@`%"
_MOST_SHOWN: Final = 40


def first_slip(text: str, stopped: int) -> Slip | None:
    """The first slip in the lines up to the character at which a parser stopped; none where none is known."""
    look = _Look(text)
    last = text.count("\n", 0, stopped)
    at = 0
    for number, line in enumerate(text.split("\n")):
        look.line(number, at, line.removesuffix("\r"))
        if look.found is not None or number > last:
            break
        at += len(line) + 1
    else:
        look.end()
    return look.found


class _Row(NamedTuple):
    """A line that begins a key or an entry: its number from 0, where its text begins, its column, its words."""

    number: int
    start: int
    column: int
    words: str


@dataclass(slots=True)
class _Look:
    """One look through the lines: the columns that are open, the brackets and quotes that are, the key before."""

    text: str
    rows: list[_Row] = field(default_factory=list)  # one for each column that is open
    brackets: list[int] = field(default_factory=list)
    quote: int | None = None
    before: int = -1  # the number of the line that began an entry last
    valued: bool = False  # the key before has its value on its line
    block: int | None = None  # a block of text (`|`, `>`) goes on while lines stand further right than this
    found: Slip | None = None

    def line(self, number: int, start: int, line: str) -> None:
        """Look at one line; a slip is kept in ``found``."""
        column = len(line) - len(line.lstrip(" "))
        words = line[column:]
        if self.block is not None:
            if not words or column > self.block:
                return
            self.block = None
        if not words or words[0] == "#" or words in ("---", "..."):
            return
        if self.quote is not None or self.brackets:
            self._goes_on(number, start, line, column)
            return
        self.found = _odd_blank(words, start + column)
        if self.found is None:
            self._begins(_Row(number, start + column, column, words))

    def end(self) -> None:
        """What is still open at the end of the text."""
        if self.quote is not None or self.brackets:
            self.found = self._left_open()

    def _left_open(self) -> Slip:
        return left_open(self.text, self.quote if self.quote is not None else self.brackets[-1])

    def _goes_on(self, number: int, start: int, line: str, column: int) -> None:
        """A line inside brackets or quotes that an earlier line opened."""
        outer = self.rows[-1].column if self.rows else 0
        if column <= outer and _KEY.match(line, column, column + _LONGEST_KEY):
            self.found = self._left_open()
        elif self.quote is None:
            self.found = read_flow(self.text, start + column, start + len(line), self.brackets)
        else:
            self.quote = None if QUOTED_REST[self.text[self.quote]].match(line) else self.quote

    def _begins(self, row: _Row) -> None:
        key = _KEY.match(row.words, 0, _LONGEST_KEY)
        dashes = key.group(1) if key else _DASHES.match(row.words).group()  # type: ignore[union-attr]
        goes_on = self.valued and self.rows and row.column > self.rows[-1].column
        if goes_on and not key and not dashes:
            return  # text over several lines
        self.found = self._out_of_line(row, bool(dashes)) or (None if dashes else self._no_dash(row))
        if self.found is not None:
            return
        self._open(row, len(dashes))
        value = row.words[key.end() :] if key else row.words[len(dashes) :]
        at = row.start + (key.end() if key else len(dashes))
        if not key and not dashes and row.words[0] not in "{[]}\"'":
            self.found = _no_colon(row)
        elif value:
            self._value(row, value, at, key.group(2) if key else "")
        self.valued = bool(value) and value[0] not in "#&"
        self.before = row.number

    def _open(self, row: _Row, dashes: int) -> None:
        """Note the columns at which entries and keys of this line begin."""
        while self.rows and self.rows[-1].column > row.column:
            self.rows.pop()
        if not self.rows or self.rows[-1].column < row.column:
            self.rows.append(row)
        if dashes:
            inner = row._replace(column=row.column + dashes, start=row.start + dashes, words=row.words[dashes:])
            self.rows.append(inner)

    def _out_of_line(self, row: _Row, listed: bool) -> Slip | None:
        """A line that stands further right or left than the lines it belongs to."""
        if not self.rows:
            return None
        last = self.rows[-1]
        if row.column > last.column:
            if not self.valued:
                return None
            # A first line that the next two stand beside is the one that is out.
            alone = last.number == self.before and last.column and self._others_stand_at(row)
            return _misplaced(last, row) if alone else _misplaced(row, last)
        open_at = [one for one in self.rows if one.column == row.column]
        if open_at:
            return None
        below = [one for one in self.rows if one.column > row.column]
        entries = [one for one in self.rows if one.words.startswith("- ")]
        if listed and entries:
            return _misplaced(row, entries[-1])
        if self._others_stand_at(row) and below:
            return _misplaced(below[0], row)  # the first line is the one that is out
        left = [one for one in self.rows if one.column < row.column]
        nearest = min([*left, *below], key=lambda one: abs(one.column - row.column))
        return _misplaced(row, nearest if nearest in below else below[0]) if below else None

    def _no_dash(self, row: _Row) -> Slip | None:
        """A line that stands where the entries of a list do, and does not begin as they do."""
        if not any(one.column == row.column and one.words.startswith("- ") for one in self.rows):
            return None
        if row.words[0] == "-":
            message = f"no space stands after the dash; write `- {_short(row.words[1:].lstrip())}`"
            return Slip(row.start, row.start + 1, message)
        instead = f"write `- {_short(row.words)}`"
        message = f"the entries of this list begin with a dash, and `{_name(row.words)}` does not; {instead}"
        return Slip(row.start, row.start + len(_name(row.words)), message)

    def _others_stand_at(self, row: _Row) -> bool:
        """Whether the next line of its own stands where this one does."""
        for line in self.text[row.start :].split("\n")[1:]:
            column = len(line) - len(line.lstrip(" "))
            if line.strip() and not line.lstrip().startswith("#"):
                return column == row.column
        return False

    def _value(self, row: _Row, value: str, at: int, key: str) -> None:
        first = value[0]
        if first in "|>":
            self.block = row.column
        elif first in "{[]}":
            self.found = read_flow(self.text, at, row.start + len(row.words), self.brackets)
        elif first in "\"'":
            self.quote = None if QUOTED_REST[first].match(value, 1) else at
        elif first in _RESERVED:
            instead = f"{key}: " if key else "- "
            message = f'text may not begin with `{first}`; put it in quotes: `{instead}"{_short(value)}"`'
            self.found = Slip(at, at + 1, message)
        elif first not in "#&*!":
            self.found = _second_colon(key, value, at)


def _misplaced(row: _Row, other: _Row) -> Slip:
    """Words for a line that does not line up with another."""
    steps = abs(row.column - other.column)
    name, beside = _name(row.words), _name(other.words)
    do = "take out" if row.column > other.column else "put in"
    message = (
        f"`{name}` does not line up with `{beside}` on line {other.number + 1}: it begins {steps} "
        f"space{'s' if steps != 1 else ''} further {'right' if row.column > other.column else 'left'}; "
        f"{do} {steps} space{'s' if steps != 1 else ''} before {'the dash' if row.words[0] == '-' else f'`{name}`'}"
    )
    return Slip(row.start, row.start + len(name), message)


def _name(words: str) -> str:
    key = _KEY.match(words, 0, _LONGEST_KEY)
    name = key.group(2) if key else words.split(" ", 1)[0]
    return _short(name) if name != "-" else _short(words)


def _no_colon(row: _Row) -> Slip:
    """A line that should be a key and has no colon, or none with a space behind it."""
    words = row.words.split(" #")[0].rstrip()
    head, colon, tail = words.partition(":")
    if colon and tail:
        message = f"no space stands after the colon; write `{_short(head)}: {_short(tail.strip())}`"
        return Slip(row.start + len(head), row.start + len(head) + 1, message)
    key, equals, value = words.partition("=")
    if equals and " " not in key.strip():
        message = f"an equals sign stands where a colon belongs; write `{key.strip()}: {_short(value.strip())}`"
        return Slip(row.start, row.start + len(words), message)
    instead = f"{words}:" if " " not in words else f"{words.split(' ', 1)[0]}: {words.split(' ', 1)[1].strip()}"
    message = f"a colon is missing in this line; write `{_short(instead)}`"
    return Slip(row.start, row.start + len(words), message)


def _second_colon(key: str, value: str, at: int) -> Slip | None:
    """A value of plain text with a colon of its own, or with a bracket closed that was never opened."""
    plain = value.split(" #")[0].rstrip()
    colon = re.search(r":(?=\s|$)", plain)
    if colon is None:
        return None
    if plain.endswith("}") and plain.count("{") < plain.count("}"):
        message = f"the opening brace is missing; write `{key}: {{{_short(plain)}`"
        return Slip(at, at + 1, message)
    ratio = re.match(r"([0-9]+)[ ]*:(?=[ ]|$)[ ]*(.*)", plain)
    if ratio is not None and key.strip().isdigit():
        driven = key.strip() if ratio[1] == "1" else f"{key.strip()}/{ratio[1]}"
        message = f"a ratio has no colon in it, the colon ends the key; write `{driven}: {_short(ratio[2])}`"
        return Slip(at + ratio.start(1), at + ratio.end(1), message)
    message = f'a second colon stands in this value; put the value in quotes: `{key}: "{_short(plain)}"`'
    if re.fullmatch(r"(?:item|blueprint): [\w./-]+", plain):
        message = f"a second colon stands in this line; put braces around what belongs to `{key}`: `{key}: {{{plain}}}`"
    return Slip(at + colon.start(), at + colon.end(), message)


def _odd_blank(words: str, at: int) -> Slip | None:
    """A tab, no-break space or the like where a line begins or behind a key's colon."""
    first = words[0]
    if first == "\t":
        run = len(words) - len(words.lstrip("\t"))
        return Slip(at, at + run, "a tab stands before the text of this line; write spaces in its place")
    if _BLANK.match(words):
        name = unicodedata.name(first, "a character without a name").lower()
        run = next((n for n, c in enumerate(words) if not _BLANK.match(c)), len(words))
        what = f"a {name} (U+{ord(first):04X}) stands before the text of this line"
        return Slip(at, at + run, f"{what}; write ordinary spaces in its place")
    return None


def _short(text: str) -> str:
    return text if len(text) <= _MOST_SHOWN else text[: _MOST_SHOWN - 1] + "…"
