"""The bill of a rig against a stock: what is there, what is to be made, what is to be got."""

from collections.abc import Iterator

from lineshaft.bill_of_materials import lubricants_of, worth_of
from lineshaft.check.finding import litres
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.stock_bill import StockBill
from lineshaft.write.escape import spreadsheet_cell
from lineshaft.write.page import ENDLESS, Page
from lineshaft.write.shown_units import as_written, figures, measure
from lineshaft.write.table import table

HEAD = ("kind", "name", "count", "makings", "worth", "ratio", "grade", "there", "get")
"""The columns of the CSV: those of a bill without a stock, and two more."""


def stock_bill_text(rig: SolvedRig, found: StockBill, page: Page = ENDLESS) -> str:
    """Items, components, raw goods and lubricants in four tables, and what the goods to get are worth."""
    rows = [
        [f"{one.needed} ×", one.item, one.ratio or "", one.grade or "", str(one.there), str(one.needed - one.there)]
        for one in found.items
    ]
    text = table(("count", "item", "ratio", "grade", "there", "to make"), rows, frozenset({0, 4, 5}), page)
    if found.components:
        made = [
            [c.name, str(c.needed), str(c.there), str(c.makings), _over(rig, found, c.name)] for c in found.components
        ]
        of_made = ("component", "needed", "there", "makings", "left over")
        text += "\n" + table(of_made, made, frozenset({1, 2, 3, 4}), page)
    if found.goods:
        worth = rig.catalogue.raw
        goods = [
            [
                g.name,
                str(g.needed),
                str(g.there),
                str(g.get),
                figures(worth[g.name]),
                figures(_worth(rig, g.name, g.get)),
            ]
            for g in found.goods
        ]
        of_goods = ("raw good", "needed", "there", "to get", "worth each", "worth")
        text += "\n" + table(of_goods, goods, frozenset({1, 2, 3, 4, 5}), page)
    poured = [[name, measure(litres(volume))] for name, volume in lubricants_of(rig.rig)]
    if poured:
        text += "\n" + table(("lubricant", "to pour in"), poured, frozenset({1}), page)
    if not found.lacking:
        return f"{text}\nall of it is there, or is made of what is there\n"
    lacking = ", ".join(f"{number} {name}" for name, number in found.lacking)
    return f"{text}\n" + page.paragraph(f"to get: {lacking}; worth {figures(found.worth)} in all", "", "  ")


def _over(rig: SolvedRig, found: StockBill, name: str) -> str:
    """How many of a component are left over of what is made of it."""
    made = next(c for c in found.components if c.name == name)
    return str(made.makings * rig.catalogue.components[name].yields - (made.needed - made.there))


def _worth(rig: SolvedRig, good: str, count: int) -> float:
    return worth_of(((good, count),), rig.catalogue)


def stock_rows(rig: SolvedRig, found: StockBill) -> Iterator[tuple[object, ...]]:
    """The rows of the CSV. No cell can be taken for a formula by a spreadsheet."""
    for one in found.items:
        ratio, grade = spreadsheet_cell(one.ratio or ""), spreadsheet_cell(one.grade or "")
        yield "item", spreadsheet_cell(one.item), one.needed, "", "", ratio, grade, one.there, ""
    for good in found.goods:
        worth = as_written(_worth(rig, good.name, good.get))
        yield "raw", spreadsheet_cell(good.name), good.needed, "", worth, "", "", good.there, good.get
    for made in found.components:
        yield "component", spreadsheet_cell(made.name), made.needed, made.makings, "", "", "", made.there, ""
    for name, volume in lubricants_of(rig.rig):
        yield "lubricant", spreadsheet_cell(name), as_written(volume), "", "", "", "", "", ""


def stock_document(rig: SolvedRig, found: StockBill, file: str) -> dict[str, object]:
    """What the JSON of a bill has besides under the key ``stock``."""
    return {
        "file": file,
        "items": [
            {"item": one.item, "ratio": one.ratio, "grade": one.grade, "needed": one.needed, "there": one.there}
            for one in found.items
        ],
        "components": [
            {"name": made.name, "needed": made.needed, "there": made.there, "makings": made.makings}
            for made in found.components
        ],
        "raw": [
            {"name": g.name, "needed": g.needed, "there": g.there, "get": g.get, "worth": _worth(rig, g.name, g.get)}
            for g in found.goods
        ],
        "worth": found.worth,
    }
