"""Lines below a splitter made anew for shares that are not chosen yet: for any torque at their heads up to a most."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from lineshaft.bill_of_materials import goods_of
from lineshaft.repair.line.demand import Demand
from lineshaft.repair.line.design import Found, Nothing
from lineshaft.repair.line.effort import STEPS_A_LINE, Effort
from lineshaft.repair.line.gains import NEVER
from lineshaft.repair.line.search import Search
from lineshaft.repair.line.segment import MOST_LINES, Segment
from lineshaft.repair.strategies.goal import Goal, demand_below
from lineshaft.repair.strategies.line_design import Design, design_of
from lineshaft.repair.strategies.line_draft import draft_of
from lineshaft.repair.strategies.line_end import branching_at_end
from lineshaft.repair.strategies.proposal import StrategyContext
from lineshaft.repair.strategies.segments import Line
from lineshaft.repair.strategies.share_options import Laid, Option
from lineshaft.repair.strategies.stock import prepared_for, segment_for
from lineshaft.repair.strategies.strength import ENDLESS, Strength
from lineshaft.solve.limits import EQUAL

MOST_ANEW = 6
STEPS_ANEW = 6_000
MOST_BESIDE = 3
STEPS_BESIDE = 1_500
PART_BESIDE = 4
"""Bounds: ways to make one line anew and steps for them, the same for a line that only makes room for another, and the
part of the effort left that such a one gets."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class LinesBelow:
    """The lines below splitters that serve one goal; what is asked of each is worked out once."""

    context: StrategyContext
    goal: Goal
    strength: Strength
    _demands: dict[tuple[int, int], Demand] = field(default_factory=dict, repr=False, compare=False)
    _least: dict[tuple[int, int], tuple[float, int]] = field(default_factory=dict, repr=False, compare=False)
    _asked: dict[tuple[int, int], tuple[Segment, Demand]] = field(default_factory=dict, repr=False, compare=False)

    def demand(self, source: tuple[int, int], below: tuple[int, int]) -> Demand:
        """What is asked for at an outlet (part, outlet), all below it as it is from an inlet on (part, inlet)."""
        known = self._demands.get(source)
        if known is None:
            waste = self.context.judged("machine-surplus")
            meeting = self._meeting(*source)
            known, _ = demand_below(self.context.rig, below, self.goal, self.strength, waste, meeting)
            self._demands[source] = known
        return known

    def _meeting(self, splitter: int, outlet: int) -> frozenset[int]:
        """The parts below an outlet where another one's torque comes back: what one gives less the other gives more."""
        rig = self.context.rig
        reach = [
            rig.train.below_all(below)
            for other in range(len(rig.parts[splitter].outlets))
            if other != outlet and (below := rig.train.driven.get((splitter, other))) is not None
        ]
        mine = rig.train.driven.get((splitter, outlet))
        return frozenset() if mine is None else rig.train.below_all(mine) & frozenset().union(*reach)

    def least(self, line: Line) -> tuple[float, int]:
        """What a line made anew adds at least, whatever torque enters it."""
        known = self._least.get(line.source)
        if known is None:
            known = self._least[line.source] = self._at_least(line)
        return known

    def _at_least(self, line: Line) -> tuple[float, int]:
        prices = self.context.prices
        weight = self._search(line, ENDLESS, Effort(0), worded=False)[0].least
        if weight >= NEVER:
            return ENDLESS, 0
        saved = prices.most_saved(goods_of(self.context.rig.parts[number]) for number in line.stages)
        return prices.added_at_least(weight, saved, len(line.stages))

    def anew(
        self, line: Line, most: float, known: Sequence[Option], effort: Effort, *, beside: bool
    ) -> list[Option]:
        """A line made anew for a torque at its head that is not known yet; fewer ways of one that only makes room.

        None that one of those ``known``, or a cheaper one, does for.
        """
        if line.end is None:
            return []
        most_ways, steps = MOST_ANEW, STEPS_ANEW
        if beside:
            most_ways, steps = MOST_BESIDE, min(STEPS_BESIDE, effort.left // PART_BESIDE)
        lent = effort.lend(steps)
        if not lent.spend(STEPS_A_LINE):
            effort.take_back(lent, steps)
            return []
        search, segment, demand = self._search(line, most, lent)
        kept: list[Option] = []
        for found in search.designs():
            if isinstance(found, Nothing):
                continue
            option = self._option(line, found, segment, demand)
            if not any(_does_for(other, option) for other in (*known, *kept)):
                kept.append(option)
                if len(kept) == most_ways:
                    lent.spent_up = True
                    break
        effort.take_back(lent, steps)
        return kept

    def _search(
        self, line: Line, most: float, effort: Effort, *, worded: bool = True
    ) -> tuple[Search, Segment, Demand]:
        """The search of a line that ends somewhere, for up to so much torque [N*m] at its head."""
        given = (self.context.rig, line, self.goal, self.strength, self.context.prices)
        if line.source not in self._asked:
            self._asked[line.source] = self._what_is_asked(line)
        segment, demand = self._asked[line.source]
        segment = segment._replace(torque=(0.0, most))
        return Search(segment, demand, prepared_for(*given, worded=worded), effort), segment, demand

    def _what_is_asked(self, line: Line) -> tuple[Segment, Demand]:
        """A line as a segment, and what is asked for at its end."""
        assert line.end is not None
        rig, waste = self.context.rig, self.context.judged("machine-surplus")
        given = (rig, line, self.goal, self.strength, self.context.prices)
        end = branching_at_end(*given)
        demand, _ = demand_below(rig, line.end, self.goal, self.strength, waste, held=end is not None)
        return segment_for(*given, MOST_LINES if self.goal.torque or self.goal.machine else 1, end=end), demand

    def _option(self, line: Line, found: Found, segment: Segment, demand: Demand) -> Option:
        context, rig = self.context, self.context.rig

        def design(torque: float) -> Design:
            return design_of(rig, line, context.prices, segment, found, torque)

        def lay(torque: float) -> Laid | None:
            if not demand.met(torque * found.passes, found.speed):
                return None
            drafted = draft_of(rig, line.resupplied(torque), design(torque))
            if drafted is None:
                return None
            return Laid(drafted.draft, (drafted.title,), frozenset((kind, line.source) for kind in drafted.kinds))

        one = design(found.torque[1])
        return Option(*found.torque, one.worth, one.added, 1, lay)


def _does_for(one: Option, other: Option) -> bool:
    """Whether an option adds no more than another and does for every torque that it does for."""
    wider = one.least <= other.least * (1 + EQUAL) and one.most >= other.most * (1 - EQUAL)
    return wider and one.price[:2] <= other.price[:2]
