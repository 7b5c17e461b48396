"""What a stock file says: goods and finished items of one catalogue, counted."""

from collections.abc import Mapping
from fractions import Fraction
from types import MappingProxyType
from typing import NamedTuple

from lineshaft.schema.model.catalogue import NO_GOODS, Goods
from lineshaft.schema.model.rig import Part
from lineshaft.schema.text.tree import Tree


class ItemKey(NamedTuple):
    """What tells finished items apart: the item, its ratio by value and its grade, where it has a choice of these."""

    item: str
    ratio: Fraction | None = None
    grade: str | None = None


class Inventory(NamedTuple):
    """A stock as it is written: goods by name, items by make, whole numbers of 0 or more."""

    tree: Tree
    name: str
    goods: Goods = NO_GOODS
    items: Mapping[ItemKey, int] = MappingProxyType({})


def key_of(part: Part) -> ItemKey:
    """The finished item that a part is; a grade counts where its item leaves a choice."""
    ratio = None if part.ratio is None else part.ratio.value
    grade = part.grade.name if part.grade is not None and part.item.chooses_grade else None
    return ItemKey(part.item.name, ratio, grade)
