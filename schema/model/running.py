"""What a rig says beside its parts and their start-up: lubricant circuits, readings, waivers. SI values inside."""

from datetime import date
from typing import NamedTuple

from lineshaft.schema.text.span import Route


class Circuit(NamedTuple):
    """A lubricant circuit: tank [L], charge [L], the machine that supplies it and the parts it feeds (indices)."""

    name: str
    route: Route
    lubricant: str
    holds: float
    charge: float
    supplied_by: int | None
    feeds: tuple[int, ...]

    @property
    def members(self) -> tuple[int, ...]:
        """All parts on it: those that it feeds, and the machine that supplies it."""
        return self.feeds if self.supplied_by is None else (*self.feeds, self.supplied_by)


class Reading(NamedTuple):
    """What was read at a part's outlet (a machine's inlet): torque [N*m], speed [rad/s], relative tolerance."""

    route: Route
    part: int
    outlet: int
    at: str
    torque: float | None
    speed: float | None
    tolerance: float


class Waiver(NamedTuple):
    """What is waived: rule, part, how bad it may be, why and until when (that day included)."""

    route: Route
    rule: str
    part: str | None
    up_to: float | None
    reason: str
    until: date
