"""What whoever asks for a design allows: cost, parts, and what has to be got beside a stock."""

from collections.abc import Sequence
from typing import NamedTuple

from lineshaft.check.finding import Text
from lineshaft.design.proposal import Proposal
from lineshaft.schema.model.stock import Inventory
from lineshaft.stock_bill import StockBill


class Asked(NamedTuple):
    """What a design may cost at most and how many parts it may add; the stock that it is ordered by."""

    most_cost: float | None = None
    most_parts: int | None = None
    stock: Inventory | None = None
    within_stock: bool = False

    def allows(self, price: float, parts: int, owned: StockBill | None) -> bool:
        """Whether a design keeps to it; with a stock its cost is that of what has to be got."""
        if self.most_cost is not None and price > self.most_cost * (1 + 1e-9):
            return False
        if self.most_parts is not None and parts > self.most_parts:
            return False
        return not (self.within_stock and owned is not None and owned.lacking)

    def beyond(self, found: Sequence[Proposal]) -> Text:
        """That everything that was found goes beyond it."""
        least = min(found, key=lambda one: one.price)
        few = min(found, key=lambda one: one.repair.parts_added)
        said = f"the cheapest costs {least.price:.6g}, and the one of fewest parts adds {few.repair.parts_added}"
        if self.within_stock and least.owned is not None:
            lacking = ", ".join(f"{number} {name}" for name, number in least.owned.lacking)
            said += f"; the stock lacks {lacking} for the cheapest"
        return (f"every design goes beyond what is allowed: {said}",)
