"""Repairs as a report shows them: the rig before and after, drawn, the lines that change, what it costs.

They are numbered as `lineshaft repair` numbers them, so that what is shown is what `--apply` makes.
"""

from lineshaft.check.judged_finding import Repair
from lineshaft.repair.plan.listing import grouped, mends_all, plans_of, repairs_of
from lineshaft.repair.proof.context import RepairContext
from lineshaft.repair.proof.edited_rig import EditedRig
from lineshaft.report_model.compared import compared
from lineshaft.report_model.fold import folded, parts_at_fault
from lineshaft.report_model.record import PicturedRepair
from lineshaft.report_model.schematic import schematic
from lineshaft.write.line_changes import line_changes

MOST_PICTURED = 6
"""Repairs of one rig that are shown; `lineshaft repair` lists all."""
MOST_PARTS = 400
"""Parts of the largest rig whose repairs are drawn."""


def pictured_repairs(context: RepairContext) -> tuple[tuple[PicturedRepair, ...], int]:
    """The first repairs of a rig's list, and how many more it has; none of a rig too large to be drawn."""
    if len(context.rig.parts) > MOST_PARTS:
        return (), 0
    numbered = [
        (finding, repair, group) for group in grouped(plans_of(context)) for finding, repair in repairs_of(group)
    ]
    found = []
    for number, (finding, repair, group) in enumerate(numbered[:MOST_PICTURED], 1):
        edited = context.whole_edited_rig(repair.edits)
        if edited is not None:  # pragma: no branch - what is proved is the text read anew
            whole = mends_all(group, repair)
            mended = tuple(made.finding.fingerprint for made in group) if whole else (finding.fingerprint,)
            found.append(_one(context, number, repair, edited, mended))
    return tuple(found), len(numbered) - len(found)


def _one(
    context: RepairContext, number: int, repair: Repair, edited: EditedRig, mended: tuple[str, ...]
) -> PicturedRepair:
    source = context.rig.rig.tree.source
    before = folded(schematic(context.rig), parts_at_fault(context.findings))
    after = folded(schematic(edited.rig), parts_at_fault(edited.findings))
    pair = compared(before, after)
    lines = tuple(line_changes(source.text, edited.text, context.rig.file))
    return PicturedRepair(number, repair, mended, lines, pair[0], pair[1], edited.findings)
