"""A proved design with the line to one of its machines sized anew, by the whole bill: cheaper, or faster for more."""

from collections.abc import Iterator

from lineshaft.design.finishing import finished
from lineshaft.design.proposal import Proposal, proposal_of
from lineshaft.design.wish import Wish
from lineshaft.repair.proof.context import RepairContext
from lineshaft.repair.size import size
from lineshaft.schema.model.stock import Inventory

MOST_LINES = 4
"""Lines that are taken for one machine."""


def regeared(context: RepairContext, proposal: Proposal, wish: Wish, stock: Inventory | None) -> Iterator[Proposal]:
    """The design with another line to each machine that it was made for, the most important first; each proved."""
    laid = context.with_text(proposal.text)
    for machine in wish.machines:
        name = context.rig.parts[machine.part].name
        number = laid.rig.rig.index[name]
        if not any(machine.wanted[:3]):
            continue
        for sized in size(laid, number, machine.wanted).found[:MOST_LINES]:
            if sized.edited_rig.text == proposal.text:
                continue
            proved, _ = finished(context, sized.edited_rig.text)
            if proved is not None:
                title = f"{proposal.title}; but {name} by {sized.chain.words}"
                yield proposal_of(context, proved, title, proposal.topology, stock)
