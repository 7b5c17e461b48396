"""The tables of one rig in the report: machines, items, lubricants, the bill."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from lineshaft.check.finding import Measure, power, speed, torque
from lineshaft.report_model.record import MachineRow, ReportModel
from lineshaft.write.shown_units import Units, duration, figures, hourly, measure


class TableView(NamedTuple):
    """A table: names in its first column, numbers in the others."""

    title: str
    head: Sequence[str]
    rows: Sequence[Sequence[str]]


def tables_of(found: ReportModel, units: Units) -> Iterator[TableView]:
    """The tables of a rig; those with no rows have nothing to show."""
    yield _machines(found, units)
    yield _lubricants(found)
    yield _items(found)
    yield _bill(found)


def _machines(found: ReportModel, units: Units) -> TableView:
    head = ("machine", "item", "gets", "needs", "makes an hour", "headroom over needs", "share of its limits")
    rows = [
        [
            one.name,
            one.item,
            _loads(one.gets, units) if one.solved else "not solved",
            _loads(one.needs, units) or "nothing",
            _made(one),
            "" if one.times_needed is None else f"{figures(one.times_needed)} times" + _short(one),
            "" if one.share is None else f"{figures(one.share * 100)} %",
        ]
        for one in found.machine_rows
    ]
    return TableView("Machines", head, rows)


def _loads(loads: Sequence[float | None], units: Units) -> str:
    signs = zip((torque, speed, power), loads, strict=True)
    return ", ".join(measure(sign(load), units).replace(" ", "\u00a0") for sign, load in signs if load is not None)


def _made(one: MachineRow) -> str:
    if not one.unit:
        return ""
    goal = "" if one.target is None else f", wanted {figures(one.target)}"
    return hourly(one.rate, f" {one.unit}s") + goal


def _short(one: MachineRow) -> str:
    return ": SHORT" if one.unit and one.rate == 0 else ""


def _items(found: ReportModel) -> TableView:
    head = ("item", "kind", "grade", "parts", "largest share of a limit")
    rows = [
        [
            one.item,
            one.kind,
            one.grade,
            f"{one.parts:,}",
            "" if one.share is None else f"{figures(one.share * 100)} % at {one.worst}",
        ]
        for one in found.item_rows
    ]
    return TableView("Items", head, rows)


def _lubricants(found: ReportModel) -> TableView:
    rows = []
    for one in found.lubricants:
        flows = (measure(Measure(flow, "L/s")) for flow in (one.supply, one.use, one.net))
        dry = "does not run dry" if one.runs_dry_after is None else duration(one.runs_dry_after)
        kind = "circuit" if one.circuit else "filled part"
        rows.append([one.name, kind, one.lubricant, measure(Measure(one.charge, "L")), *flows, dry])
    head = ("name", "what", "lubricant", "charge", "supply", "use", "net", "time to dry")
    return TableView("Lubricants", head, rows)


def _bill(found: ReportModel) -> TableView:
    rows = [
        [
            one.name,
            f"{one.needed:,}",
            "raw good" if one.makings is None else f"{one.makings:,} makings",
            "" if one.worth is None else figures(one.worth),
        ]
        for one in found.bill
    ]
    if rows:
        rows.append(["in all", "", "", figures(found.worth)])
    return TableView("Bill of materials", ("good", "count", "what", "worth"), rows)
