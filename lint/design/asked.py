"""What whoever asks for a design allows: cost, parts, and what has to be got beside a stock."""

from typing import NamedTuple

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
