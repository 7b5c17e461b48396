"""The bill of materials of a rig, as a table, CSV or JSON."""

import csv
import io
import json
from collections.abc import Callable, Mapping
from typing import NamedTuple

from lineshaft import __version__
from lineshaft.bill_of_materials import Bill, items_of, lubricants_of, worth_of
from lineshaft.check.finding import litres
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.stock_bill import StockBill
from lineshaft.write.escape import spreadsheet_cell
from lineshaft.write.page import ENDLESS, Page
from lineshaft.write.sheets.stock_bill import HEAD, stock_document, stock_rows
from lineshaft.write.shown_units import as_written, figures, measure
from lineshaft.write.table import table

FORMAT = "lineshaft-bill/1"


def bill_text(rig: SolvedRig, found: Bill, page: Page = ENDLESS) -> str:
    """The items, raw goods with their worth, the components with their makings, the lubricants; the worth in all."""
    stands = [[f"{one.number} ×", one.item, one.ratio or "", one.grade or ""] for one in items_of(rig.parts)]
    first = table(("count", "item", "ratio", "grade"), stands, frozenset({0}), page)
    poured = [[name, measure(litres(volume))] for name, volume in lubricants_of(rig.rig)]
    last = "\n" + table(("lubricant", "to pour in"), poured, frozenset({1}), page) if poured else ""
    if not found.raw and not found.making:
        return f"{first}{last}\nnothing to gather: no part has made-of\n"
    worth, components = rig.catalogue.raw, rig.catalogue.components
    goods = [[name, str(n), figures(worth[name]), figures(_worth(rig, name, n))] for name, n in found.raw]
    text = first + "\n" + table(("raw good", "count", "worth each", "worth"), goods, frozenset({1, 2, 3}), page)
    if found.making:
        made = [
            [name, str(needed), str(makings), str(makings * components[name].yields - needed)]
            for name, needed, makings in found.making
        ]
        text += "\n" + table(("component", "needed", "makings", "left over"), made, frozenset({1, 2, 3}), page)
    return f"{text}{last}\nworth {figures(found.worth)} in all\n"


class Owned(NamedTuple):
    """A bill against a stock, and the stock's file as shown."""

    bill: StockBill
    file: str


def bill_csv(rig: SolvedRig, found: Bill, owned: Owned | None = None) -> bytes:
    """One row an item, a raw good, a component and a lubricant, which counts in litres (RFC 4180).

    With a stock there are two columns more, and worth is that of what has to be got. No cell can be taken for a formula
    by a spreadsheet.
    """
    page = io.StringIO(newline="")
    rows = csv.writer(page)
    if owned is not None:
        rows.writerow(HEAD)
        rows.writerows(stock_rows(rig, owned.bill))
        return page.getvalue().encode("utf-8")
    rows.writerow(HEAD[:-2])
    for one in items_of(rig.parts):
        cells = (spreadsheet_cell(one.item), one.number, "", "", spreadsheet_cell(one.ratio or ""))
        rows.writerow(("item", *cells, spreadsheet_cell(one.grade or "")))
    for name, count in found.raw:
        rows.writerow(("raw", spreadsheet_cell(name), count, "", as_written(_worth(rig, name, count)), "", ""))
    for name, needed, makings in found.making:
        rows.writerow(("component", spreadsheet_cell(name), needed, makings, "", "", ""))
    for name, volume in lubricants_of(rig.rig):
        rows.writerow(("lubricant", spreadsheet_cell(name), as_written(volume), "", "", "", ""))
    return page.getvalue().encode("utf-8")


def bill_json(rig: SolvedRig, found: Bill, owned: Owned | None = None) -> bytes:
    """One document, UTF-8, ASCII only inside, so that no reader sees a raw control character."""
    components = rig.catalogue.components
    document = {
        "format": FORMAT,
        "version": __version__,
        "file": rig.file,
        "items": [
            {"item": one.item, "ratio": one.ratio, "grade": one.grade, "count": one.number}
            for one in items_of(rig.parts)
        ],
        "raw": [{"name": name, "count": n, "worth": _worth(rig, name, n)} for name, n in found.raw],
        "components": [
            {"name": name, "needed": needed, "makings": makings, "yields": components[name].yields}
            for name, needed, makings in found.making
        ],
        "lubricants": [{"name": name, "litres": volume} for name, volume in lubricants_of(rig.rig)],
        "worth": found.worth,
        **({} if owned is None else {"stock": stock_document(rig, owned.bill, owned.file)}),
    }
    return (json.dumps(document, indent=2, allow_nan=False) + "\n").encode()


def _worth(rig: SolvedRig, good: str, count: int) -> float:
    return worth_of(((good, count),), rig.catalogue)


WRITERS: Mapping[str, Callable[[SolvedRig, Bill, Owned | None], bytes]] = {"csv": bill_csv, "json": bill_json}
