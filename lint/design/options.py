"""What a free outlet may be led to: a machine behind its line, or a splitter with the like on each of its outlets."""

from typing import NamedTuple

from lineshaft.design.batches import Batches, Taken
from lineshaft.repair.line.design import Found
from lineshaft.repair.line.prices import parts_of
from lineshaft.repair.line.segment import End, Segment

Row = tuple[float, ...]


class Laid(NamedTuple):
    """A line that the engine laid, and the segment that it is laid in; it is known by what it weighs."""

    weight: int
    found: Found
    segment: Segment
    taken: Taken = ()


class ToMachine(NamedTuple):
    """A line to a machine (index)."""

    laid: Laid
    machine: int


class Divided(NamedTuple):
    """A line to a splitter, its shares in the order of what is below (none: any that do), and what is below."""

    laid: Laid
    end: End
    row: Row | None
    below: "tuple[Option, ...]"


class Option(NamedTuple):
    """One way on from an outlet: its weight, the torque [N*m] there from a least to a most with which all holds.

    ``rates`` are (machine, speed that counts [rad/s]) of all that it serves: more than the speed at which a machine
    works fastest does not count.
    """

    weight: int
    least: float
    most: float
    node: ToMachine | Divided
    rates: tuple[tuple[int, float], ...]
    taken: Taken = ()

    @property
    def parts(self) -> int:
        """How many parts are put in."""
        return parts_of(self.weight)


def outdone(option: Option, others: list[Option], batches: Batches) -> bool:
    """Whether an option weighs no less than another, has no fewer parts, holds for no other torque, is no faster.

    It weighs less where what it takes of batches may be left over from what else is made.
    """
    for other in others:
        if other.weight > option.weight or other.parts > option.parts:
            continue
        if other.taken != option.taken and other.weight + batches.slack(other.taken, option.taken) > option.weight:
            continue
        if other.least <= option.least and other.most >= option.most:
            pairs = zip(other.rates, option.rates, strict=True)
            if all(theirs >= mine for (_, theirs), (_, mine) in pairs):
                return True
    return False
