"""The line of a file in which something is wrong, with a mark under the stretch that is meant."""

from typing import Final

from lineshaft.check.finding import Finding
from lineshaft.schema.text.span import Span
from lineshaft.write.cells import cells
from lineshaft.write.escape import harmless, visible
from lineshaft.write.finding_words import place_words
from lineshaft.write.page import Page

_TAB: Final = "    "
_MORE: Final = "…"
_LEAD: Final = 12
"""Cells that are left before the stretch where a line is too long."""


def placed_rule(finding: Finding, page: Page, indent: str) -> list[str]:
    """The place of a finding, to click, and its rule; that on a line of its own where the two fill more than one."""
    place = place_words(finding.file, finding.span)
    apart = "  " if cells(f"{indent}{place}  ({finding.rule})") <= page.width else f"\n{indent}"
    return f"{indent}{page.ink(place, 'faint')}{apart}({finding.rule})".split("\n")


def marked_line(line: str | None, span: Span, level: str, page: Page, indent: str) -> list[str]:
    """A line set in, as it is shown, and the marks below it in the ink of a level; nothing where it is not at hand."""
    if not line or not line.strip():
        return []
    text, marks = source_view(line, span, page.width - len(indent))
    return [f"{indent}{text}", *([f"{indent}{page.ink(marks, level)}"] if marks else [])]


def source_view(line: str, span: Span, width: int) -> tuple[str, str]:
    """The line as it is shown, and the marks that go below it, in at most so many cells each.

    Tabs are shown as four spaces and controls as escapes. A long line is cut around the stretch. No marks go below
    letters that are written from right to left, for no two terminals put those in the same place.
    """
    begin = min(span.start.column - 1, len(line))
    end = len(line) if span.end.line > span.start.line else min(max(span.end.column - 1, begin), len(line))
    pieces = [_shown(line[:begin]), _shown(line[begin:end]), _shown(line[end:])]
    room = width
    if cells("".join(pieces)) > room:
        pieces = _cut(pieces, room)
    before, meant, behind = pieces
    text = f"{before}{meant}{behind}".rstrip()
    import unicodedata  # only where a line is shown

    if any(unicodedata.bidirectional(letter) in ("R", "AL") for letter in text):
        return text, ""
    marks = max(min(cells(meant), room - cells(before)), 1)
    return text, " " * cells(before) + "^" * marks


def _shown(text: str) -> str:
    return harmless(visible(text.replace("\t", _TAB).rstrip("\r")))


def _cut(pieces: list[str], room: int) -> list[str]:
    """The pieces around the stretch that is meant, with an ellipsis where something is left out."""
    before, meant, behind = pieces
    lead = max(room - cells(meant) - 2, _LEAD)
    if cells(before) > lead:
        before = _MORE + _last(before, lead - 1)
    left = room - cells(before)
    if cells(meant) > left:
        return [before, _first(meant, left - 1) + _MORE, ""]
    left -= cells(meant)
    return [before, meant, behind if cells(behind) <= left else _first(behind, left - 1) + _MORE]


def _first(text: str, room: int) -> str:
    taken = 0
    for number, letter in enumerate(text):
        taken += cells(letter)
        if taken > room:
            return text[:number]
    return text


def _last(text: str, room: int) -> str:
    return _first(text[::-1], room)[::-1]
