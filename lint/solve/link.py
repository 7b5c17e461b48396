"""A part of the chain that leads to another."""

from typing import NamedTuple


class Link(NamedTuple):
    """One part of a chain in a passing state: torque [N*m] and speed [rad/s] that leave it, its direction then."""

    part: int
    torque: float
    speed: float
    increasing: bool
