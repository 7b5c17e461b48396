"""What the engine finds: a segment's slots in driving order, its weight, and the torque and speed that leave it."""

from typing import NamedTuple

from lineshaft.repair.line.prices import parts_of
from lineshaft.repair.line.segment import Make, Stage
from lineshaft.repair.line.trees import Tree


class StageSlot(NamedTuple):
    """A stage."""

    stage: Stage


class KeptSlot(NamedTuple):
    """A part that stays (its number among the segment's), and the make that it is from now on."""

    at: int
    make: Make


class OpenSlot(NamedTuple):
    """Splitters: what follows stands in each of so many lines."""

    lines: int
    tree: Tree


class CloseSlot(NamedTuple):
    """Combiners: lines side by side end here."""

    tree: Tree


Slot = StageSlot | KeptSlot | OpenSlot | CloseSlot


class Found(NamedTuple):
    """One way to lay a segment.

    ``torque`` is the least and most torque [N*m] at the head with which it holds and does; ``passes`` what leaves it
    for each N·m at the head; ``speed`` [rad/s] what leaves it. ``parts`` counts what is put in.
    """

    slots: tuple[Slot, ...]
    weight: int
    torque: tuple[float, float]
    passes: float
    speed: float

    @property
    def parts(self) -> int:
        """Parts that are put in: stages, more of a part that stays, splitters and combiners."""
        return parts_of(self.weight)


class Nothing(NamedTuple):
    """Nothing yet: what is still to come weighs no less than this."""

    weight: int
