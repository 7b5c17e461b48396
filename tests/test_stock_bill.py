"""A bill against a stock: by hand, and the least to get by trying every way of using what is there."""

import random
from array import array
from collections import Counter
from itertools import product
from pathlib import Path

import pytest

from lineshaft.schema.model.catalogue import Catalogue, Item
from lineshaft.schema.model.component import Component
from lineshaft.schema.model.rig import Part
from lineshaft.schema.model.stock import Inventory, ItemKey
from lineshaft.schema.text.text import SourceText
from lineshaft.schema.text.tree import Tree
from lineshaft.stock_bill import GoodToGet, MadeComponent, TakenItem, bill_from_stock

_ZERO = array("I", [0])
_TREE = Tree(SourceText(Path("x"), "x", ""), None, _ZERO, _ZERO, array("I", [1]))
_MADE = {"gear": ({"plate": 5}, 7), "pair": ({"gear": 2, "bar": 1}, 1)}
_RAW = {"plate": 1.0, "bar": 0.5}


def _catalogue(components: dict[str, tuple[dict[str, int], int]], raw: dict[str, float]) -> Catalogue:
    made = {name: Component(name, goods, yields) for name, (goods, yields) in components.items()}
    return Catalogue(_TREE, "", "", (), {}, {}, {}, made, raw)


def _stock(goods: dict[str, int], items: dict[str, int]) -> Inventory:
    return Inventory(_TREE, "", goods, {ItemKey(name): number for name, number in items.items()})


def _parts(item: str, number: int, **goods: int) -> list[Part]:
    return [Part("p", Item(item, "shaft", made_of=goods), _TREE)] * number


def test_items_then_components_then_goods_are_taken_from_stock() -> None:
    """Five boxes of a pair and 3 bars, two there: 3 pairs; one is there, so 2 pairs take 4 gears and 2 bars.

    One gear is there: 3 more are one making of 7, 5 plates. Bars: 9 for the boxes, 2 for the pairs, 4 there, 7 to get.
    """
    stock = _stock({"pair": 1, "gear": 1, "bar": 4}, {"box": 2})
    found = bill_from_stock(_parts("box", 5, pair=1, bar=3), _catalogue(_MADE, _RAW), stock)
    assert found.items == (TakenItem("box", None, None, 5, 2),)
    assert set(found.components) == {MadeComponent("pair", 3, 1, 2), MadeComponent("gear", 4, 1, 1)}
    assert found.goods == (GoodToGet("bar", 11, 4, 7), GoodToGet("plate", 5, 0, 5))
    assert found.worth == 8.5


def test_more_than_enough_leaves_nothing_to_get() -> None:
    """A stock larger than the need is used as far as it is needed, and no count goes below zero."""
    found = bill_from_stock(
        _parts("box", 2, pair=1), _catalogue(_MADE, _RAW), _stock({"gear": 900, "bar": 900}, {"lid": 30})
    )
    assert found.lacking == () and found.worth == 0
    assert {good.get for good in found.goods} == {0}


def test_batches_are_rounded_once_over_the_whole_rig() -> None:
    """3 parts of 5 gears and 1 of 6 need 21; 6 are there, 15 are three makings of 7, not one for each part."""
    parts = [*_parts("arm", 3, gear=5), *_parts("leg", 1, gear=6)]
    found = bill_from_stock(parts, _catalogue(_MADE, _RAW), _stock({"gear": 6}, {}))
    assert found.components == (MadeComponent("gear", 21, 6, 3),)
    assert found.lacking == (("plate", 15),)


def _least_by_force(
    needed: "Counter[str]", there: dict[str, int], components: dict[str, tuple[dict[str, int], int]]
) -> set[tuple[tuple[str, int], ...]]:
    """What has to be got with every number of makings of each component that may make sense; those that suffice."""
    names = list(components)
    found = set()
    for makings in product(range(9), repeat=len(names)):
        has = Counter(there)
        wants = Counter(needed)
        for name, times in zip(names, makings, strict=True):
            made_of, yields = components[name]
            has[name] += times * yields
            for good, number in made_of.items():
                wants[good] += times * number
        if all(wants[name] <= has[name] for name in names):
            lacks = {good: max(0, wants[good] - has[good]) for good in ("plate", "bar")}
            found.add(tuple(sorted((good, number) for good, number in lacks.items() if number)))
    return found


@pytest.mark.parametrize("seed", range(200))
def test_no_way_of_using_a_stock_leaves_less_to_get(seed: int) -> None:
    """Against every number of makings, each suffices or not by counting: none lacks less of any good."""
    draw = random.Random(seed)
    yields = draw.choice([1, 3, 5, 7])
    components: dict[str, tuple[dict[str, int], int]] = {
        "gear": ({"plate": draw.randint(1, 5)}, yields),
        "pair": ({"gear": draw.randint(1, 3), "bar": draw.randint(0, 3)}, draw.choice([1, 3])),
    }
    goods = {name: draw.randint(0, 6) for name in ("gear", "pair", "plate", "bar")}
    boxes, there = draw.randint(1, 3), draw.randint(0, 3)
    made_of = {"gear": draw.randint(0, 3), "pair": draw.randint(0, 1), "bar": draw.randint(0, 3)}
    found = bill_from_stock(
        _parts("box", boxes, **made_of), _catalogue(components, _RAW), _stock(goods, {"box": there})
    )
    needed = Counter({name: number * max(0, boxes - there) for name, number in made_of.items()})
    ways = _least_by_force(needed, goods, components)
    assert found.lacking in ways
    got = dict(found.lacking)
    for way in ways:
        assert all(dict(way).get(good, 0) >= got.get(good, 0) for good in ("plate", "bar")), way
    assert all(good.get >= 0 and good.there <= goods.get(good.name, 0) for good in found.goods)
