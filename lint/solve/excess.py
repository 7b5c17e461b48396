"""A value that leaves what is reckoned with."""

from typing import Literal, NamedTuple

Quantity = Literal["torque", "speed", "power"]


class Excess(NamedTuple):
    """A part at which a torque [N*m], speed [rad/s] or power [W] leaves what is reckoned with, LEAST to MOST."""

    part: int
    quantity: Quantity
    value: float
