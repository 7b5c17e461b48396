"""What a part stands, with the margin that the policy asks for; the grade of an item that stands what it has to."""

from dataclasses import dataclass, field
from typing import NamedTuple

from lineshaft.schema.model.catalogue import Item
from lineshaft.schema.model.rig import Part
from lineshaft.schema.read.part_reader import limits_of
from lineshaft.solve.application_factor import application_factors
from lineshaft.solve.limits import over, speed_carried, torque_carried
from lineshaft.solve.solved_rig import SolvedRig

ENDLESS = float("inf")


class Load(NamedTuple):
    """What a part carries: the larger of inlet and outlet, torque [N*m] and speed [rad/s]."""

    torque: float
    speed: float


class Make(NamedTuple):
    """An item in a grade (none where it has one or none of its own), and what it stands [N*m, rad/s]."""

    item: Item
    grade: str | None
    torque: float
    speed: float

    def stands(self, load: Load) -> bool:
        """Whether a load is within both limits."""
        return not over(load.torque, self.torque) and not over(load.speed, self.speed)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Strength:
    """Limits in one line of a rig: the plain ones over the policy's margins and the line's application factor.

    ``torque_reserve`` and ``speed_reserve`` are 1 or more; a new part that has less than them in hand would make a
    new finding.
    """

    rig: SolvedRig
    torque_reserve: float
    speed_reserve: float
    _makes: dict[str, tuple[Make, ...]] = field(default_factory=dict)

    def makes(self, item: Item) -> tuple[Make, ...]:
        """The grades an item may be made in, weakest first; one entry where it leaves no choice."""
        known = self._makes.get(item.name)
        if known is None:
            known = self._makes[item.name] = self._made(item)
        return known

    def _made(self, item: Item) -> tuple[Make, ...]:
        names: tuple[str | None, ...] = (None,)
        if item.chooses_grade:
            names = tuple(g for g in item.grades if g not in self.rig.policy.forbidden_grades)
        found = []
        for name in names:
            _, torque, speed = limits_of(self.rig.catalogue, item, name)
            found.append(
                Make(
                    item,
                    name,
                    ENDLESS if torque is None else torque / self.torque_reserve,
                    ENDLESS if speed is None else speed / self.speed_reserve,
                )
            )
        return tuple(sorted(found, key=lambda make: (make.torque, make.speed, make.grade or "")))

    def allowed(self, number: int, must_hold: bool) -> Load:
        """What a part that stays may carry: its limits; or, unless it has to hold, what it carries now."""
        part = self.rig.parts[number]
        torque = ENDLESS if part.torque_limit is None else part.torque_limit / self.torque_reserve
        speed = ENDLESS if part.speed_limit is None else part.speed_limit / self.speed_reserve
        if not must_hold and self.rig.flows.solved[number]:
            torque = max(torque, torque_carried(self.rig.flows, number))
            speed = max(speed, speed_carried(self.rig.flows, number))
        return Load(torque, speed)


def strength_of(rig: SolvedRig, line: int, margins: bool) -> Strength:
    """The strength that counts in the line of a part; plain limits unless ``margins`` are judged."""
    if not margins:
        return Strength(rig, 1.0, 1.0)
    policy = rig.policy
    factor = application_factors(rig.train)[line] if policy.application_factors else 1.0
    return Strength(rig, max(1.0, policy.torque_margin * factor), max(1.0, policy.speed_margin))


def written_grade(part: Part) -> str | None:
    """The grade that a part names itself, where its item leaves a choice."""
    return part.grade.name if part.grade is not None and part.item.chooses_grade else None
