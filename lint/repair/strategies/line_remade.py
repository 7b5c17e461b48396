"""A line of a rig made anew: what the engine finds for it, as designs in the order of what the whole bill adds."""

import heapq
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import count
from typing import NamedTuple

from lineshaft.bill_of_materials import goods_of
from lineshaft.check.judged_finding import Repair
from lineshaft.repair.line.demand import Demand
from lineshaft.repair.line.design import Found
from lineshaft.repair.line.effort import STEPS_A_LINE, Effort, Outcome
from lineshaft.repair.line.gains import NEVER
from lineshaft.repair.line.search import Search
from lineshaft.repair.line.segment import MOST_LINES, Kept, Segment
from lineshaft.repair.proof.effect import is_starved
from lineshaft.repair.strategies.goal import Goal
from lineshaft.repair.strategies.line_design import Design, design_of, stages_of
from lineshaft.repair.strategies.prices import Prices
from lineshaft.repair.strategies.proposal import Pending
from lineshaft.repair.strategies.segments import Line
from lineshaft.repair.strategies.stock import prepared_for, segment_for
from lineshaft.repair.strategies.strength import Strength
from lineshaft.solve.limits import EQUAL
from lineshaft.solve.solved_rig import SolvedRig

_STEPS_A_DESIGN = 12
"""What it takes to work out a design's whole bill, in steps of a search."""
_OF_A_UNIT = Fraction(1, 1_000_000)
"""A bill is a float: so much less than a whole unit is that unit."""


class _Entry(NamedTuple):
    """A design that waits until nothing cheaper can come."""

    worth: float
    added: int
    number: int
    design: Design


class ShownRepair(NamedTuple):
    """A repair that is shown, and the rig with it; a list of them grows, and each search looks there itself."""

    repair: Repair
    after: SolvedRig


class _Shown(NamedTuple):
    """A repair that is shown: worth, parts added, and the speed at the line's end that makes no machine faster.

    No speed where a machine elsewhere is slower or stalls with it.
    """

    worth: float
    added: int
    speed: float | None


@dataclass(slots=True, eq=False, repr=False)
class LineRemade:
    """The designs of one line for a demand at its end; no more of those that a repair which is ``shown`` beats.

    ``end`` is what it ends at, where that may be of another make: then its limits are no part of the demand.
    """

    rig: SolvedRig
    line: Line
    goal: Goal
    demand: Demand
    strength: Strength
    prices: Prices
    effort: Effort
    most_lines: int = MOST_LINES
    stages: int | None = None
    shown: Sequence[ShownRepair] = ()
    end: Kept | None = None
    outcome: Outcome = field(init=False, default="none-within-bound")
    """How the search ended, once its designs are at their end."""
    ended: bool = field(init=False, default=False)
    """Whether its designs are at their end."""
    _segment: Segment = field(init=False)
    _saved: Fraction = field(init=False)
    _search: Search | None = field(init=False, default=None)
    _waiting: list[_Entry] = field(default_factory=list)
    _shown: list[_Shown] = field(default_factory=list)
    _numbers: "count[int]" = field(default_factory=count)

    def __post_init__(self) -> None:
        rig, line = self.rig, self.line
        given = (rig, line, self.goal, self.strength, self.prices)
        self._segment = segment_for(*given, self.most_lines, self.stages, self.end)._replace(straight=True)
        self._saved = self.prices.most_saved(goods_of(rig.parts[n]) for n in line.stages)

    @property
    def most_stages(self) -> int:
        """How many stages the line may have."""
        return self._segment.stages

    @property
    def stopped(self) -> bool:
        """Whether its designs came to their end at a bound, so that there may be more."""
        return self.ended and self.outcome.endswith("within-bound")

    def designs(self) -> Iterator[Design | Pending]:
        """Every design that holds and does by its own numbers, cheapest first; between them how far the search is."""
        yield from self._designs()
        self.ended = True

    def _designs(self) -> Iterator[Design | Pending]:
        if not self.effort.spend(STEPS_A_LINE):
            return
        weight = self._ready_for(worded=False).least
        if weight >= NEVER:
            self.outcome = "none"
            return
        yield self._pending(weight)
        search = self._search = self._ready_for(worded=True)
        self._look()
        for found in search.designs():
            if isinstance(found, Found):
                if not self.effort.spend(_STEPS_A_DESIGN):
                    break
                self._keep(found)
            pending = self._pending(found.weight)
            yield from self._released(pending.worth + 1e-9)
            yield pending
            self._look()
        else:
            self.outcome = search.outcome
        yield from self._released(math.inf)

    def _ready_for(self, *, worded: bool) -> Search:
        given = (self.rig, self.line, self.goal, self.strength, self.prices, self.stages)
        return Search(self._segment, self.demand, prepared_for(*given, worded=worded), self.effort)

    def _pending(self, weight: int) -> Pending:
        """What designs of at least a weight add at least; each of them changes a word."""
        return Pending(*self.prices.added_at_least(weight, self._saved, len(self.line.stages)), 1)

    def _released(self, least: float) -> Iterator[Design]:
        """The designs that wait and are no dearer than what may come; but those that what is shown beats meanwhile."""
        while self._waiting and self._waiting[0].worth <= least:
            design = heapq.heappop(self._waiting).design
            if not any(self._beats(shown, design) for shown in self._shown):
                yield design
                self._look()

    def _beats(self, shown: _Shown, design: Design) -> bool:
        if shown.worth > design.worth + 1e-9 or shown.added > design.added:
            return False
        useful = self.demand.useful
        if len({stage.direction for stage in stages_of(design)}) > 1:
            return True  # nobody gears up and down again for more money and parts
        return useful is not None and shown.speed is not None and min(design.speed, useful) <= shown.speed * (1 + EQUAL)

    def _keep(self, found: Found) -> None:
        design = design_of(self.rig, self.line, self.prices, self._segment, found, self.line.torque)
        entry = _Entry(round(design.worth, 9), design.added, next(self._numbers), design)
        heapq.heappush(self._waiting, entry)

    def _look(self) -> None:
        """From now on only what beats the repairs that are shown: in worth, in parts, or in some machine's rate."""
        assert self._search is not None
        for repair, after in self.shown[len(self._shown) :]:
            speed = self._speed_of(repair, after)
            self._shown.append(_Shown(repair.worth, repair.parts_added, speed))
            units = math.ceil((Fraction(repair.worth) + self._saved) * self.prices.denominator - _OF_A_UNIT)
            self._search.show(units, repair.parts_added + len(self.line.stages), speed)

    def _speed_of(self, repair: Repair, after: SolvedRig) -> float | None:
        """The speed at this line's end that makes no machine faster than with a repair; none where one elsewhere is."""
        rig = self.rig
        below = frozenset() if self.line.end is None else rig.train.below_all(self.line.end[0])
        last = self.line.parts[-1] if self.line.parts else self.line.source[0]
        speeds = []
        for number, part in enumerate(rig.parts):
            if part.item.kind != "driven-machine":
                continue
            now = after.rig.index.get(part.name)
            was, turns = rig.flows.speed_in[number], 0.0 if now is None else after.flows.speed_in[now]
            if number not in below:
                if turns < was * (1 - EQUAL):
                    return None
            elif now is None or is_starved(after, now):
                return None
            elif part.item.work is not None:
                if was <= 0:
                    return None
                speeds.append(turns / was * rig.flows.speed_out[last])
        return min(speeds, default=0.0)
