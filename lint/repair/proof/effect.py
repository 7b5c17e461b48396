"""What a proved repair does: to the rig (setting, substitution, redesign), to the bill, to every machine."""

import math

from lineshaft.bill_of_materials import Bill, bill, difference
from lineshaft.check.finding import Edit, Effect
from lineshaft.check.judged_finding import MachineChange, Repair
from lineshaft.solve.limits import EQUAL
from lineshaft.solve.machine_output import shortages
from lineshaft.solve.movements import rate
from lineshaft.solve.solved_rig import SolvedRig

_LARGEST = math.nextafter(math.inf, 0.0)


def repair_of(
    title: str, edits: tuple[Edit, ...], before: SolvedRig, after: SolvedRig, *, only_name: bool = False
) -> Repair:
    """A proved repair with its measured effect; ``only_name``: it sets a name to the only one that it can mean."""
    goods, worth = difference(before.once(_bill), after.once(_bill))
    # A worth past the largest float is written as that, which every reader of JSON takes.
    worth = 0.0 if math.isnan(worth) else max(-_LARGEST, min(worth, _LARGEST))
    added = len(after.parts) - len(before.parts)
    effect = _effect(before, after)
    safe = only_name or effect == "setting"
    return Repair(title, effect, worth, goods, machine_changes(before, after), edits, added, safe, only_name)


def _bill(rig: SolvedRig) -> Bill:
    return bill(rig.parts, rig.catalogue)


def _effect(before: SolvedRig, after: SolvedRig) -> Effect:
    """Redesign where parts come, go or are driven otherwise; substitution where a part is another item or version."""
    old = {part.name: part for part in before.parts}
    if old.keys() != {part.name for part in after.parts}:
        return "redesign"
    changed = False
    for part in after.parts:
        was = old[part.name]
        if _drivers(before, was.inlets) != _drivers(after, part.inlets):
            return "redesign"
        if part.item.name != was.item.name or part.grade != was.grade or part.ratio != was.ratio:
            changed = True
    return "substitution" if changed else "setting"


def _drivers(rig: SolvedRig, inlets: tuple[tuple[int, int], ...]) -> list[tuple[str, int]]:
    return [(rig.parts[source].name, outlet) for source, outlet in inlets]


def machine_changes(before: SolvedRig, after: SolvedRig) -> tuple[MachineChange, ...]:
    """Every machine whose rate a change changes; those that go have none afterwards."""
    changes = []
    for number, part in enumerate(before.parts):
        if part.item.kind != "driven-machine":
            continue
        now = after.rig.index.get(part.name)
        old = rate(before, number)
        new = None if now is None else rate(after, now)
        if old != new and (old is None or new is None or abs(new - old) > EQUAL * old):
            changes.append(MachineChange(part.name, old, new))
    return tuple(changes)


def starved(rig: SolvedRig) -> frozenset[str]:
    """The machines that are short of something they need, so that they make nothing."""
    return frozenset(part.name for number, part in enumerate(rig.parts) if is_starved(rig, number))


def is_starved(rig: SolvedRig, number: int) -> bool:
    """Whether a part is a machine that is short of something it needs."""
    part, flows = rig.parts[number], rig.flows
    if part.item.kind != "driven-machine" or not flows.solved[number]:
        return False
    return bool(shortages(part, flows.torque_in[number], flows.speed_in[number]))
