"""What a proved repair does: to the rig (setting, substitution, redesign), to the bill, to every machine."""

import math
from collections import Counter
from collections.abc import Iterable, Sequence

from lineshaft.bill_of_materials import Bill, bill_of_goods, difference, goods_of_all
from lineshaft.check.finding import Edit, Effect
from lineshaft.check.judged_finding import MachineChange, MachineState, Repair
from lineshaft.solve.limits import EQUAL
from lineshaft.solve.machine_output import shortages
from lineshaft.solve.movements import rate
from lineshaft.solve.solved_rig import SolvedRig

_LARGEST = math.nextafter(math.inf, 0.0)


def repair_of(
    title: str,
    edits: tuple[Edit, ...],
    before: SolvedRig,
    after: SolvedRig,
    was: Sequence[int] | None = None,
    *,
    only_name: bool = False,
) -> Repair:
    """A proved repair with its measured effect; ``only_name``: it sets a name to the only one that it can mean.

    Where ``after`` is but the lines that the edits touch, ``was`` are the numbers of the parts on them before.
    """
    known = range(len(before.parts)) if was is None else was
    goods, worth = difference(before.once(_bill), _bill_after(before, after, known))
    # A worth past the largest float is written as that, which every reader of JSON takes.
    worth = 0.0 if math.isnan(worth) else max(-_LARGEST, min(worth, _LARGEST))
    added = len(after.parts) - len(known)
    effect = _effect(before, after, known)
    safe = only_name or effect == "setting"
    changes = machine_changes(before, after, known)
    return Repair(title, effect, worth, goods, changes, edits, added, safe, only_name)


def _goods(rig: SolvedRig) -> "Counter[str]":
    return goods_of_all(rig.parts)


def _bill(rig: SolvedRig) -> Bill:
    return bill_of_goods(rig.once(_goods), rig.catalogue)


def _bill_after(before: SolvedRig, after: SolvedRig, was: Iterable[int]) -> Bill:
    """The whole bill with the parts of ``after`` in place of some; batches are rounded up over all of them."""
    goods = Counter(before.once(_goods))
    goods.subtract(goods_of_all(before.parts[number] for number in was))
    goods.update(goods_of_all(after.parts))
    return bill_of_goods(goods, after.catalogue)


def _effect(before: SolvedRig, after: SolvedRig, was: Iterable[int]) -> Effect:
    """Redesign where parts come, go or are driven otherwise; substitution where a part is another item or version."""
    old = {before.parts[number].name: before.parts[number] for number in was}
    if old.keys() != {part.name for part in after.parts}:
        return "redesign"
    changed = False
    for part in after.parts:
        known = old[part.name]
        if _drivers(before, known.inlets) != _drivers(after, part.inlets):
            return "redesign"
        if part.item.name != known.item.name or part.grade != known.grade or part.ratio != known.ratio:
            changed = True
    return "substitution" if changed else "setting"


def _drivers(rig: SolvedRig, inlets: tuple[tuple[int, int], ...]) -> list[tuple[str, int]]:
    return [(rig.parts[source].name, outlet) for source, outlet in inlets]


def machine_changes(
    before: SolvedRig, after: SolvedRig, was: Iterable[int] | None = None
) -> tuple[MachineChange, ...]:
    """Every machine that a change lets work at another rate or fare otherwise; those that go have no rate afterwards.

    Of ``was``, the numbers of some parts before, where ``after`` is but the lines that these are on.
    """
    changes = []
    for number in range(len(before.parts)) if was is None else was:
        part = before.parts[number]
        if part.item.kind != "driven-machine":
            continue
        now = after.rig.index.get(part.name)
        old = rate(before, number)
        new = None if now is None else rate(after, now)
        fared, fares = _state(before, number), "gone" if now is None else _state(after, now)
        # Most machines have no work table, so that of them only the states tell what becomes of them.
        if fared != fares or (old is not None and new is not None and abs(new - old) > EQUAL * old):
            changes.append(MachineChange(part.name, old, new, fared, fares))
    return tuple(changes)


def _state(rig: SolvedRig, number: int) -> MachineState:
    """How a machine fares; one that nothing turns is at rest, whatever it needs."""
    if not rig.flows.solved[number]:
        return "not-solved"
    if not rig.flows.speed_in[number]:
        return "at-rest"
    return "short" if is_starved(rig, number) else "served"


def starved(rig: SolvedRig) -> frozenset[str]:
    """The machines that are short of something they need, so that they make nothing."""
    machines = (number for number, part in enumerate(rig.parts) if part.item.kind == "driven-machine")
    return frozenset(rig.parts[number].name for number in machines if is_starved(rig, number))


def starved_after(before: SolvedRig, near: SolvedRig, was: Sequence[int] | None) -> frozenset[str]:
    """The same of an edited rig, by the lines that the edits touch: ``was`` are the parts that were on them before."""
    if was is None:
        return starved(near)
    return before.once(starved) - {before.parts[number].name for number in was} | starved(near)


def is_starved(rig: SolvedRig, number: int) -> bool:
    """Whether a part is a machine that is short of something it needs."""
    part, flows = rig.parts[number], rig.flows
    if part.item.kind != "driven-machine" or not flows.solved[number]:
        return False
    return bool(shortages(part, flows.torque_in[number], flows.speed_in[number]))
