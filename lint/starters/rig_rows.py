"""Rows of a spreadsheet to the text of a rig: a line a part, so that what is wrong with a line is told by its row."""

from typing import Final, NamedTuple

from lineshaft.schema.text.scalar_text import scalar_text, value_text
from lineshaft.starters.spreadsheet import Row, RowFault, Rows, read_rows, with_points, words

COLUMNS: Final = ("part", "item", "driven-by", "ratio", "set", "shares", "grade", "head")
_ALSO: Final = {"name": "part", "parts": "part", "items": "item", "driver": "driven-by", "share": "shares"}


class Sheet(NamedTuple):
    """Lines of a file made from rows, each with the row that it comes from (0: from none), and what is wrong."""

    lines: tuple[tuple[int, str], ...]
    faults: tuple[RowFault, ...]


def rig_sheet(raw: bytes) -> Sheet:
    """The lines from `parts:` on."""
    read = read_rows(raw, COLUMNS, _ALSO)
    faults = list(read.faults)
    lines = [(0, "parts:")]
    seen: dict[str, int] = {}
    for row in read.rows:
        name = row.cells.get("part", "")
        if not name:
            faults.append(RowFault(row.number, "has no part: give each row a name of its own in the column part"))
        elif name in seen:
            message = f"the part {name} stands in row {seen[name]} already: call this one otherwise"
            faults.append(RowFault(row.number, message))
        elif "item" not in row.cells:
            message = f"{name} has no item: write what it is made of; `lineshaft items` lists them"
            faults.append(RowFault(row.number, message))
        else:
            lines.append((row.number, f"  {scalar_text(name)}: {_part(row, read, faults)}{_note(row)}"))
        seen.setdefault(name, row.number)
    if not read.rows and not faults:
        faults.append(RowFault(0, "the file names columns and no part"))
    return Sheet(tuple(lines), tuple(faults))


def _part(row: Row, read: Rows, faults: list[RowFault]) -> str:
    cells = row.cells
    said = [f"item: {scalar_text(cells['item'])}"]
    said += [f"{column}: {scalar_text(cells[column])}" for column in ("grade", "set") if column in cells]
    for column in ("ratio", "head"):
        if column in cells:
            said.append(f"{column}: {number_cell(row, column, read, faults)}")
    if "shares" in cells:
        said.append(f"shares: {_shares(row, read, faults)}")
    if "driven-by" in cells:
        drivers = [scalar_text(word) for word in words(cells["driven-by"], read.decimal_commas)]
        said.append(f"driven-by: {drivers[0] if len(drivers) == 1 else '[' + ', '.join(drivers) + ']'}")
    return "{" + ", ".join(said) + "}"


def number_cell(row: Row, column: str, read: Rows, faults: list[RowFault]) -> str:
    """A cell with a number, as YAML writes it: with a decimal point, and the unit of its column where it has none."""
    text = with_points(row.cells[column])
    if isinstance(text, RowFault):
        faults.append(RowFault(row.number, f"{column}: {text.message}"))
        return value_text(row.cells[column])
    unit = read.units.get(column, "")
    return value_text(f"{text} {unit}" if unit and text.replace(".", "", 1).isdigit() else text)


def _shares(row: Row, read: Rows, faults: list[RowFault]) -> str:
    """`saws 3, yard 5`, also with a colon or an equals sign between."""
    said = []
    for word in words(row.cells["shares"], read.decimal_commas):
        pieces = word.replace(":", " ").replace("=", " ").split()
        weight = with_points(pieces[1]) if len(pieces) == 2 else None
        if not isinstance(weight, str):
            message = f"shares: {word!r} is no outlet with its share: write them as `saws 3, yard 5`"
            faults.append(RowFault(row.number, message))
            continue
        said.append(f"{scalar_text(pieces[0])}: {value_text(weight)}")
    return "{" + ", ".join(said) + "}"


def _note(row: Row) -> str:
    note = "".join(letter for letter in row.cells.get("note", "") if letter.isprintable())
    return f"    # {note}" if note else ""
