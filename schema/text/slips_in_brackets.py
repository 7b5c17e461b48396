"""Slips inside braces, square brackets and quotes: left open, closed by another, a comma that is missing."""

import re
from typing import Final, NamedTuple

_PAIRS: Final = {"}": "{", "]": "["}
_CLOSERS: Final = {"{": "}", "[": "]"}
_NAMES: Final = {"{": "brace", "[": "square bracket", '"': "double quote", "'": "single quote"}
_TWO_KEYS: Final = re.compile(r"([^\s,{}\[\]\"':;]+):[ ]+([^,{}\[\]\"':;]*?)([ ;]+)([^\s,{}\[\]\"':;]+):[ ]")
QUOTED_REST: Final = {'"': re.compile(r'(?:[^"\\]|\\.)*+"'), "'": re.compile("(?:[^']|'')*+'")}
"""By a quote: what is left of the text in it and the quote that closes it."""
_NEAR: Final = 300
_MOST_SHOWN: Final = 40


class Slip(NamedTuple):
    """What a person wrote by mistake: its first and behind-last character, and words for it."""

    start: int
    end: int
    message: str


def read_flow(text: str, start: int, end: int, brackets: list[int]) -> Slip | None:
    """Follow brackets and quotes from ``start`` to the end of a line; ``brackets`` holds those that are open.

    A slip where there is one, a quote that is left open among them, or nothing.
    """
    at = start
    while at < end:
        letter = text[at]
        if letter in "\"'" and text[at - 1] in " ,[{\n":
            closed = QUOTED_REST[letter].match(text, at + 1, end)
            if closed is None:
                return left_open(text, at)
            at = closed.end()
            continue
        if letter == "#" and text[at - 1] == " ":
            return None
        if letter in "{[":
            brackets.append(at)
        elif letter in "}]":
            slip = _closed(text, at, start, brackets)
            if slip is not None:
                return slip
        at += 1
        if brackets and text[at - 1] in "{, " and text[at - 2] in "{,\n :":
            found = _TWO_KEYS.match(text, at, min(end, at + _NEAR))
            if found is not None:
                return _no_comma(found)
    return None


def _closed(text: str, at: int, start: int, brackets: list[int]) -> Slip | None:
    """A closing bracket: nothing where it closes the last that is open."""
    letter = text[at]
    if not brackets:
        return Slip(at, at + 1, f"this `{letter}` closes nothing that is open; take it out")
    opened = brackets.pop()
    if text[opened] == _PAIRS[letter]:
        return None
    wanted = _CLOSERS[text[opened]]
    here = f"column {opened - (text.rfind(chr(10), 0, opened) + 1) + 1}"
    message = f"`{letter}` stands here, and what is open is the {_NAMES[text[opened]]} at {here}; write `{wanted}`"
    return Slip(at, at + 1, message)


def _no_comma(found: re.Match[str]) -> Slip:
    key, value, between, following = found.groups()
    instead = f"{key}: {value.strip()}, {following}: …"
    if ";" in between:
        at = found.start(3) + between.index(";")
        return Slip(at, at + 1, f"a `;` stands here; entries in braces have a comma between them: `{instead}`")
    at = found.start(4)
    return Slip(at, found.end(4), f"a comma is missing before `{following}`; write `{instead}`")


def left_open(text: str, opened: int) -> Slip:
    """A bracket or quote that is never closed, told where it was opened."""
    mark = text[opened]
    name = _NAMES[mark]
    closer = _CLOSERS.get(mark, mark)
    line = text[opened:].split("\n", 1)[0].rstrip()
    instead = f"{line}{closer}" if len(line) < _MOST_SHOWN else f"{line[: _MOST_SHOWN - 1]}…{closer}"
    message = f"the {name} that opens here is not closed; write `{closer}` where it ends, as in `{instead}`"
    return Slip(opened, opened + 1, message)
