"""Limits and margins: what a part carries against what it may carry."""

from typing import Literal

from lineshaft.schema.model.catalogue import Grade, Item
from lineshaft.schema.model.rig import Part
from lineshaft.solve.steady_state import Flows

EQUAL = 1e-9
"""Relative difference that never counts: a part that carries exactly its limit holds."""


def over(value: float, limit: float) -> bool:
    """Whether a value is over its limit (any unit, the same for both)."""
    return value > limit * (1 + EQUAL)


def short(value: float, needed: float) -> bool:
    """Whether a value falls short of a need (any unit, the same for both)."""
    return value < needed * (1 - EQUAL)


def limit_of(of: Part | Item | Grade, quantity: Literal["torque", "speed"]) -> float | None:
    """What a part, an item or a grade may carry [N*m or rad/s]; none where that is not limited."""
    return of.torque_limit if quantity == "torque" else of.speed_limit


def torque_carried(flows: Flows, part: int) -> float:
    """The torque that counts against a limit [N*m]: the larger of inlet and outlet."""
    return max(flows.torque_in[part], flows.torque_out[part])


def speed_carried(flows: Flows, part: int) -> float:
    """The speed that counts against a limit [rad/s]: the larger of inlet and outlet."""
    return max(flows.speed_in[part], flows.speed_out[part])


def worst_share(part: Part, number: int, flows: Flows) -> float | None:
    """The larger share of a limit that a part uses, 1 at the limit; none where it has no limit."""
    shares = []
    if part.torque_limit is not None:
        shares.append(torque_carried(flows, number) / part.torque_limit)
    if part.speed_limit is not None:
        shares.append(speed_carried(flows, number) / part.speed_limit)
    return max(shares) if shares else None
