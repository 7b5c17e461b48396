"""Rows to a table of text columns on a page: words to the left, numbers to the right, nothing broken apart.

Where the page is too narrow for the rows as they are, words go on below in their columns; where it is too narrow for
that, each row is told as a paragraph, every cell behind the name of its column.
"""

from collections.abc import Sequence
from typing import Final, NamedTuple

from lineshaft.write.cells import broken_lines, cells, held_words, padded
from lineshaft.write.escape import harmless, visible
from lineshaft.write.ink import Ink
from lineshaft.write.page import ENDLESS, Page

_GAP: Final = "  "
_INDENT: Final = "    "
_TALLEST: Final = 6
"""Lines of one row up to which columns are kept."""


class Toned(NamedTuple):
    """A cell that is written in an ink, for example `error`."""

    text: str
    ink: str


Cell = str | Toned


def table(
    head: Sequence[str],
    rows: Sequence[Sequence[Cell]],
    right: frozenset[int] = frozenset(),
    page: Page = ENDLESS,
    names: Sequence[str] | None = None,
) -> str:
    """The table as lines of text; the columns in ``right`` are set to the right. Every cell is escaped.

    ``names`` are those of the columns where they stand alone, in a paragraph, and not side by side as in ``head``.
    """
    titles, whole = _cleaned(head, rows)
    widths = _widths([titles, *whole], page.width)
    if widths is None:
        told = titles if names is None else [_clean(name) for name in names]
        return "".join(_paragraph(told, row, page) for row in whole)
    lines = _row(titles, widths, right, page.ink, "strong")
    lines.append(page.ink(_GAP.join("-" * width for width in widths), "faint"))
    for row in whole:
        lines += _row(row, widths, right, page.ink)
    return "\n".join(lines) + "\n"


def fits_in_columns(head: Sequence[str], rows: Sequence[Sequence[Cell]], page: Page) -> bool:
    """Whether a page is wide enough for a table's columns, so that it tells no row as a paragraph."""
    titles, whole = _cleaned(head, rows)
    return _widths([titles, *whole], page.width) is not None


def _cleaned(head: Sequence[str], rows: Sequence[Sequence[Cell]]) -> tuple[list[Toned], list[list[Toned]]]:
    return [_clean(cell) for cell in head], [[_clean(cell) for cell in row] for row in rows]


def _clean(cell: Cell) -> Toned:
    text, ink = cell if isinstance(cell, Toned) else (cell, "")
    return Toned(harmless(visible(text)), ink)


def _widths(rows: Sequence[Sequence[Toned]], most: int) -> list[int] | None:
    """The width of each column; none where no choice of them fits into so many cells, or only very tall rows do."""
    columns = range(len(rows[0]))
    widths = [max(cells(row[n].text) for row in rows) for n in columns]
    room = most - len(_GAP) * (len(widths) - 1)
    if sum(widths) <= room:
        return widths
    widths = [min(width, max(room, 1)) for width in widths]
    least = [max(_least(row[n].text, widths[n]) for row in rows) for n in columns]
    if sum(least) > room:
        return None
    while sum(widths) > room:
        # The column that has the most to give is made narrower by a cell.
        n = max(columns, key=lambda column: (widths[column] - least[column], column))
        widths[n] -= 1
    tallest = max(len(_stack(row[n].text, widths[n])) for row in rows for n in columns)
    return widths if tallest <= _TALLEST else None


def _least(text: str, width: int) -> int:
    """The cells that a text takes at least, set in as it is."""
    bare = text.lstrip(" ")
    return len(text) - len(bare) + max(map(cells, held_words(bare, width)))


def _stack(text: str, width: int) -> list[str]:
    """A cell in lines of so many cells, set in as it is."""
    if cells(text) <= width:
        return [text]
    bare = text.lstrip(" ")
    return broken_lines(bare, width, " " * (len(text) - len(bare)))


def _row(row: Sequence[Toned], widths: Sequence[int], right: frozenset[int], ink: Ink, tone: str = "") -> list[str]:
    """One row in as many lines as its tallest cell has."""
    stacks = [_stack(cell.text, width) for cell, width in zip(row, widths, strict=True)]
    lines = []
    for level in range(max(map(len, stacks))):
        shown = [
            _inked(stack[level] if level < len(stack) else "", width, cell.ink or tone, ink, right=n in right)
            for n, (stack, width, cell) in enumerate(zip(stacks, widths, row, strict=True))
        ]
        while shown and not shown[-1].strip():
            shown.pop()
        lines.append(_GAP.join([*shown[:-1], shown[-1].rstrip()]) if shown else "")
    return lines


def _inked(text: str, width: int, tone: str, ink: Ink, *, right: bool) -> str:
    filled = padded(text, width, right=right)
    return filled.replace(text, ink(text, tone), 1) if text and tone else filled


def _paragraph(names: Sequence[Toned], row: Sequence[Toned], page: Page) -> str:
    """A row as its first cell and, below, what the others say."""
    first, *others = row
    said = [f"{name.text} {cell.text}".strip() for name, cell in zip(names[1:], others, strict=True) if cell.text]
    tone = next((cell.ink for cell in row if cell.ink), "")
    lines = broken_lines(first.text.rstrip(), page.width, "", _INDENT)
    lines[0] = page.ink(lines[0], tone or "strong")
    lines += broken_lines("; ".join(said), page.width, _INDENT) if said else []
    return "".join(f"{line}\n" for line in lines)
