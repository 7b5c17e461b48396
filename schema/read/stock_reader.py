"""A stock's tree to its frozen type, against the catalogue that its goods and items are of."""

from collections import Counter
from fractions import Fraction
from types import MappingProxyType
from typing import cast

from lineshaft.schema.model.catalogue import Catalogue, Item
from lineshaft.schema.model.stock import Inventory, ItemKey
from lineshaft.schema.quantities.quantity import BadQuantity
from lineshaft.schema.quantities.ratio import ratio
from lineshaft.schema.read.fields import Fields, Mapped, listing, mapping
from lineshaft.schema.text.absent_names import no_such
from lineshaft.schema.text.fault import Fault
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Tree


def read_stock(tree: Tree, catalogue: Catalogue) -> tuple[Inventory, tuple[Fault, ...]]:
    """The stock in a tree that fits the stock schema, and what is wrong with it."""
    fields = Fields(tree, [])
    data = mapping(tree.data)
    known = {**catalogue.raw, **catalogue.components}
    goods: Counter[str] = Counter()
    for name, number in mapping(data.get("goods")).items():
        if name in known:
            goods[name] = _whole(number)
        elif name in catalogue.items:
            fields.bad_key("unknown-reference", ("goods", name), f"{name} is an item: list it under `items`")
        else:
            message = no_such("good", name, known, " in the catalogue")
            fields.bad_key("unknown-reference", ("goods", name), message)
    items: Counter[ItemKey] = Counter()
    for at, entry in enumerate(listing(data.get("items"))):
        written = mapping(entry)
        key = _key(fields, catalogue, written, ("items", at))
        if key is not None:
            items[key] += _whole(written.get("count"))
    found = Inventory(tree, str(data.get("name", "")), MappingProxyType(goods), MappingProxyType(items))
    return found, tuple(fields.faults)


def _whole(written: object) -> int:
    """A whole number; the schema has seen to it that it is one."""
    return int(cast(float, written))


def _key(fields: Fields, catalogue: Catalogue, written: Mapped, route: Route) -> ItemKey | None:
    name = str(written["item"])
    item = catalogue.items.get(name)
    if item is None:
        fields.bad("unknown-reference", (*route, "item"), no_such("item", name, catalogue.items, " in the catalogue"))
        return None
    before = len(fields.faults)
    key = ItemKey(name, _ratio(fields, item, written, route), _grade(fields, item, written, route))
    return key if len(fields.faults) == before else None


def _ratio(fields: Fields, item: Item, written: Mapped, route: Route) -> Fraction | None:
    value = written.get("ratio")
    offers = ", ".join(offered.ratio.text for offered in item.ratios)
    if value is None:
        if item.ratios:
            fields.bad("not-offered", (*route, "item"), f"{item.name} comes in ratios: say which, {offers}")
        return None
    found = ratio(value)
    if isinstance(found, BadQuantity):
        fields.bad("bad-quantity", (*route, "ratio"), found.message)
        return None
    if all(offered.ratio.value != found.value for offered in item.ratios):
        says = f"it offers {offers}" if offers else "it has no ratio"
        fields.bad("not-offered", (*route, "ratio"), f"{item.name} does not come in {found.text} : 1; {says}")
        return None
    return found.value


def _grade(fields: Fields, item: Item, written: Mapped, route: Route) -> str | None:
    """The grade, where the item leaves a choice; one that it has anyway may be written too."""
    value = written.get("grade")
    offers = ", ".join(item.grades) or "no grade"
    if value is None:
        if item.chooses_grade:
            fields.bad("not-offered", (*route, "item"), f"{item.name} is made in several grades: say which, {offers}")
        return None
    if str(value) not in item.grades:
        fields.bad(
            "not-offered", (*route, "grade"), f"{item.name} is not made in {str(value)[:60]}; it offers {offers}"
        )
        return None
    return str(value) if item.chooses_grade else None
