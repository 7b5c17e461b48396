"""What a generated rig is, in plain Python: enough for somebody else to solve it."""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

EDITION = "7"


@dataclass(slots=True)
class PlannedPart:
    """One part with what the maker reckoned for it (N*m, rad/s); ``driven_by`` names (part, outlet or none).

    ``torque_out`` of a splitter is its largest outlet, ``passed`` all it hands on; ``torque_in`` of a
    combiner is its largest inlet. ``weak_torque`` and ``weak_speed`` are grades that just fail it, with the
    limit each sets. ``in_branch`` marks stages between a splitter and the combiner that gathers it.
    """

    name: str
    kind: str
    item: str
    driven_by: tuple[tuple[str, str | None], ...] = ()
    ratio: Fraction | None = None
    ratio_text: str | int | float | None = None
    direction: str | None = None
    shares: tuple[tuple[str, float], ...] = ()
    efficiency: float = 1.0
    output: tuple[float, float] | None = None
    torque_in: float = 0.0
    speed_in: float = 0.0
    torque_out: float = 0.0
    speed_out: float = 0.0
    passed: float = 0.0
    grade: str | None = None
    torque_limit: float | None = None
    speed_limit: float | None = None
    weak_torque: tuple[str, float] | None = None
    weak_speed: tuple[str, float] | None = None
    in_branch: bool = False
    movers: int = 1
    settings: dict[str, Any] = field(default_factory=dict)

    @property
    def torque(self) -> float:
        """The larger of inlet and outlet torque [N*m]."""
        return max(self.torque_in, self.torque_out)

    @property
    def speed(self) -> float:
        """The larger of inlet and outlet speed [rad/s]."""
        return max(self.speed_in, self.speed_out)


@dataclass(frozen=True, slots=True)
class GeneratedRig:
    """A rig as text and as plan. ``data`` is what ``text`` says, for those that break it."""

    text: str
    catalogue_text: str
    plan: tuple[PlannedPart, ...]
    data: dict[str, Any]
    catalogue: str

    @property
    def by_name(self) -> dict[str, PlannedPart]:
        """The plan by part name."""
        return {part.name: part for part in self.plan}
