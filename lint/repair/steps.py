"""The safe commissioning list as a move: simulated by the solver, spliced in place of the list that fails."""

from collections.abc import Iterator

from lineshaft.repair.commissioning_block import block_splice
from lineshaft.repair.part_edits import edit
from lineshaft.repair.ways import Move
from lineshaft.solve.safe_list import SafeList, safe_list
from lineshaft.solve.solved_rig import SolvedRig


def safe_list_move(rig: SolvedRig) -> Iterator[Move]:
    """The rig with a safe commissioning list, where there is one."""
    listed = safe_list(rig.train, rig.flows)
    if isinstance(listed, SafeList):
        tree = rig.rig.tree
        splice = block_splice(tree, listed.steps, rig.parts)
        verb = "reorder" if rig.rig.has_commissioning else "add"
        change = edit(tree, splice.start, splice.end, splice.text.replace("\r\n", "\n"))
        yield Move(f"{verb} the commissioning list: a safe one of {len(listed.steps)} steps", (change,), ())
