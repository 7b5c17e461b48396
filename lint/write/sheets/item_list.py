"""A catalogue to what a builder asks of it: per kind a table of items with ratios, grades, limits, needs, makings."""

from collections.abc import Callable, Mapping
from typing import NamedTuple

from lineshaft.check.finding import Measure
from lineshaft.schema.model.catalogue import Catalogue, Goods, HeadTable, Hydraulic, Item, Kind, Needs, Output
from lineshaft.write.page import ENDLESS, Page
from lineshaft.write.shown_units import Units, figures, measure
from lineshaft.write.table import table

HEADINGS: Mapping[Kind, str] = {
    "prime-mover": "Prime movers",
    "shaft": "Shafts",
    "gear-stage": "Gear stages",
    "right-angle": "Right-angle drives",
    "splitter": "Splitters",
    "combiner": "Combiners",
    "clutch": "Clutches",
    "driven-machine": "Driven machines",
}
"""The kinds in the order of the drivetrain, with what they are called."""


class _Offer(NamedTuple):
    """An item as one row says it: a gear stage has a row for each ratio, with that version's makings."""

    catalogue: Catalogue
    item: Item
    units: Units
    ratio: str
    made_of: Goods


_COLUMNS: Mapping[str, Callable[[_Offer], str]] = {
    "item": lambda offer: offer.item.name,
    "gives": lambda offer: _given(offer.item, offer.units),
    "ratio": lambda offer: offer.ratio,
    "delivered": lambda offer: offer.item.delivered if offer.item.is_stage else "",
    "divides": lambda offer: _shares(offer.item),
    "gathers": lambda offer: _gathered(offer.item),
    "grade": lambda offer: " | ".join(offer.item.grades),
    "carries at most": lambda offer: _carried(offer),
    "needs": lambda offer: _three(offer.item.needs, offer.units),
    "stands at most": lambda offer: _three(offer.item.limits, offer.units),
    "one takes": lambda offer: _work(offer.item, offer.units),
    "efficiency": lambda offer: f"{figures(offer.item.efficiency * 100)} %" if offer.item.efficiency != 1 else "",
    "lubricant": lambda offer: _lubricant(offer.item),
    "shock": lambda offer: offer.item.shock or "",
    "made of": lambda offer: ", ".join(f"{count} {good}" for good, count in offer.made_of.items()),
}


def item_list(catalogue: Catalogue, kind: str | None = None, units: Units = "si", page: Page = ENDLESS) -> str:
    """The items of a catalogue by kind, or of one kind; columns in which nothing stands are left out."""
    items = [item for item in catalogue.items.values() if kind is None or item.kind == kind]
    count = f"{len(items)} item{'s' if len(items) != 1 else ''}"
    of_kind = "" if kind is None else f" of kind {kind}"
    name = f"  “{catalogue.name}”" if catalogue.name else ""
    head = f"{catalogue.tree.source.shown}{name}  (edition {catalogue.edition}, {count}{of_kind})"
    blocks = ["".join(page.ink(line, "strong") + "\n" for line in page.lines(head, "", "  "))]
    for each, heading in HEADINGS.items():
        offers = [offer for item in items if item.kind == each for offer in _offers(catalogue, item, units)]
        if offers:
            blocks.append(f"{page.ink(f'{heading} (kind: {each})', 'strong')}\n{_table(offers, page)}")
    return "\n".join(blocks)


def _offers(catalogue: Catalogue, item: Item, units: Units) -> list[_Offer]:
    if not item.ratios:
        return [_Offer(catalogue, item, units, "", item.made_of)]
    return [_Offer(catalogue, item, units, offered.ratio.text, offered.made_of) for offered in item.ratios]


def _table(offers: list[_Offer], page: Page) -> str:
    columns = {head: [said(offer) for offer in offers] for head, said in _COLUMNS.items()}
    filled = {head: cells for head, cells in columns.items() if any(cells)}
    return table(tuple(filled), list(zip(*filled.values(), strict=True)), frozenset(), page)


def _three(needs: Needs, units: Units) -> str:
    said = ((needs.torque, "N*m"), (needs.speed, "rad/s"), (needs.power, "W"))
    return ", ".join(measure(Measure(value, unit), units) for value, unit in said if value is not None)


def _given(item: Item, units: Units) -> str:
    match item.source:
        case Output(torque, speed):
            return f"{_three(Needs(torque, speed), units)}"
        case HeadTable(points):
            ends = (points[0], points[-1]) if len(points) > 1 else points[:1]
            return " to ".join(f"{_three(Needs(t, s), units)} at a head of {figures(h)} m" for h, t, s in ends)
        case Hydraulic(flow, efficiency, speed, _):
            water = f"{figures(flow)} m³/s at {figures(efficiency * 100)} %"
            return f"{_three(Needs(None, speed), units)}, torque by head from {water}"
        case None:
            return ""


def _carried(offer: _Offer) -> str:
    """The limits of the item, else of each grade that it comes in."""
    item, said = offer.item, []
    for name in item.grades or ("",):
        grade = offer.catalogue.grades.get(name)
        torque = item.torque_limit if item.torque_limit is not None or grade is None else grade.torque_limit
        speed = item.speed_limit if item.speed_limit is not None or grade is None else grade.speed_limit
        said.append(_three(Needs(torque, speed), offer.units) or ("anything" if item.grades else ""))
    return " | ".join(said)


def _shares(item: Item) -> str:
    if item.kind != "splitter":
        return ""
    ways = "any number of outlets" if item.outlets is None else f"{item.outlets} outlets"
    if item.shares is None:
        return f"{ways}, any shares"
    return f"{ways}, {', '.join(' : '.join(figures(share) for share in row) for row in item.shares)}"


def _gathered(item: Item) -> str:
    if item.kind != "combiner":
        return ""
    return "any number of inlets" if item.inlets is None else f"{item.inlets} inlets"


def _work(item: Item, units: Units) -> str:
    if item.work is None:
        return ""
    points = item.work.times
    ends = (points[0], points[-1]) if len(points) > 1 else points[:1]
    said = (f"{measure(Measure(time, 's'))} at {measure(Measure(speed, 'rad/s'), units)}" for speed, time in ends)
    makes = "" if item.makes is None else f", makes {measure(Measure(item.makes.amount, 'L'))} {item.makes.lubricant}"
    return f"{item.work.unit}: {' to '.join(said)}{makes}"


def _lubricant(item: Item) -> str:
    need = item.lubricant
    if need is None:
        return ""
    return f"{need.kind}: holds {measure(Measure(need.holds, 'L'))}, uses {measure(Measure(need.uses, 'L/s'))}"
