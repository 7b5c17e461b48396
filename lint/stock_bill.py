"""The bill of a rig against a stock: what is there, what is made of what is there, what has to be got.

Finished items are taken first, then components, then raw goods; batches are rounded up once, over the whole rig. Each
good has one way of making alone, so taking from stock as early as that leaves the least to get.
"""

from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple

from lineshaft.bill_of_materials import before_their_goods, goods_of, worth_of
from lineshaft.schema.model.catalogue import Catalogue, Goods
from lineshaft.schema.model.rig import Part
from lineshaft.schema.model.stock import Inventory, ItemKey, key_of


class TakenItem(NamedTuple):
    """Parts of one make: the ratio as written, how many the rig has, and how many of these are there."""

    item: str
    ratio: str | None
    grade: str | None
    needed: int
    there: int


class MadeComponent(NamedTuple):
    """A component: how many are needed, how many of these are there, and how often it is made for the rest."""

    name: str
    needed: int
    there: int
    makings: int


class GoodToGet(NamedTuple):
    """A raw good: how many are needed, how many of these are there, and how many have to be got."""

    name: str
    needed: int
    there: int
    get: int


class StockBill(NamedTuple):
    """The bill against a stock; ``worth`` is that of what has to be got."""

    items: tuple[TakenItem, ...]
    components: tuple[MadeComponent, ...]
    goods: tuple[GoodToGet, ...]
    worth: float

    @property
    def lacking(self) -> tuple[tuple[str, int], ...]:
        """What has to be got, by name."""
        return tuple((good.name, good.get) for good in self.goods if good.get)


class Finished(NamedTuple):
    """A finished item that is asked for: its key, what it is made of, and how its ratio and grade are written."""

    key: ItemKey
    goods: Goods
    ratio: str | None = None
    grade: str | None = None


def finished_items(parts: Iterable[Part]) -> tuple[Finished, ...]:
    """Parts as the finished items that they are."""
    return tuple(
        Finished(
            key_of(part),
            goods_of(part),
            part.ratio.text if part.ratio else None,
            part.grade.name if part.grade else None,
        )
        for part in parts
        if part.item.name
    )


def bill_of_change(before: Iterable[Part], after: Iterable[Part], catalogue: Catalogue, stock: Inventory) -> StockBill:
    """What a change of what stands takes from a stock; parts that it sets free are there as well."""
    stands = Counter(one.key for one in finished_items(before))
    more = []
    for one in finished_items(after):
        if stands[one.key] > 0:
            stands[one.key] -= 1
        else:
            more.append(one)
    items = Counter(stock.items)
    items.update({key: number for key, number in stands.items() if number > 0})
    return bill_of_items(more, catalogue, stock._replace(items=items))


def bill_from_stock(parts: Iterable[Part], catalogue: Catalogue, stock: Inventory) -> StockBill:
    """The bill of some parts against what is there. No count goes below zero."""
    return bill_of_items(finished_items(parts), catalogue, stock)


def bill_of_items(wanted: Iterable[Finished], catalogue: Catalogue, stock: Inventory) -> StockBill:
    """The same of finished items."""
    items, needed = _items(wanted, stock)
    components: list[MadeComponent] = []
    for name in before_their_goods(catalogue):
        count = needed.pop(name, 0)
        if not count:
            continue
        component = catalogue.components[name]
        there = min(count, stock.goods.get(name, 0))
        makings = -(-(count - there) // component.yields)
        components.append(MadeComponent(name, count, there, makings))
        for good, number in component.made_of.items():
            needed[good] += number * makings
    goods = tuple(_got(name, count, stock) for name, count in sorted(needed.items()) if count)
    worth = worth_of(((good.name, good.get) for good in goods), catalogue)
    return StockBill(items, tuple(components), goods, worth)


def _items(wanted: Iterable[Finished], stock: Inventory) -> tuple[tuple[TakenItem, ...], "Counter[str]"]:
    """What stands in the rig, the most first, and the goods of what is not there."""
    counted: Counter[tuple[ItemKey, str, str]] = Counter()
    made_of = {}
    for one in wanted:
        counted[one.key, one.ratio or "", one.grade or ""] += 1
        made_of[one.key] = one.goods
    left = dict(stock.items)
    rows: list[TakenItem] = []
    needed: Counter[str] = Counter()
    for (key, ratio, grade), count in sorted(counted.items(), key=lambda row: (-row[1], row[0][0].item, row[0][1:])):
        there = min(count, left.get(key, 0))
        left[key] = left.get(key, 0) - there
        rows.append(TakenItem(key.item, ratio or None, grade or None, count, there))
        for good, number in made_of[key].items():
            needed[good] += number * (count - there)
    return tuple(rows), needed


def _got(name: str, count: int, stock: Inventory) -> GoodToGet:
    there = min(count, stock.goods.get(name, 0))
    return GoodToGet(name, count, there, count - there)
