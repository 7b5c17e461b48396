"""What a change adds in worth: in full with every batch rounded up, and the least it can be, part by part.

Batches are rounded over the whole rig, so worth does not add up part by part: of two equal stages the second may cost
nothing. Shares of a batch do add up, and never to more than the whole: a search may order by them and still be exact.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Protocol

from lineshaft.bill_of_materials import bill_of_goods, goods_of_all, worth_each
from lineshaft.repair.line.prices import cost_of, denominator_of, exact_units, parts_of, weight_of_units
from lineshaft.schema.model.catalogue import Catalogue, Goods
from lineshaft.schema.model.rig import Part


class Weights(Protocol):
    """What gives goods their weight in a search."""

    def weight(self, goods: Goods, parts: int = 0, words: int = 0, fewer: Goods | None = None) -> int:
        """The weight of goods, with so many parts and changed words; without those that are ``fewer``."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Prices:
    """The goods of a rig as it is, and what changes of them are worth."""

    catalogue: Catalogue
    goods: "Counter[str]"
    worth: float
    exact: Mapping[str, Fraction]
    denominator: int
    _exact: dict[int, Fraction] = field(default_factory=dict)
    _wholes: dict[int, int] = field(default_factory=dict)
    _units: dict[str, float] = field(default_factory=dict)
    _changes: "dict[frozenset[tuple[str, int]], float]" = field(default_factory=dict)

    def least(self, goods: Goods) -> float:
        """The worth of goods by shares of a batch: never more than what they add in full."""
        return sum(count * self._unit(name) for name, count in goods.items())

    def added(self, more: Iterable[Goods], fewer: Iterable[Goods] = ()) -> float:
        """What a change adds in worth over the whole rig; below zero where it saves."""
        change: Counter[str] = Counter()
        for one in more:
            change.update(one)
        for one in fewer:
            change.subtract(one)
        key = frozenset(change.items())
        found = self._changes.get(key)
        if found is None:
            goods = Counter(self.goods)
            goods.update(change)
            found = self._changes[key] = bill_of_goods(goods, self.catalogue).worth - self.worth
        return found

    def weight(self, goods: Goods, parts: int = 0, words: int = 0, fewer: Goods | None = None) -> int:
        """The weight, for a search, of goods by shares of a batch; without those that are ``fewer``."""
        return weight_of_units(self._whole(goods) - (0 if fewer is None else self._whole(fewer)), parts, words)

    def exactly(self, goods: Goods) -> Fraction:
        """The worth of goods by shares of a batch, exactly."""
        # A catalogue's goods live as long as it does, so each is known by where it is.
        found = self._exact.get(id(goods))
        if found is None:
            each = (self.exact.get(name, Fraction(0)) * count for name, count in goods.items())
            found = self._exact[id(goods)] = sum(each, Fraction(0))
        return found

    def most_saved(self, goods: Iterable[Goods]) -> Fraction:
        """What goes with some goods at most: their worth, and what may be over of batches."""
        return sum(map(self.exactly, goods), Fraction(max(0.0, self.spare)))

    def added_at_least(self, weight: int, saved: Fraction, parts: int) -> tuple[float, int]:
        """What designs of at least a weight add at least in worth and parts, with so much saved and parts that go."""
        return float(cost_of(weight, self.denominator) - saved), parts_of(weight) - parts

    def _whole(self, goods: Goods) -> int:
        """The worth of goods in units of the denominator."""
        found = self._wholes.get(id(goods))
        if found is None:
            found = self._wholes[id(goods)] = int(self.exactly(goods) * self.denominator)
        return found

    @property
    def spare(self) -> float:
        """How much less than the rig's worth its shares of batches come to: what may be taken from stock at most."""
        return self.worth - self.least(self.goods)

    def _unit(self, name: str) -> float:
        found = self._units.get(name)
        if found is None:
            found = self._units[name] = worth_each({name: 1}, self.catalogue)
        return found


def prices_of(parts: Iterable[Part], catalogue: Catalogue) -> Prices:
    """The prices for changes of some parts."""
    goods = goods_of_all(parts)
    components = {name: (made.made_of, made.yields) for name, made in catalogue.components.items()}
    exact = exact_units(catalogue.raw, components)
    return Prices(catalogue, goods, bill_of_goods(goods, catalogue).worth, exact, denominator_of(exact.values()))
