"""Moves in the start-up: a safe list simulated by the solver, or one step before the first turn."""

from collections.abc import Iterator

from lineshaft.judge.finding import Edit
from lineshaft.repair.commissioning_block import block_splice
from lineshaft.repair.part_edits import add_steps, edit
from lineshaft.repair.proposal import Proposal
from lineshaft.solve.safe_list import SafeList, safe_list
from lineshaft.solve.solved_rig import SolvedRig


def safe_list_move(rig: SolvedRig) -> Iterator[Proposal]:
    """The rig with a safe commissioning list, where there is one."""
    listed = safe_list(rig.train, rig.flows)
    if isinstance(listed, SafeList):
        tree = rig.rig.tree
        splice = block_splice(tree, listed.steps, rig.parts)
        verb = "reorder" if rig.rig.has_commissioning else "add"
        change = edit(tree, splice.start, splice.end, splice.text.replace("\r\n", "\n"))
        yield _setting(f"{verb} the commissioning list: a safe one of {len(listed.steps)} steps", (change,), "list")


def fill_first(rig: SolvedRig, number: int) -> Iterator[Proposal]:
    """A fill of all that a part holds, before the first step."""
    need, name = rig.parts[number].item.lubricant, rig.parts[number].name
    if need is not None:
        added = add_steps(rig.rig.tree, 0, (f"fill: {{part: {name}, with: {need.holds:.12g} L}}",))
        if added is not None:
            yield _setting(f"fill {name} with {need.holds:g} L before the start", (added,), "fill")


def set_first(rig: SolvedRig, number: int) -> Iterator[Proposal]:
    """A stage set the way it is wanted, before the first step."""
    part = rig.parts[number]
    if part.direction is not None:
        added = add_steps(rig.rig.tree, 0, (f"set: {{part: {part.name}, to: {part.direction}}}",))
        if added is not None:
            yield _setting(f"set {part.name} to {part.direction} before the start", (added,), "set")


def _setting(title: str, edits: tuple[Edit, ...], trait: str) -> Proposal:
    """A proposal that adds nothing to the rig."""
    return Proposal(0.0, 0, title, frozenset({(trait, 0)}), edits)
