"""How many components that are made several at a time something takes: what decides how far a bill is rounded up.

Of two lines the one that weighs more may still cost less in the whole bill, where it takes of a batch that is begun.
By how much at most, follows from the components of which the two take different numbers.
"""

from collections.abc import Iterator, Sequence

from lineshaft.repair.line.design import CloseSlot, Found, OpenSlot, StageSlot
from lineshaft.repair.line.prices import weight_of
from lineshaft.repair.strategies.prices import Prices
from lineshaft.schema.model.catalogue import Catalogue, Goods

Taken = tuple[float, ...]
"""How many of each such component, shares of batches counted."""


class Batches:
    """The components of a catalogue that a making gives several of, and what a begun batch of each is worth at most."""

    __slots__ = ("_catalogue", "_known", "_names", "_waste")

    def __init__(self, prices: Prices) -> None:
        self._catalogue: Catalogue = prices.catalogue
        several = [made for made in prices.catalogue.components.values() if made.yields > 1]
        self._names = [made.name for made in several]
        whole = (prices.exact.get(made.name, 0) * (made.yields - 1) for made in several)
        self._waste = [weight_of(cost, prices.denominator) for cost in whole]  # type: ignore[arg-type]
        self._known: dict[int, Taken] = {}

    def of_goods(self, goods: Goods) -> Taken:
        """What some goods take, through everything that they are made of."""
        # A catalogue's goods live as long as it does, so each is known by where it is.
        found = self._known.get(id(goods))
        if found is None:
            counts: dict[str, float] = {}
            waiting = [(name, float(number)) for name, number in goods.items()]
            while waiting:
                name, number = waiting.pop()
                counts[name] = counts.get(name, 0.0) + number
                made = self._catalogue.components.get(name)
                if made is not None:
                    waiting += [(good, number * count / made.yields) for good, count in made.made_of.items()]
            found = self._known[id(goods)] = tuple(round(counts.get(name, 0.0), 9) for name in self._names)
        return found

    def of_line(self, found: Found) -> Taken:
        """What a line takes."""
        return self.together([self.of_goods(goods) for goods in self._goods(found)])

    def together(self, taken: Sequence[Taken]) -> Taken:
        """What several things take."""
        return tuple(round(sum(each), 9) for each in zip(*taken, strict=True)) if taken else (0.0,) * len(self._names)

    def slack(self, one: Taken, other: Taken) -> int:
        """By what weight at most rounding may favour one of two over the other."""
        return sum(waste for a, b, waste in zip(one, other, self._waste, strict=True) if a != b)

    def _goods(self, found: Found) -> Iterator[Goods]:
        lines = 1
        for slot in found.slots:
            if isinstance(slot, StageSlot):
                item = self._catalogue.items[slot.stage.make.item]
                offer = next(o for o in item.ratios if o.ratio.value == slot.stage.ratio.value)
                yield from (offer.made_of,) * lines
            elif isinstance(slot, OpenSlot | CloseSlot):
                lines = slot.lines if isinstance(slot, OpenSlot) else 1
                node = slot.tree.node
                for branching in node.parts if node is not None else ():
                    yield self._catalogue.items[branching.end.item].made_of
