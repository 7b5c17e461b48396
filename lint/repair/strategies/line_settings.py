"""A line with some of its parts set otherwise: stages turned the other way, right-angle drives geared or turned.

A stage the wrong way round is the smallest mistake there is in a line, and the dearest; another ratio is one word as
well. A search of the line finds these too, among all else and by price, so that it may stop at its bound before it
comes there.
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, islice
from typing import NamedTuple

from lineshaft.bill_of_materials import goods_of
from lineshaft.repair.line.demand import Demand
from lineshaft.repair.line.effort import Effort
from lineshaft.repair.strategies.draft import Draft
from lineshaft.repair.strategies.goal import Goal, allowed, through
from lineshaft.repair.strategies.prices import Prices
from lineshaft.repair.strategies.proposal import Proposal, Trait
from lineshaft.repair.strategies.segments import Line
from lineshaft.repair.strategies.strength import Strength
from lineshaft.schema.model.catalogue import Direction
from lineshaft.schema.model.rig import Part
from lineshaft.solve.limits import over
from lineshaft.solve.solved_rig import SolvedRig

MOST_TURNED = 64
"""Sets of stages of one line that are tried: every set of up to six stages."""
MOST_STEPS = 1_000
"""Steps for the sets of one line."""
_PARTS_A_STEP = 8
"""Parts that are gone through in one step of a search."""


class LineSettings(NamedTuple):
    """A line whose parts may be set otherwise, and what is asked for at its end: by one of several demands."""

    rig: SolvedRig
    line: Line
    goal: Goal
    strength: Strength
    demands: Sequence[Demand]

    def turned(self, effort: Effort) -> Iterator[Proposal]:
        """Stages set the other way, the fewest first, that do by their own numbers."""
        parts = self.rig.parts
        stages = [number for number in self.line.stages if parts[number].direction is not None]
        chosen = (some for count in range(1, len(stages) + 1) for some in combinations(stages, count))
        for some in islice(chosen, MOST_TURNED):
            if not effort.spend(1 + len(self.line.parts) // _PARTS_A_STEP):
                return
            ways = {number: _other_way(parts[number]) for number in some}
            if self._do({number: parts[number]._replace(direction=way) for number, way in ways.items()}):
                yield self._turned(ways, ("direction", self.line.source))
        if 1 << len(stages) > MOST_TURNED:
            effort.spent_up = True

    def right_angles_turned(self) -> Iterator[Proposal]:
        """A right-angle drive turned the other way."""
        for number, part in self._right_angles():
            other = _other_way(part)
            if self._do({number: part._replace(direction=other)}):
                yield self._turned({number: other}, ("direction", number))

    def right_angles_geared(self, prices: Prices) -> Iterator[Proposal]:
        """A right-angle drive in another of its item's ratios."""
        for number, _ in self._right_angles():
            yield from self._geared(number, prices)

    def stages_geared(self, prices: Prices, effort: Effort) -> Iterator[Proposal]:
        """One stage in another of its item's ratios, where that does by its own numbers."""
        for number in self.line.stages:
            offers = len(self.rig.parts[number].item.ratios)
            if not effort.spend(offers * (1 + len(self.line.parts) // _PARTS_A_STEP)):
                return
            yield from self._geared(number, prices)

    def _geared(self, number: int, prices: Prices) -> Iterator[Proposal]:
        part = self.rig.parts[number]
        for offer in part.item.ratios:
            if part.ratio is None or offer.ratio.terms == part.ratio.terms:
                continue
            if self._do({number: part._replace(ratio=offer.ratio)}):
                geared = Draft(self.rig, settings={(number, "ratio"): offer.ratio.text})
                title = f"gear {part.name} {offer.ratio.text} : 1"
                worth = prices.added([offer.made_of], [goods_of(part)])
                yield Proposal(worth, 0, title, frozenset({("ratio", number)}), geared)

    def _right_angles(self) -> Iterator[tuple[int, Part]]:
        for number in self.line.parts:
            part = self.rig.parts[number]
            if part.item.kind == "right-angle" and part.ratio is not None and part.direction is not None:
                yield number, part

    def _turned(self, ways: Mapping[int, Direction], trait: Trait) -> Proposal:
        settings: dict[tuple[int, str], str | None] = {(number, "set"): way for number, way in ways.items()}
        title = ", ".join(f"set {self.rig.parts[number].name} to {way}" for number, way in ways.items())
        return Proposal(0.0, 0, title, frozenset({trait}), Draft(self.rig, settings, directions=dict(ways)))

    def _do(self, changed: Mapping[int, Part]) -> bool:
        """Whether with some parts changed each part keeps to what it may carry, and the end gets what it has to."""
        torque, speed = self.line.torque, self.line.speed
        for number in self.line.parts:
            gain, turning = through(changed.get(number) or self.rig.parts[number], speed)
            held = allowed(self.strength, number, self.goal)
            if over(max(torque, torque * gain), held.torque) or over(max(speed, turning), held.speed):
                return False
            torque, speed = torque * gain, turning
        return any(demand.met(torque, speed) for demand in self.demands)


def _other_way(part: Part) -> Direction:
    return "reduce" if part.direction == "increase" else "increase"
