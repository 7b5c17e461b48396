"""Readings from the rows of a spreadsheet, on top of those that a rig has: what is wrong is told by its row."""

import re
from typing import Final, NamedTuple

from lineshaft.audit.reading_places import Place, place_of
from lineshaft.schema.model.running import Reading
from lineshaft.schema.quantities.quantity import BadQuantity, QuantityKind, quantity, share
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.starters.spreadsheet import Row, RowFault, Rows, read_rows, with_points
from lineshaft.write.sheets.reading_sheet import COLUMNS

TOLERANCE: Final = 0.02
_ALSO: Final = {"torque-read": "torque", "speed-read": "speed", "read-at": "at", "place": "at"}
_UNITS: Final = {"torque": "N*m", "speed": "rad/s"}
_NUMBER: Final = re.compile(r"[0-9]*\.?[0-9]+(?:[eE][-+]?[0-9]+)?")


class Readings(NamedTuple):
    """The readings of a rig with those of the rows, or what is wrong in which row; never both."""

    readings: tuple[Reading, ...]
    faults: tuple[RowFault, ...]


def readings_from_rows(raw: bytes, rig: SolvedRig) -> Readings:
    """A row is a reading; one without torque and speed was not taken. Where the rig has one too, the row's counts."""
    read = read_rows(raw, COLUMNS, _ALSO)
    faults = list(read.faults)
    taken: dict[Place, Reading] = {}
    rows: dict[Place, int] = {}
    for row in read.rows:
        if not row.cells.keys() & {"torque", "speed"}:
            continue
        place = place_of(rig, row.cells["at"].removeprefix("'")) if "at" in row.cells else "says no place: fill in `at`"
        if isinstance(place, str):
            faults.append(RowFault(row.number, place))
        elif place in taken:
            faults.append(RowFault(row.number, f"the place is read in row {rows[place]} already: keep one of the two"))
        else:
            taken[place] = _reading(row, read, place, faults)
            rows[place] = row.number
    if not taken and not faults:
        faults.append(RowFault(0, "no row has a torque or a speed"))
    if faults:
        return Readings((), tuple(sorted(faults)))
    kept = (one for one in rig.rig.readings if (one.part, one.outlet) not in taken)
    return Readings((*kept, *taken.values()), ())


def _reading(row: Row, read: Rows, place: Place, faults: list[RowFault]) -> Reading:
    torque = _value(row, "torque", "torque", read, faults)
    speed = _value(row, "speed", "speed", read, faults)
    tolerance = TOLERANCE
    if "tolerance" in row.cells:
        text = with_points(row.cells["tolerance"])
        found = share(text, zero=True) if isinstance(text, str) else BadQuantity(text.message)
        if isinstance(found, BadQuantity):
            faults.append(RowFault(row.number, f"tolerance: {found.message}"))
        else:
            tolerance = found
    return Reading((), *place, row.cells["at"], torque, speed, tolerance)


def _value(row: Row, column: str, kind: QuantityKind, read: Rows, faults: list[RowFault]) -> float | None:
    """A torque [N*m] or speed [rad/s]: a number in the unit of its heading, else in SI, or with a unit of its own."""
    if column not in row.cells:
        return None
    text = with_points(row.cells[column])
    if isinstance(text, str):
        unit = read.units.get(column) or _UNITS[column]
        found = quantity(f"{text} {unit}" if _NUMBER.fullmatch(text) else text, kind, zero=True)
    else:
        found = BadQuantity(text.message)
    if isinstance(found, BadQuantity):
        faults.append(RowFault(row.number, f"{column}: {found.message}"))
        return None
    return found
