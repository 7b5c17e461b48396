"""Moves in the start-up: a safe list simulated by the solver, or one step before the first turn."""

from collections.abc import Iterator

from lineshaft.check.finding import Edit
from lineshaft.repair.edits.commissioning_block import block_splice, entry
from lineshaft.repair.edits.entries import edit
from lineshaft.repair.edits.entry_text import is_flow
from lineshaft.repair.edits.parts import add_items, add_steps
from lineshaft.repair.strategies.proposal import Proposal
from lineshaft.schema.quantities.quantity import litres_text
from lineshaft.solve.commissioning import commissioning_of
from lineshaft.solve.safe_list import ListedStep, SafeList, safe_list
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.start_up_judge import Difference


def safe_list_move(rig: SolvedRig) -> Iterator[Proposal]:
    """The rig with a commissioning list in a safe order; safe but for what breaks in any order.

    That is a finding of the declared rig, which stays and is mended by itself. A blueprint starts nothing, so it gets
    no such list.
    """
    if rig.rig.placed.alone:
        return
    listed = safe_list(rig.train, rig.flows)
    if listed.steps:
        tree = rig.rig.tree
        splice = block_splice(tree, listed.steps, rig.parts)
        verb = "write the commissioning list anew" if rig.rig.has_commissioning else "add a commissioning list"
        what = f"a safe one of {len(listed.steps)} steps"
        if not isinstance(listed, SafeList):
            broken = rig.parts[listed.part].name
            what = f"{len(listed.steps)} steps; not to be started before {broken} is mended, which breaks in any order"
        change = edit(tree, splice.start, splice.end, splice.text.replace("\r\n", "\n"))
        yield _setting(f"{verb}: {what}", (change,))


def complete_list(rig: SolvedRig) -> Iterator[Proposal]:
    """The steps that the list lacks to end as declared: directions first, the rest at the end."""
    tree = rig.rig.tree
    differences = commissioning_of(rig).differences
    steps = [(d.what == "direction", _lacking(rig, d)) for d in differences]
    first = [entry(step, rig.parts) for before, step in steps if before]
    last = [entry(step, rig.parts) for before, step in steps if not before]
    flow = bool(differences) and is_flow(tree, ("commissioning",))
    edits: list[Edit | None] = []
    if first:
        edits.append(add_steps(tree, 0, first))
    if last:
        edits += add_items(tree, ("commissioning",), [f"{{{step}}}" if flow else step for step in last]) or [None]
    written = tuple(change for change in edits if change is not None)
    if written and len(written) == len(edits):
        yield _setting(f"add what the list lacks: {'; '.join([*first, *last])}", written)


def _lacking(rig: SolvedRig, difference: Difference) -> ListedStep:
    part = rig.parts[difference.part]
    match difference.what:
        case "direction":
            return ListedStep("set", difference.part, to=part.direction)
        case "clutch":
            return ListedStep("engage" if part.engaged else "disengage", difference.part)
    return ListedStep("start", difference.part)


def fill_first(rig: SolvedRig, number: int) -> Iterator[Proposal]:
    """A fill of all that a part holds, before the first step."""
    need, name = rig.parts[number].item.lubricant, rig.parts[number].name
    if need is not None:
        added = add_steps(rig.rig.tree, 0, (entry(ListedStep("fill", number, amount=need.holds), rig.parts),))
        if added is not None:
            yield _setting(f"fill {name} with {litres_text(need.holds)} before the start", (added,))


def set_first(rig: SolvedRig, number: int) -> Iterator[Proposal]:
    """A stage set the way it is wanted, before the first step; in a blueprint, which starts nothing, at the end."""
    part = rig.parts[number]
    if rig.rig.placed.alone:
        yield from _set_in_blueprint(rig, number)
    elif part.direction is not None:
        added = add_steps(rig.rig.tree, 0, (entry(ListedStep("set", number, to=part.direction), rig.parts),))
        if added is not None:
            yield _setting(f"set {part.name} to {part.direction} before the start", (added,))


def _set_in_blueprint(rig: SolvedRig, number: int) -> Iterator[Proposal]:
    """The last word of a blueprint's own list, or its first list; that sets all that is not as it is meant to be."""
    tree, part = rig.rig.tree, rig.parts[number]
    written = tree.at(("parts", part.name, "set"))
    if isinstance(written, str) and written.startswith("$"):
        return  # another direction for another use: only a list that hands it on would hold
    if tree.at(("commissioning",)) is not None:
        step = entry(ListedStep("set", number, to=part.direction), rig.parts)
        flow = is_flow(tree, ("commissioning",))
        added = add_items(tree, ("commissioning",), [f"{{{step}}}" if flow else step])
        if added is not None:
            yield _setting(f"set {part.name} to {part.direction} at the end of its list", tuple(added))
        return
    wrong = [turn.stage for turn in commissioning_of(rig).wrong_turns]
    steps = [ListedStep("set", stage, to=rig.parts[stage].direction) for stage in wrong]
    splice = block_splice(tree, steps, rig.parts)
    change = edit(tree, splice.start, splice.end, splice.text.replace("\r\n", "\n"))
    names = ", ".join(f"{rig.parts[step.part].name} to {step.to}" for step in steps[:3])
    more = f" and {len(steps) - 3} more" if len(steps) > 3 else ""
    yield _setting(f"add a commissioning list that sets {names}{more}", (change,))


def _setting(title: str, edits: tuple[Edit, ...]) -> Proposal:
    """A proposal that adds nothing to the rig: of two such either does as well as the other, so one is enough."""
    return Proposal(0.0, 0, title, frozenset({("start-up", 0)}), edits)
