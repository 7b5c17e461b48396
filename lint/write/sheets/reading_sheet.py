"""The readings to take on a build, as a list to print (Markdown) or to fill in (CSV, which an audit reads back)."""

import csv
import io
from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from lineshaft.audit.comparison import Quantity, computed
from lineshaft.audit.reading_places import Place, name_of, places_to_read
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.write.cautions import CAUTIONS
from lineshaft.write.escape import clean, spreadsheet_cell
from lineshaft.write.shown_units import RPM, Units, as_written, figures

COLUMNS = ("at", "torque", "speed", "torque-computed", "speed-computed", "tolerance")
"""What a sheet has, as it is read back; torques and speeds have their unit in the heading."""


class _Row(NamedTuple):
    """A place, and its torque [N*m] and speed in the unit of the sheet: as read, where it was, and as computed."""

    at: str
    read: tuple[float | None, float | None]
    computed: tuple[float | None, float | None]
    tolerance: float | None


def reading_csv(rig: SolvedRig, units: Units) -> bytes:
    """A row a place (RFC 4180), as a spreadsheet opens it."""
    page = io.StringIO(newline="")
    rows = csv.writer(page)
    speed = _speed_unit(units)
    rows.writerow(
        ("at", "torque [N*m]", f"speed [{speed}]", "torque computed [N*m]", f"speed computed [{speed}]", "tolerance")
    )
    for row in _rows(rig, units):
        values = ["" if value is None else as_written(value) for value in (*row.read, *row.computed)]
        tolerance = "" if row.tolerance is None else f"{as_written(row.tolerance * 100)} %"
        rows.writerow((spreadsheet_cell(row.at), *values, tolerance))
    return page.getvalue().encode("utf-8", "backslashreplace")


def reading_markdown(rig: SolvedRig, units: Units) -> bytes:
    """A table to print, with room for what is read."""
    speed = _speed_unit(units)
    lines = [
        f"# Readings to take: {_cell(rig.rig.name or rig.file)}",
        "",
        f"`{_cell(rig.file)}`: at full supply, all in steady state. At an outlet, of a machine at its inlet.",
        "",
        f"| at | torque computed [N·m] | torque read [N·m] | speed computed [{speed}] | speed read [{speed}] |",
        "| --- | ---: | ---: | ---: | ---: |",
    ]
    for row in _rows(rig, units):
        read = ["" if value is None else figures(value) for value in row.read]
        made = ["not solved" if value is None else figures(value) for value in row.computed]
        lines.append(f"| {_cell(row.at)} | {made[0]} | {read[0]} | {made[1]} | {read[1]} |")
    cautions = ["", *CAUTIONS.splitlines()] if rig.policy.cautions else []
    return ("\n".join([*lines, *cautions]) + "\n").encode("utf-8", "backslashreplace")


def _rows(rig: SolvedRig, units: Units) -> Iterator[_Row]:
    factor = RPM if units == "rpm" else 1.0
    taken = {(reading.part, reading.outlet): reading for reading in rig.rig.readings}
    for place in places_to_read(rig):
        reading = taken.get(place)
        torque, speed = (None, None) if reading is None else (reading.torque, reading.speed)
        yield _Row(
            name_of(rig, place),
            (torque, None if speed is None else speed * factor),
            (_computed(rig, place, "torque", 1.0), _computed(rig, place, "speed", factor)),
            None if reading is None else reading.tolerance,
        )


def _computed(rig: SolvedRig, place: Place, quantity: Quantity, factor: float) -> float | None:
    value = computed(rig.parts, rig.flows, *place, quantity)
    return None if value is None else value * factor


def _speed_unit(units: Units) -> str:
    return "rpm" if units == "rpm" else "rad/s"


def _cell(text: str) -> str:
    """A text in a table: no sign of Markdown or HTML in it counts."""
    shown = clean(text)
    return "".join(f"\\{sign}" if sign in "\\`*_|<>[]()#&" else sign for sign in shown)


SHEETS: Mapping[str, Callable[[SolvedRig, Units], bytes]] = {"csv": reading_csv, "markdown": reading_markdown}
