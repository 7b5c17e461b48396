"""Lines made anew, cheapest first: every choice of up to four catalogue stages in line, side by side or not.

What comes out is in the order of what it adds in worth, then in parts, and nothing within the bounds is left out: how
many stages, which ratios, which items each wait in a queue under the least they can be worth, and are worked out only
when nothing cheaper is left.
"""

import heapq
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import count
from typing import NamedTuple

from lineshaft.bill_of_materials import goods_of
from lineshaft.repair.arrangement import Arranger
from lineshaft.repair.design import Design, Kept, Slot, goods_of_slot, parts_of_slot
from lineshaft.repair.goal import Demand, Goal
from lineshaft.repair.mixes import Choice, Gear, Version, choices_of, gears_of, mixes, stock_of, versions_of, window
from lineshaft.repair.passing import substitutes
from lineshaft.repair.prices import Prices
from lineshaft.repair.proposal import Pending
from lineshaft.repair.segments import MOST_STAGES, Line
from lineshaft.repair.side_by_side import MOST_LINES, Branches, branches_of
from lineshaft.repair.strength import Strength
from lineshaft.solve.solved_rig import SolvedRig


@dataclass(slots=True)
class Effort:
    """How much may still be worked out, shared by the searches for one finding; ``spent_up`` once it did not do."""

    left: int
    spent_up: bool = False

    def spend(self) -> bool:
        """Take one from what is left; false where there is none."""
        self.left -= 1
        self.spent_up = self.spent_up or self.left < 0
        return self.left >= 0


class _Count(NamedTuple):
    """A number of stages."""

    stages: int


class _Entry(NamedTuple):
    """Something in the queue: the least it adds in worth and parts, its number, how many lines side by side."""

    worth: float
    added: int
    number: int
    lines: int
    what: "_Count | tuple[Gear, ...] | tuple[Choice, ...] | Design"


@dataclass(slots=True)
class LineSearch:
    """The designs of one line for a goal."""

    rig: SolvedRig
    line: Line
    goal: Goal
    demand: Demand
    strength: Strength
    prices: Prices
    effort: Effort
    most_lines: int = MOST_LINES
    _queue: list[_Entry] = field(default_factory=list)
    _numbers: "count[int]" = field(default_factory=count)

    def designs(self) -> Iterator[Design | Pending]:
        """Every design that holds and does by its own numbers, cheapest first; between them how far the search is."""
        branches = branches_of(self.strength, self.prices)
        stock = stock_of(self.strength, self.prices, self.line)
        gears = gears_of(stock)
        choices = choices_of(gears, stock)
        arranger = Arranger(self.rig, self.line, self.goal, self.demand, self.strength, branches)
        passing = _Passing(self, arranger, stock)
        bounds = window(self.line, self.demand, passing.turning, passing.efficiency)
        start = self._start()
        self._counts(start, branches, gears)
        while self._queue:
            entry = heapq.heappop(self._queue)
            lines, what = entry.lines, entry.what
            if isinstance(what, Design):
                yield what
                continue
            yield Pending(entry.worth, entry.added)
            if not self.effort.spend():
                return
            trees = branches.least(lines) or 0.0 if lines > 1 else 0.0
            if isinstance(what, _Count):
                for mix in mixes(gears, what.stages, bounds):
                    if passing.may_do(mix):
                        least = start + trees + _least([gear.least for gear in mix], lines)
                        self._push(least, entry.added, lines, mix)
            elif what and isinstance(what[0], Gear):
                for chosen in versions_of(what, choices):
                    if passing.may_do_with(chosen, lines):
                        least = start + trees + _least([choice.version.least for choice in chosen], lines)
                        self._push(least, entry.added, lines, chosen)
            else:
                for slots in arranger.arrangements(what, lines):  # type: ignore[arg-type]
                    self._push_design(slots)

    def _counts(self, start: float, branches: Branches, gears: Sequence[Gear]) -> None:
        cheapest = min((gear.least for gear in gears), default=0.0)
        self._push(start, -len(self.line.stages), 1, ())
        for stages in range(1, MOST_STAGES + 1):
            for lines in range(1, self.most_lines + 1):
                trees = 0.0 if lines == 1 else branches.least(lines)
                if trees is not None:
                    added = stages + (lines + 1 if lines > 1 else 0) - len(self.line.stages)
                    self._push(start + trees + _least([cheapest] * stages, lines), added, lines, _Count(stages))

    def _push(
        self, worth: float, added: int, lines: int, what: "_Count | tuple[Gear, ...] | tuple[Choice, ...] | Design"
    ) -> None:
        # Rounded, since sums of shares in another order differ in the last digits, and then parts have to decide.
        heapq.heappush(self._queue, _Entry(round(worth, 6), added, next(self._numbers), lines, what))

    def _push_design(self, slots: tuple[Slot, ...]) -> None:
        parts = self.rig.parts
        fewer = [goods_of(parts[n]) for n in self.line.stages]
        fewer += [goods_of(parts[s.part]) for s in slots if isinstance(s, Kept) and s.make is not None]
        more = [goods for slot in slots for goods in goods_of_slot(slot)]
        worth = self.prices.added(more, fewer)
        added = sum(parts_of_slot(slot) for slot in slots) - len(self.line.parts)
        self._push(worth, added, 1, Design(slots, worth, added))

    def _start(self) -> float:
        """The least that any design adds before its stages: those there are go, batches may have something over."""
        least = -self.prices.spare
        for number in self.line.parts:
            own = self.prices.least(goods_of(self.rig.parts[number]))
            if number in self.line.stages:
                least -= own
            else:
                others = [self.prices.least(goods) - own for _, goods in substitutes(self.rig, number, self.strength)]
                least += min(0.0, min(others, default=0.0))
        return least


