"""A blueprint that promises less at its inlets: no more than what its parts stand."""

import math
import re
from collections.abc import Iterator

from lineshaft.check.finding import Edit
from lineshaft.repair.edits.entries import edit
from lineshaft.repair.strategies.goal import Goal, allowed, carried
from lineshaft.repair.strategies.proposal import Proposal
from lineshaft.repair.strategies.strength import Strength
from lineshaft.schema.text.span import Route
from lineshaft.solve.solved_rig import SolvedRig

_QUANTITY = re.compile(r"(\d+(?:\.\d*)?(?:[eE][+-]?\d+)?)(\s*\D.*)", re.ASCII)
_FIGURES = 3


def lower_promise(rig: SolvedRig, goal: Goal, strength: Strength) -> Iterator[Proposal]:
    """Of a blueprint judged alone: as much less at every inlet above a part as the part is over its limit.

    Torque and speed grow with those at the inlets, so the same share off each is enough; rounded down to three figures.
    """
    has, may = carried(rig, goal.part), allowed(strength, goal.part, goal)
    key, factor = ("torque-up-to", may.torque / has.torque) if goal.torque else ("speed-up-to", may.speed / has.speed)
    inlets = [rig.parts[number].name for number in sorted(rig.train.above(goal.part) & rig.rig.placed.edges)]
    lowered = [_lowered(rig, ("inlets", name, key), factor) for name in inlets]
    edits = tuple(change for change in lowered if change is not None)
    if edits and len(edits) == len(lowered):
        said = " and ".join(f"{change.text} at {name}" for change, name in zip(edits, inlets, strict=True))
        traits = frozenset(("promise", name) for name in inlets)
        yield Proposal(0.0, 0, f"promise to stand no more than {said}", traits, edits)


def _lowered(rig: SolvedRig, route: Route, factor: float) -> Edit | None:
    """A quantity as a share of itself, in the unit that it is written in; none where it is not written out."""
    tree = rig.rig.tree
    written = tree.at(route)
    found = _QUANTITY.fullmatch(written) if isinstance(written, str) else None
    value = float(found[1]) * factor if found else 0.0
    if found is None or not 0 < value < math.inf or factor >= 1:
        return None
    step = 10.0 ** (math.floor(math.log10(value)) - _FIGURES + 1)
    rounded = float(f"{math.floor(value / step + 1e-9) * step:.{_FIGURES}g}")
    start, end = tree.slice(route)
    return edit(tree, start, end, f"{rounded:.12g}{found[2]}")
