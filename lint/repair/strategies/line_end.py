"""The splitter or combiner that a line ends at, in the makes that may take its place; both are looked for together."""

from lineshaft.repair.line.segment import Kept, Make
from lineshaft.repair.strategies.goal import Goal, stays_apart
from lineshaft.repair.strategies.prices import Prices
from lineshaft.repair.strategies.segments import Line, is_own
from lineshaft.repair.strategies.stock import kept_part
from lineshaft.repair.strategies.strength import Strength
from lineshaft.solve.solved_rig import SolvedRig


def branching_at_end(rig: SolvedRig, line: Line, goal: Goal, strength: Strength, prices: Prices) -> Kept | None:
    """What a line ends at as a part that stays, its limits as limits on what leaves the line.

    None where it does not branch, nothing may take its place, or it is not the rig's to change. Its efficiency is told
    as a share of what it is now, since what is below it is reckoned with that.
    """
    if line.end is None or not is_own(rig, line.end[0]) or stays_apart(rig, line.end[0], goal):
        return None
    number, inlet = line.end
    part = rig.parts[number]
    if part.item.kind not in ("splitter", "combiner"):
        return None
    kept = kept_part(rig, number, goal, strength, prices)
    others = [rig.inlet_torque(number, k) for k in range(len(part.inlets)) if k != inlet]
    now = part.item.efficiency
    makes = tuple(
        _at_end(make, now, others)
        for make in kept.makes
        if not others or make.efficiency == now  # what the other lines bring would change too
    )
    return kept._replace(makes=makes) if len(makes) > 1 else None


def _at_end(make: Make, now: float, others: list[float]) -> Make:
    """A make with its limit on what leaves the line, where ``others`` [N*m] bring more; passing a share of ``now``."""
    limit, passes = make.torque, make.efficiency / now
    if not others:
        return make._replace(efficiency=passes, torque=limit * max(1.0, passes))
    left = min(limit, limit / make.efficiency - sum(others)) if max(others) <= limit else 0.0
    return make._replace(efficiency=passes, torque=left)
