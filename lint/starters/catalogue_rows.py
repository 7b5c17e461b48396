"""Rows of a spreadsheet to the text of a catalogue: a line an item, so that what is wrong is told by its row.

An item that comes in several ratios has them in one cell or a row for each. Rows of kind `grade` say what a material
carries. Torque, speed and power are what a prime mover gives, and what a driven machine needs.
"""

from typing import Final

from lineshaft.schema.text.scalar_text import scalar_text, value_text
from lineshaft.starters.rig_rows import Sheet, number_cell
from lineshaft.starters.spreadsheet import Row, RowFault, Rows, read_rows, with_points, words

COLUMNS: Final = (
    *("item", "kind", "grade", "ratios", "torque-limit", "speed-limit", "torque", "speed", "power"),
    *("efficiency", "delivered", "outlets", "inlets", "shock", "made-of"),
)
_ALSO: Final = {
    "name": "item", "items": "item", "ratio": "ratios", "grades": "grade", "material": "grade",
    "max-torque": "torque-limit", "max-speed": "speed-limit", "makings": "made-of",
}
_PLAIN: Final = ("efficiency", "delivered", "outlets", "inlets", "shock")
_RATED: Final = ("torque", "speed", "power")


def catalogue_sheet(raw: bytes) -> Sheet:
    """The lines from `grades:` on."""
    read = read_rows(raw, COLUMNS, _ALSO)
    faults = list(read.faults)
    grades = [row for row in read.rows if row.cells.get("kind", "").casefold() == "grade"]
    merged = _merged([row for row in read.rows if row not in grades], faults)
    lines: list[tuple[int, str]] = []
    if grades:
        lines.append((0, "grades:"))
        for row in grades:
            lines.append((row.number, f"  {scalar_text(row.cells.get('item', ''))}: {_grade(row, read, faults)}"))
    lines += [(0, ""), (0, "items:")] if grades else [(0, "items:")]
    known = {row.cells.get("item", "") for row in grades}
    goods: dict[str, int] = {}
    for row, ratios in merged:
        item = _item(row, ratios, read, known, goods, faults)
        lines.append((row.number, f"  {scalar_text(row.cells['item'])}: {item}"))
    if goods:
        lines += [(0, ""), (0, "raw:                          # what one of each costs is for you to say")]
        lines += [(number, f"  {scalar_text(good)}: {{worth: 1}}") for good, number in goods.items()]
    if not read.rows and not faults:
        faults.append(RowFault(0, "the file names columns and no item"))
    return Sheet(tuple(lines), tuple(faults))


def _merged(rows: list[Row], faults: list[RowFault]) -> list[tuple[Row, list[Row]]]:
    """Each item's first row, with all of its rows: further ones bring another ratio and agree in all else."""
    found: dict[str, tuple[Row, list[Row]]] = {}
    for row in rows:
        name = row.cells.get("item", "")
        if not name:
            faults.append(RowFault(row.number, "has no item: give each row a name in the column item"))
        elif "kind" not in row.cells and name not in found:
            kinds = "prime-mover, shaft, gear-stage, right-angle, splitter, combiner, clutch, driven-machine, or grade"
            faults.append(RowFault(row.number, f"{name} has no kind: write {kinds}"))
        elif name not in found:
            found[name] = (row, [row])
        else:
            first = found[name][0]
            found[name][1].append(row)
            others = [c for c, cell in row.cells.items() if c not in ("ratios", "note") and first.cells.get(c) != cell]
            if others or "ratios" not in row.cells:
                at = f"row {first.number}"
                what = f"another {others[0]} than {at}" if others else f"no other ratio than {at}"
                message = f"the item {name} stands there again with {what}: call it otherwise"
                faults.append(RowFault(row.number, message))
    return list(found.values())


def _grade(row: Row, read: Rows, faults: list[RowFault]) -> str:
    if "item" not in row.cells:
        faults.append(RowFault(row.number, "has no item: the name of a grade stands in the column item"))
    said = [f"{c}: {number_cell(row, c, read, faults)}" for c in ("torque-limit", "speed-limit") if c in row.cells]
    if not said:
        faults.append(RowFault(row.number, "says no limit: write what the grade carries as torque-limit, speed-limit"))
    return "{" + ", ".join(said) + "}"


def _item(
    row: Row, all_rows: list[Row], read: Rows, known: set[str], goods: dict[str, int], faults: list[RowFault]
) -> str:
    cells = row.cells
    kind = cells["kind"].casefold().replace(" ", "-").replace("_", "-")
    said = [f"kind: {scalar_text(kind)}"]
    limits = [c for c in ("torque-limit", "speed-limit") if c in cells]
    if "grade" in cells:
        grades = words(cells["grade"], read.decimal_commas)
        if any(grade in known for grade in grades) or not limits:
            many = f"grades: [{', '.join(scalar_text(g) for g in grades)}]"
            said.append(many if len(grades) > 1 else f"grade: {scalar_text(grades[0])}")
            missing = [grade for grade in grades if grade not in known]
            if missing:
                more = f"add a row {missing[0]} of kind grade with its torque-limit and speed-limit"
                faults.append(RowFault(row.number, f"what the grade {missing[0]} carries is said nowhere: {more}"))
    ratios = [word for each in all_rows for word in words(each.cells.get("ratios", ""), read.decimal_commas)]
    if ratios:
        said.append(f"ratios: [{', '.join(_ratio(row, word, faults) for word in ratios)}]")
    rated = ", ".join(f"{c}: {number_cell(row, c, read, faults)}" for c in _RATED if c in cells)
    stood = [f"{c.removesuffix('-limit')}: {number_cell(row, c, read, faults)}" for c in limits]
    if kind == "driven-machine":
        said += [f"limits: {{{', '.join(stood)}}}"] if stood else []
        said += [f"needs: {{{rated}}}"] if rated else []
    else:
        said += [f"{c}: {number_cell(row, c, read, faults)}" for c in limits]
        said += [f"output: {{{rated}}}"] if rated else []
    said += [f"{c}: {number_cell(row, c, read, faults)}" for c in _PLAIN if c in cells]
    if "made-of" in cells:
        said.append(f"made-of: {_made_of(row, read, goods, faults)}")
    return "{" + ", ".join(said) + "}"


def _ratio(row: Row, word: str, faults: list[RowFault]) -> str:
    text = with_points(word)
    if isinstance(text, RowFault):
        faults.append(RowFault(row.number, f"ratios: {text.message}"))
        return scalar_text(word)
    return value_text(text)


def _made_of(row: Row, read: Rows, goods: dict[str, int], faults: list[RowFault]) -> str:
    """`bar 2, gear 3`, also with the number first."""
    said = []
    for word in words(row.cells["made-of"], read.decimal_commas):
        pieces = word.replace(":", " ").replace("=", " ").replace("×", " ").split()
        numbers = [piece for piece in pieces if piece.isdecimal()]
        names = [piece for piece in pieces if not piece.isdecimal()]
        if len(numbers) != 1 or len(names) != 1:
            message = f"made-of: {word!r} is no good with a whole number: write `bar 2, plank 3`"
            faults.append(RowFault(row.number, message))
            continue
        said.append(f"{scalar_text(names[0])}: {numbers[0]}")
        goods.setdefault(names[0], row.number)
    return "{" + ", ".join(said) + "}"
