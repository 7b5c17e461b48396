"""What a rig that is laid out lacks to be run: lubricant for its stages and a safe start-up list; proved in whole.

Tried in this order: the list as it is written, fills, places on circuits that are there, new circuits with a charge.
"""

import math
from collections.abc import Iterator

from lineshaft.check.finding import Edit
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.design.proposal import against as speaking
from lineshaft.design.proposal import holds
from lineshaft.repair.edits.commissioning_block import added_section, block_splice
from lineshaft.repair.edits.entries import add_behind
from lineshaft.repair.edits.entry_text import keys_at
from lineshaft.repair.edits.parts import add_items
from lineshaft.repair.edits.splice import Splice, spliced, splices_of
from lineshaft.repair.proof.context import RepairContext
from lineshaft.schema.quantities.quantity import litres_text
from lineshaft.schema.text.scalar_text import scalar_text
from lineshaft.solve.safe_list import SafeList, safe_list
from lineshaft.solve.solved_rig import SolvedRig

_ABOUT_STARTING = frozenset({
    "direction-before-commissioning", "commissioning-overload", "commissioning-incomplete", "lubricant-missing",
    "lubricant-shortfall", "lubricant-loop", "lubricant-overfill",
})  # fmt: skip


def finished(context: RepairContext, text: str) -> tuple[RepairContext | None, JudgedFinding | None]:
    """A rig with parts laid out, made ready to run and proved; or the first finding that speaks against it."""
    laid = context.with_text(text)
    against = speaking(laid)
    if against is not None and (laid.rig.unsolved or against.rule not in _ABOUT_STARTING):
        return None, against
    if context.rig.rig.has_commissioning and against is None and holds(laid):
        return laid, None
    for oiled in _oiled(laid):
        listed = _started(oiled)
        if listed is None:
            continue
        if holds(listed):
            return listed, None
        against = speaking(listed) or against
    return None, against


def _started(laid: RepairContext) -> RepairContext | None:
    """The rig with a safe list in place of its own; none where no order is safe."""
    rig = laid.rig
    found = safe_list(rig.train, rig.flows)
    if not isinstance(found, SafeList):
        return None
    tree = rig.rig.tree
    return laid.with_text(spliced(tree.source.text, (block_splice(tree, found.steps, rig.parts),)))


def _oiled(laid: RepairContext) -> Iterator[RepairContext]:
    """The rig with its stages to be filled; with them on circuits that it has; with them on new ones."""
    yield laid
    rig = laid.rig
    bare = _bare(rig)
    if not bare:
        return
    edits = _on_circuits(rig, bare)
    if edits:
        source = rig.rig.tree.source
        yield laid.with_text(spliced(source.text, splices_of(source, edits)))
    splices = _new_circuits(rig, bare)
    if splices:
        yield laid.with_text(spliced(rig.rig.tree.source.text, splices))


def _bare(rig: SolvedRig) -> dict[str, list[int]]:
    """By lubricant the stages that no circuit feeds."""
    fed = {number for circuit in rig.rig.circuits for number in circuit.feeds}
    found: dict[str, list[int]] = {}
    for number, part in enumerate(rig.parts):
        if part.item.lubricant is not None and number not in fed:
            found.setdefault(part.item.lubricant.kind, []).append(number)
    return found


def _on_circuits(rig: SolvedRig, bare: dict[str, list[int]]) -> list[Edit]:
    found: list[Edit] = []
    for kind, numbers in bare.items():
        circuit = next((c for c in rig.rig.circuits if c.lubricant == kind), None)
        if circuit is not None:
            names = [scalar_text(rig.parts[number].name) for number in numbers]
            found += add_items(rig.rig.tree, (*circuit.route, "feeds"), names) or []
    return found


def _new_circuits(rig: SolvedRig, bare: dict[str, list[int]]) -> list[Splice]:
    """A circuit for each lubricant, its tank as large as its charge has to be to last."""
    tree = rig.rig.tree
    there = keys_at(tree, ("lubrication",)) if tree.at(("lubrication",)) is not None else []
    entries = [_circuit(rig, kind, numbers, {str(key) for key in there}) for kind, numbers in bare.items()]
    if there:
        indent = " " * (tree.source.position(tree.key_slice(("lubrication", there[-1]))[0]).column - 1)
        lines = [f"{indent}{entry}" for entry in entries]
        return list(splices_of(tree.source, add_behind(tree, ("lubrication", there[-1]), lines, entries)))
    return [added_section(tree, "lubrication", entries, "{" + ", ".join(entries) + "}")]


def _circuit(rig: SolvedRig, kind: str, numbers: list[int], taken: set[str]) -> str:
    needs = [need for number in numbers if (need := rig.parts[number].item.lubricant) is not None]
    litres = max(1, math.ceil(math.fsum(need.uses for need in needs) * rig.policy.run_dry_after * (1 + 1e-9)))
    name = next(n for n in (kind, *(f"{kind}-{k}" for k in range(2, 99))) if n not in taken)
    feeds = ", ".join(scalar_text(rig.parts[number].name) for number in numbers)
    tank = f"{{holds: {litres_text(litres)}, charge: {litres_text(litres)}}}"
    return f"{scalar_text(name)}: {{lubricant: {scalar_text(kind)}, tank: {tank}, feeds: [{feeds}]}}"
