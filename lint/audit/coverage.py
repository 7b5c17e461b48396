"""What no reading covers: parts at which nothing could be amiss so that a reading would show it."""

from collections.abc import Iterable
from typing import NamedTuple

from lineshaft.audit.diagnosis import Compared
from lineshaft.schema.model.rig import Part
from lineshaft.solve.drivetrain import Drivetrain

_CHANGE_TORQUE = frozenset({"prime-mover", "gear-stage", "right-angle", "splitter"})


class Coverage(NamedTuple):
    """Parts (indices): nothing is read at or below ``nothing``; of ``torque`` only speed is, so no loss would show."""

    nothing: tuple[int, ...]
    torque: tuple[int, ...]


def coverage(train: Drivetrain, compared: Iterable[Compared]) -> Coverage:
    """The parts of a rig that its readings leave out. What rests as written tells nothing of what is above."""
    any_read: set[int] = set()
    torque_read: set[int] = set()
    for one in compared:
        if one.value:
            any_read.add(one.measured.part)
            if one.measured.quantity == "torque":
                torque_read.add(one.measured.part)
    known, torque_known = train.above(*any_read), train.above(*torque_read)
    parts = train.parts
    nothing = tuple(n for n in range(len(parts)) if n not in known)
    torque = tuple(n for n in sorted(known - torque_known) if _may_lose(parts[n]))
    return Coverage(nothing, torque)


def _may_lose(part: Part) -> bool:
    return part.item.kind in _CHANGE_TORQUE
