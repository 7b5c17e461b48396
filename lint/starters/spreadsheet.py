"""A spreadsheet's CSV file to rows of cells by column, with what is wrong told by row: nothing is guessed.

Comma, semicolon or tab; UTF-8 with or without a mark, UTF-16, or the Windows code page that old spreadsheets write.
"""

import csv
import io
import re
from collections.abc import Mapping
from typing import Final, NamedTuple

from lineshaft.schema.text.nearest import nearest

MOST_ROWS: Final = 20_000
_SEPARATORS: Final = ";\t,"
_BLANKS: Final = str.maketrans({"\N{NO-BREAK SPACE}": " ", "\N{NARROW NO-BREAK SPACE}": " ", "\n": " ", "\r": " "})
_UNIT: Final = re.compile(r"(.*?)\s*[\[(]([^\])]*)[\])]\s*")
_DECIMAL_COMMA: Final = re.compile(r"(?<![0-9.,])([0-9]+),([0-9]+)(?![0-9,])")
NOTES: Final = frozenset({"note", "notes", "comment", "comments"})


class RowFault(NamedTuple):
    """What is wrong in a row, counted as the spreadsheet counts: the head is row 1. Row 0 is the whole file."""

    row: int
    message: str


class Row(NamedTuple):
    """A row that is not empty: its number and its filled cells by the name of their column."""

    number: int
    cells: Mapping[str, str]


class Rows(NamedTuple):
    """What was read. ``units`` are those that a heading gives for its whole column, as in `torque-limit [N*m]`."""

    rows: tuple[Row, ...]
    units: Mapping[str, str]
    decimal_commas: bool
    faults: tuple[RowFault, ...]


def read_rows(raw: bytes, columns: tuple[str, ...], also: Mapping[str, str]) -> Rows:
    """The rows of a CSV file under the ``columns`` that may stand there; ``also`` gives other headings for these."""
    text = _text(raw)
    if text is None:
        return _nothing("the file is no text that a spreadsheet writes; save it as CSV in UTF-8")
    text, separator = _separator(text)
    try:
        records = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True))
    except csv.Error as error:
        return _nothing(f"the file is no CSV: {error}; look for a quote that is not closed")
    filled = [(number, cells) for number, cells in enumerate(records, 1) if any(cell.strip() for cell in cells)]
    if not filled:
        return _nothing(f"the file is empty; its first row names the columns: {', '.join(columns)}")
    if len(filled) > MOST_ROWS:
        return _nothing(f"the file has more than {MOST_ROWS:,} rows")
    (head_row, head), *body = filled
    names, units, faults = _heads(head_row, head, columns, also)
    rows = []
    for number, cells in body:
        if any(cell.strip() for cell in cells[len(names) :]):
            faults.append(RowFault(number, f"has {len(cells)} cells, and the head names {len(names)} columns"))
        pairs = ((name, _clean(cell)) for name, cell in zip(names, cells, strict=False))
        rows.append(Row(number, {name: cell for name, cell in pairs if name and cell}))
    return Rows(tuple(rows), units, separator != ",", tuple(faults))


def with_points(text: str) -> str | RowFault:
    """A number with a decimal point; a fault (of row 0) where nobody can tell a decimal comma from a thousands mark."""
    found = _DECIMAL_COMMA.search(text)
    if found is None:
        if re.search(r"[0-9],[0-9]", text):
            message = f"{text!r} has more than one comma or both marks: write a point, and nothing for thousands"
            return RowFault(0, message)
        return text
    whole, rest = found.groups()
    if len(rest) == 3 and whole != "0":
        either = f"{whole}.{rest} or {whole}{rest}"
        return RowFault(0, f"{text!r} may be {either}: write the one you mean, with a decimal point")
    return _DECIMAL_COMMA.sub(r"\1.\2", text)


def words(text: str, decimal_commas: bool) -> list[str]:
    """The entries of a list in one cell, split at semicolons, bars, plus signs, and commas that are no decimals."""
    comma = r",(?![0-9])|(?<![0-9])," if decimal_commas else ","
    return [word for word in (part.strip() for part in re.split(rf"[;|+]|{comma}", text)) if word]


def _text(raw: bytes) -> str | None:
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        encodings = ["utf-16"]
    elif raw[1:2] == b"\0":
        encodings = ["utf-16-le"]
    elif raw[:1] == b"\0":
        encodings = ["utf-16-be"]
    else:
        encodings = ["utf-8-sig", "cp1252"]
    for encoding in encodings:
        try:
            text = raw.decode(encoding)
        except UnicodeDecodeError:
            continue
        return None if "\0" in text else text
    return None


def _separator(text: str) -> tuple[str, str]:
    """The separator that most often stands in the first line outside quotes; some spreadsheets name it themselves."""
    first, _, rest = text.partition("\n")
    named = re.fullmatch(r'"?sep=(.)"?\r?', first)
    if named is not None:
        return rest, named[1]
    while not first.strip() and rest:
        first, _, rest = rest.partition("\n")
    bare = re.sub(r'"[^"]*"', "", first)
    return text, max(_SEPARATORS, key=bare.count) if any(mark in bare for mark in _SEPARATORS) else ","


def _heads(
    row: int, cells: list[str], columns: tuple[str, ...], also: Mapping[str, str]
) -> tuple[list[str], dict[str, str], list[RowFault]]:
    names: list[str] = []
    units: dict[str, str] = {}
    faults: list[RowFault] = []
    for cell in cells:
        text = _clean(cell)
        with_unit = _UNIT.fullmatch(text)
        written, unit = (with_unit[1], with_unit[2].strip()) if with_unit else (text, "")
        name = re.sub(r"[\s_-]+", "-", written.casefold())
        name = also.get(name, name)
        if name in NOTES:
            name = "note"
        elif name and name not in columns:
            near = nearest(name, columns)
            hint = f"did you mean {near[0]}?" if near else f"columns are {', '.join(columns)}, and note"
            faults.append(RowFault(row, f"there is no column {text!r}; {hint}"))
        elif name and name in names:
            faults.append(RowFault(row, f"the column {name} stands there twice"))
        if unit:
            units[name] = unit
        names.append(name)
    return names, units, faults


def _clean(cell: str) -> str:
    return cell.translate(_BLANKS).strip()


def _nothing(message: str) -> Rows:
    return Rows((), {}, False, (RowFault(0, message),))
