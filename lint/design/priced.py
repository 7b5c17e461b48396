"""A layout with what it costs in full: what is proved is chosen among these."""

from dataclasses import dataclass

from lineshaft.design.resolving import Layout
from lineshaft.solve.limits import EQUAL
from lineshaft.stock_bill import StockBill

_SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class Priced:
    """A layout with its price (with a stock that of what has to be got), its parts, and its machines' rates."""

    price: float
    parts: int
    layout: Layout
    owned: StockBill | None = None

    @property
    def rates(self) -> tuple[float, ...]:
        """Units of work a second by machine, in the order of the file."""
        return tuple(rate for _, rate in self.layout.rates)

    def beats(self, other: "Priced") -> bool:
        """Whether it is as good in all and better in something."""
        if self.price > other.price + _SLACK or self.parts > other.parts:
            return False
        pairs = list(zip(self.rates, other.rates, strict=True))
        if any(mine < theirs * (1 - EQUAL) for mine, theirs in pairs):
            return False
        better = self.price < other.price - _SLACK or self.parts < other.parts
        return better or any(mine > theirs * (1 + EQUAL) for mine, theirs in pairs)


def unbeaten(found: list[Priced]) -> list[Priced]:
    """Those that no other beats, cheapest first; of equals the first."""
    kept: list[Priced] = []
    for candidate in sorted(found, key=lambda one: (round(one.price, 9), one.parts, [-rate for rate in one.rates])):
        if not any(other.beats(candidate) for other in kept):
            kept.append(candidate)
    return kept
