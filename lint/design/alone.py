"""One machine on one free outlet: the lines that sizing finds for it, each as a whole rig."""

from collections.abc import Iterator

from lineshaft.design.finishing import finished
from lineshaft.design.proposal import Proposal, proposal_of
from lineshaft.design.wish import Served, Source
from lineshaft.repair.edits.parts import set_inlet
from lineshaft.repair.edits.splice import spliced, splices_of
from lineshaft.repair.proof.context import RepairContext
from lineshaft.repair.size import Sizing, size
from lineshaft.repair.strategies.line_draft import reference
from lineshaft.schema.model.stock import Inventory


def sized_alone(context: RepairContext, machine: Served, source: Source) -> Sizing:
    """The sizing of a machine that is connected, in memory, to a free outlet."""
    rig = context.rig
    part = rig.parts[machine.part]
    edits = (set_inlet(part, 0, reference(rig, (source.part, source.outlet))),)
    text = rig.rig.tree.source
    connected = context.with_text(spliced(text.text, splices_of(text, edits)))
    return size(connected, connected.rig.rig.index[part.name], machine.wanted)


def alone(
    context: RepairContext, sizing: Sizing, machine: Served, source: Source, stock: Inventory | None
) -> Iterator[Proposal]:
    """The proved designs of a sizing, cheapest first."""
    for sized in sizing.found:
        proved, _ = finished(context, sized.edited_rig.text)
        if proved is not None:
            names = context.rig.parts[source.part].name, context.rig.parts[machine.part].name
            title = f"{names[1]} on {names[0]}: {sized.chain.words}"
            yield proposal_of(context, proved, title, ("one", source[:2], machine.part), stock)
