"""Text in the cells of a terminal: its width, that of the terminal, and lines broken where reading allows it."""

import os
import re
import sys
from typing import Final

NARROWEST: Final = 40
"""Columns below which nothing is made narrower."""
_USUAL: Final = 80
# A number and its unit, a ratio, a multiple and what is counted are one word to the eye.
_HELD: Final = (
    r"(?<=[0-9]) (?=(?:[kMGm]?(?:N·m|N\*m|W|L|L/s|Pa)|rad/s|rpm|rev/s|m|mm|s|h|d|min|hp|%|times|:|×)(?![A-Za-z0-9]))"
    r"|(?<=[0-9] :) (?=[0-9])|(?<=line) (?=[0-9])"
)
_COUNTED: Final = r"(?:\A|(?<=, )|(?<=of )|(?<=[a-z]: )|(?<=\())[+-]?[0-9][0-9,]* (?=[a-z])"
_QUOTED: Final = "`[^`]+`"
_GLUE: Final = "\x00"


def page_width() -> int:
    """The columns of the terminal that reads, of ``COLUMNS`` where that is set, 80 where neither says."""
    given = os.environ.get("COLUMNS", "")
    if given.isascii() and given.isdigit() and int(given) > 0:
        return max(NARROWEST, int(given))
    if not sys.stdout.isatty():
        return _USUAL
    try:
        columns = os.get_terminal_size(sys.stdout.fileno()).columns
    except (OSError, ValueError):  # a stream that only says that it is one
        columns = 0
    return max(NARROWEST, columns or _USUAL)


def cells(text: str) -> int:
    """How many cells a text without controls takes; a wide character takes two, one that combines none."""
    if text.isascii():
        return len(text)
    from wcwidth import wcswidth

    return max(wcswidth(text), 0)


def broken_lines(text: str, width: int, first: str = "", rest: str | None = None) -> list[str]:
    """A text in lines of at most so many cells, behind ``first`` and then ``rest``.

    No line ends inside a word or between a number and its unit, nor in what stands in backticks, to be written or run,
    where that fits into a line. Only a word that fills more than a line alone is cut,
    and a place (`file:line:column`) not even then, since a terminal opens it by a click.
    """
    rest = first if rest is None else rest
    if cells(first) + cells(text) <= width and not text.startswith(" "):
        return [first + text]  # as most are: the patterns are compiled where a line is too long
    lines: list[str] = []
    head, line = first, ""
    for shown in held_words(text, width - max(cells(first), cells(rest)) - 1):
        if line and cells(head) + cells(line) + 1 + cells(shown) > width:
            lines.append((head + line).rstrip(" "))
            head, line = rest, ""
        line = f"{line} {shown}" if line else shown
        while cells(head) + cells(line) > width and not _is_place(line):
            cut = _fitting(line, max(width - cells(head), 1))
            lines.append(head + line[:cut])
            head, line = rest, line[cut:]
    return [*lines, head + line] if line or not lines else lines


def held_words(text: str, room: int) -> list[str]:
    """A text as the pieces that no line ends in: words, numbers with their units, and what is to be run, if short."""
    counted = re.sub(_COUNTED, lambda found: found[0][:-1] + _GLUE, text)
    held = re.sub(_QUOTED, lambda found: _glued(found[0], room), re.sub(_HELD, _GLUE, counted))
    return [word.replace(_GLUE, " ") for word in held.split(" ")]


def _glued(text: str, room: int) -> str:
    return text.replace(" ", _GLUE) if len(text) <= room else text


def _is_place(word: str) -> bool:
    return re.search(r":[0-9]+(?::[0-9]+)?\W*\Z", word) is not None


def _fitting(text: str, width: int) -> int:
    """How many characters of a text fit into so many cells; at least one."""
    taken = 0
    for number, letter in enumerate(text):
        taken += cells(letter)
        if taken > width:
            return max(number, 1)
    return len(text)


def padded(text: str, width: int, *, right: bool = False) -> str:
    """A text filled up with spaces to so many cells."""
    space = " " * max(width - cells(text), 0)
    return space + text if right else text + space
