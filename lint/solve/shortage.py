"""A need of a machine that is not met."""

from typing import Literal, NamedTuple

Quantity = Literal["torque", "speed", "power"]


class Shortage(NamedTuple):
    """One need that is not met: what arrives and what is needed, both in N*m, rad/s or W."""

    quantity: Quantity
    arrives: float
    needed: float
