"""Rows to a table of text columns: words to the left, numbers to the right, nothing broken."""

from collections.abc import Sequence

from lineshaft.write.escape import harmless, visible


def table(head: Sequence[str], rows: Sequence[Sequence[str]], right: frozenset[int] = frozenset()) -> str:
    """The table as lines of text; the columns in ``right`` are set to the right. Every cell is escaped."""
    clean = [[harmless(visible(cell)) for cell in row] for row in (head, *rows)]
    widths = [max(len(row[column]) for row in clean) for column in range(len(head))]
    lines = []
    for number, row in enumerate(clean):
        cells = [
            cell.rjust(width) if column in right else cell.ljust(width)
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append("  ".join(cells).rstrip())
        if number == 0:
            lines.append("  ".join("-" * width for width in widths))
    return "\n".join(lines) + "\n"