def _least(worths: list[float], lines: int) -> float:
    """The least that stages are worth where one or more of them stand in every line."""
    return math.fsum(worths) + (lines - 1) * min(worths, default=0.0)


class _Passing:
    """Whether what a mix makes of the line's supply could do, losses reckoned at their best and worst."""

    __slots__ = ("_demand", "_line", "_losses", "efficiency", "turning")

    def __init__(self, search: LineSearch, arranger: Arranger, stock: dict[Fraction, tuple[Version, ...]]) -> None:
        self._line, self._demand = search.line, search.demand
        self.turning = math.prod(member.turning for member in arranger.kept)
        fixed = [member.efficiencies for member in arranger.kept]
        worst, best = math.prod(low for low, _ in fixed), math.prod(high for _, high in fixed)
        items = search.rig.catalogue.items.values()
        ends = [item.efficiency for item in items if item.kind in ("splitter", "combiner")]
        # A tree for eight lines is at most seven splitters deep.
        self._losses = (worst, best, min([1.0, *ends]) ** (2 * (MOST_LINES - 1)))
        stages = [version.item.efficiency for versions in stock.values() for version in versions]
        self.efficiency = (worst * min(stages, default=1.0) ** MOST_STAGES * self._losses[2], best)

    def may_do(self, mix: tuple[Gear, ...]) -> bool:
        """Whether the ratios could do in some version."""
        return self._may(mix, self.efficiency)

    def may_do_with(self, chosen: tuple[Choice, ...], lines: int) -> bool:
        """Whether the versions could do in some order."""
        own = math.prod(choice.version.item.efficiency for choice in chosen)
        worst, best, trees = self._losses
        return self._may([c.gear for c in chosen], (worst * own * (trees if lines > 1 else 1.0), best * own))

    def _may(self, gears: Sequence[Gear], efficiency: tuple[float, float]) -> bool:
        turning = self.turning
        for gear in gears:
            turning = turning * gear.factor if gear.direction == "increase" else turning / gear.factor
        speed = self._line.speed * turning
        torque = self._line.torque / turning
        return self._demand.could_be_met((torque * efficiency[0], torque * efficiency[1]), speed)
