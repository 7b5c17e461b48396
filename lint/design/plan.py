"""The designs of a wish: what is looked for, in which order, and how the search ended."""

from typing import NamedTuple

from lineshaft.check.finding import Text
from lineshaft.design.alone import alone, sized_alone
from lineshaft.design.front import Shown, shown
from lineshaft.design.proposal import Proposal
from lineshaft.design.wish import Wish, lack_of_power
from lineshaft.repair.proof.context import RepairContext
from lineshaft.repair.size_reasons import why_none
from lineshaft.schema.model.stock import Inventory


class Asked(NamedTuple):
    """What a design may cost at most and how many parts it may add; the stock that it is ordered by."""

    most_cost: float | None = None
    most_parts: int | None = None
    stock: Inventory | None = None
    within_stock: bool = False

    def allows(self, proposal: Proposal) -> bool:
        """Whether a design keeps to it."""
        if self.most_cost is not None and proposal.price > self.most_cost * (1 + 1e-9):
            return False
        if self.most_parts is not None and proposal.repair.parts_added > self.most_parts:
            return False
        return not (self.within_stock and proposal.owned is not None and proposal.owned.lacking)


class Designs(NamedTuple):
    """What was found: the designs to show; whether there is nothing beyond; why there is none."""

    wish: Wish
    shown: tuple[Shown, ...]
    complete: bool
    reason: Text = ()
    stock: Inventory | None = None


def designs_of(context: RepairContext, wish: Wish, asked: Asked) -> Designs:
    """Every design that is worth to be shown, within the bounds."""
    lack = lack_of_power(context.rig, wish)
    if lack is not None:
        return Designs(wish, (), True, lack)
    machine, source = wish.machines[0], wish.sources[0]
    if len(wish.machines) > 1 or len(wish.sources) > 1:
        return Designs(wish, (), False, ("so far one machine on one free outlet is designed, not several together",))
    sizing = sized_alone(context, machine, source)
    found = [*alone(context, sizing, machine, source, asked.stock)]
    kept = [proposal for proposal in found if asked.allows(proposal)]
    if kept:
        return Designs(wish, shown(kept), sizing.complete, (), asked.stock)
    if found:
        return Designs(wish, (), sizing.complete, _dearer(found))
    return Designs(wish, (), sizing.complete, why_none(context.rig, sizing))


def _dearer(found: list[Proposal]) -> Text:
    least = min(found, key=lambda one: one.price)
    few = min(found, key=lambda one: one.repair.parts_added)
    said = f"the cheapest costs {least.price:.6g}, and the one of fewest parts adds {few.repair.parts_added}"
    return (f"every design goes beyond what is allowed: {said}",)
