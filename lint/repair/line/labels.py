"""Labels of the search: how far a segment is laid, what that weighs, and what any way on depends on."""

from collections.abc import Iterator
from typing import Literal, NamedTuple

from lineshaft.repair.line.design import Slot
from lineshaft.repair.line.trees import Profile

Phase = Literal[0, 1, 2, 3]
"""Lines side by side: not yet; open, and nothing in them needs it; open and needed; closed again."""
UNDIVIDED: Profile = (1.0,)
UPWARD, DOWNWARD = 1, 2
"""Ways that stages gear, as bits: faster, slower."""
BOTH_WAYS = UPWARD | DOWNWARD


class State(NamedTuple):
    """What all loads from here on follow from: equal states have the same ways on, with the same loads.

    ``gain`` is that of the new stages, packed; ``loss`` the logarithm of the efficiency so far, rounded; ``used`` the
    bits of what can be had once.
    """

    passed: int
    gain: int
    loss: int
    phase: Phase
    profile: Profile
    used: int


class Label:
    """A way to a state. ``parts`` of it are those put in; ``most`` is the greatest torque at the head that it bears.

    ``last`` is the gain of the stage that a next one may not undo; ``ways`` tells which ways its stages gear (`UPWARD`,
    `DOWNWARD`) where that matters; ``dead``: another label does for it.
    """

    __slots__ = (
        "above", "dead", "expanded", "last", "most", "parts", "pass_on", "slot", "stages", "state", "varied", "ways",
        "weight",
    )

    def __init__(
        self,
        state: State,
        weight: int,
        parts: int,
        stages: int,
        most: float,
        pass_on: float,
        last: int,
        above: "Label | None",
        slot: Slot | None,
        ways: int = 0,
    ) -> None:
        self.state, self.weight, self.parts, self.stages = state, weight, parts, stages
        self.most, self.pass_on, self.last = most, pass_on, last
        self.above, self.slot, self.ways = above, slot, ways
        self.dead = self.expanded = self.varied = False

    def way(self) -> list["Label"]:
        """The labels on the way here, the start first."""
        found: list[Label] = []
        here: Label | None = self
        while here is not None:
            found.append(here)
            here = here.above
        return found[::-1]


class Labels:
    """The labels of each state: those that none beside them does for, and the others, parked for further designs."""

    __slots__ = ("open", "parked")

    def __init__(self) -> None:
        self.open: dict[State, list[Label]] = {}
        self.parked: dict[State, list[Label]] = {}

    def does_without(self, label: Label) -> bool:
        """Whether other labels of its state do for a label.

        One does for another that weighs no less, has as many parts and stages, bears no more and gears all the ways
        that it does. A stage that it ends with may not be undone; so it takes two that end with different ones to do
        for a third.
        """
        ends: set[int] = set()
        for other in self.open.get(label.state, ()):
            if _does_for(other, label):
                ends.add(other.last)
                if other.last in (0, label.last) or len(ends) > 1:
                    return True
        return False

    def admit(self, label: Label) -> Iterator[Label]:
        """Take a label up that nothing does for; those that it does for are parked and come out."""
        kept = []
        for other in self.open.get(label.state, ()):
            if not other.expanded and label.last in (0, other.last) and _does_for(label, other):
                yield from self.park(other)
            else:
                kept.append(other)
        kept.append(label)
        self.open[label.state] = kept

    def park(self, label: Label) -> Iterator[Label]:
        """Set a label aside."""
        label.dead = True
        self.parked.setdefault(label.state, []).append(label)
        yield label


def _does_for(one: Label, other: Label) -> bool:
    if one.weight > other.weight or one.parts > other.parts:
        return False
    return one.stages <= other.stages and one.most >= other.most and one.ways | other.ways == other.ways
