"""The rows of the table of trust: a figure, what it should be, what it is now, and the seeds it was taken with."""

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple


class Row(NamedTuple):
    """One figure. ``seed`` is what gives the same figure again: seeds, a range, or the command's options."""

    figure: str
    goal: str
    now: str
    seed: str
    holds: bool


class Form(NamedTuple):
    """How much is asked: the short form that every change runs, or the long one; where the long one goes on from."""

    long: bool = False
    first: int = 0

    def of(self, short: int, long: int) -> int:
        """The number for this form."""
        return long if self.long else short


Rows = Callable[[Form], Iterator[Row]]
"""What a module of the table offers: its rows, as they are done."""


def as_markdown(rows: Sequence[Row]) -> str:
    """The table, its columns as wide as their widest cell."""
    cells = [("figure", "goal", "now", "seed"), *((row.figure, row.goal, _now(row), row.seed) for row in rows)]
    widths = [max(map(len, column)) for column in zip(*cells, strict=True)]
    lines = [_line(row, widths) for row in cells]
    return "\n".join([lines[0], _line(["-" * width for width in widths], widths), *lines[1:]]) + "\n"


def _now(row: Row) -> str:
    return row.now if row.holds else f"{row.now} (missed)"


def _line(cells: Sequence[str], widths: Sequence[int]) -> str:
    return f"| {' | '.join(cell.ljust(width) for cell, width in zip(cells, widths, strict=True))} |"
