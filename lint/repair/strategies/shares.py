"""Other shares at a splitter: those its item offers, or just enough where it takes any."""

import math
from collections.abc import Iterator
from itertools import islice, permutations

from lineshaft.repair.line.demand import Demand
from lineshaft.repair.strategies.draft import Draft
from lineshaft.repair.strategies.goal import Goal, demand_below
from lineshaft.repair.strategies.strength import Strength
from lineshaft.solve.solved_rig import SolvedRig

MOST_ORDERS = 720
Row = tuple[float, ...]


def rows(rig: SolvedRig, splitter: int, outlet: int, goal: Goal, strength: Strength, waste: bool) -> Iterator[Row]:
    """Shares that every outlet but ``outlet`` can live with by plain arithmetic."""
    part = rig.parts[splitter]
    demands = [demand_at(rig, splitter, k, goal, strength, waste) for k in range(len(part.outlets))]
    speed = rig.flows.speed_out[splitter]
    for row in _offered(rig, splitter, outlet, demands[outlet]):
        torques = torque_by_outlet(rig, splitter, row)
        others = (demand for k, demand in enumerate(demands) if k != outlet)
        given = (torque for k, torque in enumerate(torques) if k != outlet)
        if all(demand is None or demand.met(torque, speed) for demand, torque in zip(others, given, strict=True)):
            yield row


def torque_by_outlet(rig: SolvedRig, splitter: int, row: Row) -> Row:
    """The torque [N*m] that each outlet gets with other shares."""
    return tuple(rig.flows.passed[splitter] * weight / sum(row) for weight in row)


def demand_at(
    rig: SolvedRig, splitter: int, outlet: int, goal: Goal, strength: Strength, waste: bool
) -> Demand | None:
    """What may leave an outlet; none where it drives nothing."""
    below = rig.train.driven.get((splitter, outlet))
    if below is None:
        return None
    inlet = rig.parts[below].inlets.index((splitter, outlet))
    return demand_below(rig, (below, inlet), goal, strength, waste)


def share_draft(rig: SolvedRig, splitter: int, row: Row) -> tuple[Draft, str]:
    """The draft that writes shares, and its title."""
    part = rig.parts[splitter]
    words = ", ".join(f"{name}: {weight:.12g}" for name, weight in zip(part.outlets, row, strict=True))
    return Draft(rig, settings={(splitter, "shares"): f"{{{words}}}"}), f"share {part.name} {{{words}}}"


def _offered(rig: SolvedRig, splitter: int, outlet: int, demand: Demand | None) -> Iterator[Row]:
    part = rig.parts[splitter]
    if part.item.shares is None:
        if demand is not None:
            yield from _just_enough(rig, splitter, outlet, demand)
        return
    own = _shares_of(part.shares)
    seen = {own}
    for offered in part.item.shares:
        for row in sorted(set(islice(permutations(offered), MOST_ORDERS))):
            if len(row) == len(part.outlets) and _shares_of(row) not in seen:
                seen.add(_shares_of(row))
                yield row


def _shares_of(row: Row) -> Row:
    return tuple(round(weight / sum(row), 9) for weight in row)


def _just_enough(rig: SolvedRig, splitter: int, outlet: int, demand: Demand) -> Iterator[Row]:
    """The others' weights as they are, and the outlet's as large or small as it has to be, to three figures."""
    part, passed = rig.parts[splitter], rig.flows.passed[splitter]
    others = sum(part.shares) - part.shares[outlet]
    now = passed * part.shares[outlet] / sum(part.shares)
    least, most = _wanted(demand, rig.flows.speed_out[splitter])
    wanted = most if now > most else least if now < least else now
    share = wanted / passed if passed > 0 else 0.0
    if not 0 < share < 1 or wanted == now:
        return
    weight = others * share / (1 - share)
    step = 10 ** (math.floor(math.log10(weight)) - 2)
    # Rounded away from the bound, so that what was too much or too little is not so again.
    whole = math.floor(weight / step + 1e-9) if wanted < now else math.ceil(weight / step - 1e-9)
    row = list(part.shares)
    row[outlet] = float(f"{whole * step:.3g}")
    yield tuple(row)


def _wanted(demand: Demand, speed: float) -> tuple[float, float]:
    """The least and greatest torque [N*m] that an outlet may give at its speed."""
    return demand.least_torque(speed), demand.torque[1]
