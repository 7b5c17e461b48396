"""Repairs and chains by what has to be got for them beside a stock.

They are searched for by what they cost; of those that are found the ones for which less has to be got stand first.
"""

from collections.abc import Sequence
from typing import NamedTuple

from lineshaft.check.finding import Effect
from lineshaft.check.judged_finding import Repair
from lineshaft.repair.plan.fix_all import Reach
from lineshaft.repair.plan.planner import Plan
from lineshaft.repair.proof.context import RepairContext
from lineshaft.repair.size import Sizing
from lineshaft.schema.model.stock import Inventory
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.stock_bill import StockBill, bill_of_change

_NONE_WITHIN = (
    "each that was found takes more than the stock has: see them without --within-stock; `lineshaft design --anew` with"
    " the stock looks for whole rigs out of it"
)

_NOT_BESIDE = "each of its repairs that was found takes, with what is applied, more than the stock has"


class FromStock(NamedTuple):
    """A stock, and whether what something has to be got for is left out."""

    stock: Inventory
    within: bool

    def bill(self, context: RepairContext, repair: Repair) -> StockBill | None:
        """What a repair takes from the stock, and what has to be got; none where it no longer fits the file."""
        edited = context.whole_edited_rig(repair.edits) if repair.edits else None
        if edited is None:
            return None
        return bill_of_change(context.rig.parts, edited.rig.parts, context.rig.catalogue, self.stock)

    def plans(self, context: RepairContext, plans: Sequence[Plan]) -> list[Plan]:
        """Plans whose repairs stand by what has to be got, each with less first."""
        return [self._plan(context, plan) for plan in plans]

    def reach(self, context: RepairContext, up_to: Effect) -> Reach:
        """How far repairs may go together: all of them take no more than the stock has, where nothing is to be got."""
        rig = context.rig

        def there(after: SolvedRig) -> bool:
            return not bill_of_change(rig.parts, after.parts, rig.catalogue, self.stock).lacking

        return Reach(up_to, there if self.within else None, _NOT_BESIDE)

    def _plan(self, context: RepairContext, plan: Plan) -> Plan:
        priced = [(self.bill(context, repair), number, repair) for number, repair in enumerate(plan.repairs)]
        kept = [row for row in priced if not (self.within and row[0] is not None and row[0].lacking)]
        kept.sort(key=lambda row: (0.0 if row[0] is None else row[0].worth, row[1]))
        none = _NONE_WITHIN if plan.repairs and not kept else plan.no_repair
        ways = tuple(way for way in plan.ways if any(way.repair == repair for _, _, repair in kept))
        return plan._replace(repairs=tuple(repair for _, _, repair in kept), no_repair=none, ways=ways)

    def sizing(self, context: RepairContext, found: Sizing) -> tuple[Sizing, tuple[StockBill, ...]]:
        """A sizing whose chains stand by what has to be got, with that of each."""
        rig = context.rig
        rows = [
            (bill_of_change(rig.parts, one.edited_rig.rig.parts, rig.catalogue, self.stock), number, one)
            for number, one in enumerate(found.found)
        ]
        kept = [row for row in rows if not (self.within and row[0].lacking)]
        kept.sort(key=lambda row: (row[0].worth, row[1]))
        return found._replace(found=tuple(one for _, _, one in kept)), tuple(bill for bill, _, _ in kept)


def lacking_words(bill: StockBill | None) -> str:
    """What has to be got, in words."""
    if bill is None or not bill.lacking:
        return "nothing"
    return ", ".join(f"{number} {name}" for name, number in bill.lacking)
