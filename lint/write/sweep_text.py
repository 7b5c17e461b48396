"""A sweep as text, CSV and JSON."""

import csv
import io

from lineshaft import __version__
from lineshaft.report_model.record import ShareCurve, Sweep
from lineshaft.write.escape import spreadsheet_cell
from lineshaft.write.json_text import json_text
from lineshaft.write.page import ENDLESS, Page
from lineshaft.write.plots.sweep_chart import CONDITIONS, first_to_break, shown
from lineshaft.write.shown_units import Units, as_written, figures, hourly
from lineshaft.write.table import Cell, Toned, table

FORMAT = "lineshaft-sweep/1"
_MACHINES = 4


def sweep_text(swept: Sweep, units: Units = "si", page: Page = ENDLESS) -> str:
    """What happens first; where conditions turn over; the values one by one; the shares of limits at both ends."""
    low, high = (shown(swept, value, units) for value in (swept.values[0], swept.values[-1]))
    own = "" if swept.declared is None else f"; the rig has {shown(swept, swept.declared, units)}"
    setting = f"{swept.setting.part}.{swept.setting.key}"
    head = page.paragraph(f"{setting} from {low} to {high} in {len(swept.values)} values{own}", "", "  ")
    head += page.paragraph(first_to_break(swept, units), "", "  ")
    rows = [[c.part, f"{c.quantity} limit", _percent(c.shares[0]), _percent(c.shares[-1])] for c in swept.curves]
    ends = ("part", "limit", f"share at {low}", f"share at {high}")
    shares = table(ends, rows, frozenset({2, 3}), page) if rows else ""
    return "\n".join(filter(None, (head, _crossings(swept, units, page), _values(swept, units, page), shares)))


def _crossings(swept: Sweep, units: Units, page: Page) -> str:
    rows: list[list[Cell]] = [
        [
            one.part,
            CONDITIONS[one.condition],
            f"holds {'up to' if one.rises else 'from'} {shown(swept, one.holds, units)}",
            Toned(f"fails at {shown(swept, one.fails, units)}", "error"),
        ]
        for one in swept.crossings
    ]
    return table(("part", "what", "holds", "fails"), rows, frozenset(), page) if rows else ""


def _values(swept: Sweep, units: Units, page: Page) -> str:
    machines = swept.rates[:_MACHINES]
    head = (swept.setting.key, "worst share", "at", *(f"{one.part}, {one.unit}s an hour" for one in machines))
    rows = []
    for at, value in enumerate(swept.values):
        worst = _worst(swept, at)
        named = "not solved or no limit" if worst is None else f"{worst.part} ({worst.quantity})"
        share = "-" if worst is None else _percent(worst.shares[at])
        rates = ["-" if (rate := one.rates[at]) is None else hourly(rate) for one in machines]
        rows.append([shown(swept, value, units), share, named, *rates])
    text = table(head, rows, frozenset({0, 1, *range(3, len(head))}), page)
    more = len(swept.rates) - len(machines)
    return text + (page.paragraph(f"{more} more machines: see --write csv or json") if more > 0 else "")


def _worst(swept: Sweep, at: int) -> ShareCurve | None:
    there = [curve for curve in swept.curves if curve.shares[at] is not None]
    return max(there, key=lambda curve: curve.shares[at] or 0.0, default=None)


def _percent(share: float | None) -> str:
    return "not solved" if share is None else f"{figures(share * 100)} %"


def sweep_csv(swept: Sweep) -> bytes:
    """A row for each value and limit or machine (RFC 4180); SI values, shares 1 at the limit."""
    page = io.StringIO(newline="")
    rows = csv.writer(page)
    rows.writerow(("setting", "value", "unit", "part", "what", "result"))
    setting = spreadsheet_cell(f"{swept.setting.part}.{swept.setting.key}")
    for at, value in enumerate(swept.values):
        start = (setting, as_written(value), swept.setting.unit)
        for curve in swept.curves:
            share = curve.shares[at]
            what = f"share of {curve.quantity} limit"
            rows.writerow((*start, spreadsheet_cell(curve.part), what, "" if share is None else as_written(share)))
        for one in swept.rates:
            rate = one.rates[at]
            what = spreadsheet_cell(f"{one.unit}s an hour")
            rows.writerow((*start, spreadsheet_cell(one.part), what, "" if rate is None else as_written(rate)))
    return page.getvalue().encode("utf-8", "backslashreplace")


def sweep_json(swept: Sweep) -> bytes:
    """One document; SI values, shares 1 at the limit, rates in units of work an hour."""
    crossings = [one._asdict() for one in swept.crossings]
    document = {
        "format": FORMAT,
        "version": __version__,
        "setting": swept.setting._asdict(),
        "declared": swept.declared,
        "values": swept.values,
        "shares": [curve._asdict() for curve in swept.curves],
        "machines": [one._asdict() for one in swept.rates],
        "crossings": crossings,
        "starved": swept.starved,
        "first": first_to_break(swept),
    }
    return json_text(document)
