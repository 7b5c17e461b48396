"""Proposals for a line that breaks, starves or locks: another make, the line made anew, other shares above."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice

from lineshaft.bill_of_materials import goods_of
from lineshaft.repair.line.demand import Demand
from lineshaft.repair.line.effort import Effort
from lineshaft.repair.line.segment import MOST_LINES, Kept
from lineshaft.repair.strategies.draft import Draft
from lineshaft.repair.strategies.goal import Goal, carried, demand_below, demand_outside, stays_apart
from lineshaft.repair.strategies.line_draft import draft_of
from lineshaft.repair.strategies.line_end import branching_at_end
from lineshaft.repair.strategies.line_remade import LineRemade, ShownRepair
from lineshaft.repair.strategies.line_settings import MOST_STEPS, LineSettings
from lineshaft.repair.strategies.lines_below import LinesBelow
from lineshaft.repair.strategies.promises import lower_promise
from lineshaft.repair.strategies.proposal import Pending, Proposal, StrategyContext, Stream, Trait
from lineshaft.repair.strategies.segments import Line, is_own, lines_into, lines_to
from lineshaft.repair.strategies.shares import Sharing
from lineshaft.repair.strategies.stock import substitutes
from lineshaft.repair.strategies.strength import Strength, strength_of

MOST_REMADE = 4
"""Other makes of a part that are tried where nothing else is found."""
_SEARCHED_ALONE = ("splitter", "combiner", "prime-mover", "driven-machine")
"""Kinds that stand in no line."""


@dataclass(slots=True, eq=False, repr=False)
class LineMoves:
    """The proposals for one goal; of lines none that a repair which is ``shown`` beats; ``settings``: these alone."""

    strategy_context: StrategyContext
    goal: Goal
    effort: Effort
    shown: Sequence[ShownRepair] = ()
    settings: bool = False
    searches: list[LineRemade] = field(default_factory=list)

    def streams(self) -> Iterator[Stream]:
        """Streams of proposals, each cheapest first."""
        rig, goal = self.strategy_context.rig, self.goal
        strength = self._strength(goal.part)
        for line in self._lines():
            goals = self._goals(line)
            if not self.settings:
                yield from (self._anew(line, strength, each) for each in goals)
            yield self._turned(line, strength, goals)
            if any(rig.parts[number].item.kind == "right-angle" for number in line.parts):
                yield self._right_angles(line, strength, goals)
        yield from self._shared(strength)
        if rig.rig.placed.alone and (goal.torque or goal.speed):
            yield lower_promise(rig, goal, strength)
        if self.settings:
            return
        if (goal.torque or goal.speed) and is_own(rig, goal.part):
            yield self._in_another_make(strength)

    def single_changes(self) -> Iterator[Proposal]:
        """The part in another make, stages of its lines set the other way, then one in another ratio.

        Whatever the searches of its lines found.
        """
        rig, goal = self.strategy_context.rig, self.goal
        strength, prices = self._strength(goal.part), self.strategy_context.prices
        if not self.settings and (goal.torque or goal.speed) and is_own(rig, goal.part):
            yield from islice(sorted(self._remade(strength), key=lambda proposal: proposal.worth), MOST_REMADE)
        ways = [self._set_otherwise(line, strength, self._goals(line)) for line in self._lines()]
        for way in ways:
            yield from way.turned(Effort(MOST_STEPS))
        if not self.settings:
            geared = (proposal for way in ways for proposal in way.stages_geared(prices, Effort(MOST_STEPS)))
            yield from sorted(geared, key=lambda proposal: proposal.worth)

    def _lines(self) -> Iterator[Line]:
        """The lines that are made anew, nearest first."""
        rig, goal = self.strategy_context.rig, self.goal
        return lines_into(rig, goal.part) if goal.speeds else lines_to(rig, goal.part)

    def _goals(self, line: Line) -> list[Goal]:
        """The goal; and where a line ends at lines that lock and it is about something else, also that these agree."""
        apart = line.end is not None and stays_apart(self.strategy_context.rig, line.end[0], self.goal)
        return [self.goal, *([self.goal._replace(agree=line.end[0])] if apart and line.end is not None else [])]

    @property
    def has_shares_above(self) -> bool:
        """Whether there is a splitter above the part whose shares were looked at."""
        return any(True for _ in self._splitters_above())

    def _splitters_above(self) -> Iterator[int]:
        rig = self.strategy_context.rig
        if self.goal.speeds:
            return
        for number in reversed(rig.chain(self.goal.part)[:-1]):
            if rig.parts[number].item.kind == "splitter" and is_own(rig, number):
                yield number

    def _strength(self, part: int) -> Strength:
        return strength_of(self.strategy_context.rig, part, self.strategy_context.judged("margin-thin"))

    def _anew(self, line: Line, strength: Strength, goal: Goal) -> Stream:
        """The line made anew."""
        rig = self.strategy_context.rig
        if line.end is not None:
            end = branching_at_end(rig, line, goal, strength, self.strategy_context.prices)
            waste = self.strategy_context.judged("machine-surplus")
            demand, _ = demand_below(rig, line.end, goal, strength, waste, held=end is not None)
            yield from self._made(line, strength, demand, end)
        elif not rig.rig.placed.alone:
            yield from self._made(line, strength, Demand(useful=0.0))
        elif (line.parts[-1], 0) in rig.rig.placed.exits:
            # A blueprint hands on what it did; only where that is no way do those who use it say what else will do.
            for kept in (True, False)[: 1 + self.strategy_context.used]:
                found = False
                for proposal in self._made(line, strength, demand_outside(rig, line.parts[-1], kept=kept)):
                    found = found or isinstance(proposal, Proposal)
                    yield proposal
                if found:
                    return

    def _turned(self, line: Line, strength: Strength, goals: Sequence[Goal]) -> Stream:
        """Stages of the line set the other way, where no search of it comes so far."""
        yield Pending(0.0, 0, late=True)
        if self.settings or any(search.stopped for search in self.searches if search.line is line):
            yield from self._set_otherwise(line, strength, goals).turned(Effort(MOST_STEPS))

    def _right_angles(self, line: Line, strength: Strength, goals: Sequence[Goal]) -> Stream:
        """Right-angle drives of a line turned the other way or in another of their ratios, cheapest first."""
        ways = self._set_otherwise(line, strength, goals)
        found = [*ways.right_angles_turned()]
        if not self.settings:
            found += ways.right_angles_geared(self.strategy_context.prices)
        yield from sorted(found, key=lambda p: (p.worth, p.added))

    def _set_otherwise(self, line: Line, strength: Strength, goals: Sequence[Goal]) -> LineSettings:
        demands = [Demand()]
        if line.end is not None:
            waste = self.strategy_context.judged("machine-surplus")
            demands = [demand_below(self.strategy_context.rig, line.end, goal, strength, waste)[0] for goal in goals]
        return LineSettings(self.strategy_context.rig, line, self.goal, strength, demands)

    def _made(self, line: Line, strength: Strength, demand: Demand, end: Kept | None = None) -> Stream:
        """The line in every way that meets a demand at its end."""
        rig = self.strategy_context.rig
        most = MOST_LINES if self.goal.torque or self.goal.machine else 1
        given = (rig, line, self.goal, demand, strength, self.strategy_context.prices, self.effort, most)
        search = LineRemade(*given, shown=self.shown, end=end)
        self.searches.append(search)
        together = self.strategy_context.judged("layout-gap")
        for design in search.designs():
            if isinstance(design, Pending):
                yield design
                continue
            drafted = draft_of(rig, line, design)
            if drafted is None or (together and drafted.draft.opens_gap):
                continue
            traits: frozenset[Trait] = frozenset((kind, line.source) for kind in drafted.kinds)
            yield Proposal(design.worth, design.added, drafted.title, traits, drafted.draft)

    def _shared(self, strength: Strength) -> Iterator[Stream]:
        """Other shares at the splitters above a part, nearest first, with whatever has to change below them."""
        given = (self.strategy_context, self.goal, strength)
        sharing = Sharing(*given, self.effort, LinesBelow(*given))
        for number in self._splitters_above():
            yield from sharing.streams(number)

    def _in_another_make(self, strength: Strength) -> Stream:
        """The part in another make, cheapest first; a prime mover or machine in another grade of its own item.

        A search of the line looks for these too, and for what mends more besides; so of a part in a line they come
        last, for where that search stops at its bound.
        """
        late = self.strategy_context.rig.parts[self.goal.part].item.kind not in _SEARCHED_ALONE
        for proposal in sorted(self._remade(strength), key=lambda p: p.worth):
            yield Pending(proposal.worth, 0, late=late)
            yield proposal

    def _remade(self, strength: Strength) -> Iterator[Proposal]:
        """A part in another grade, or another item in its place: of each the weakest that stands what it carries."""
        rig, number = self.strategy_context.rig, self.goal.part
        part, load = rig.parts[number], carried(rig, number)
        lines = (line.source for line in lines_to(rig, number) if number in line.parts)
        trait: Trait = ("grade", next(lines, number))
        known: set[tuple[str, int]] = set()
        for make, goods in substitutes(rig, number, strength):
            if not make.stands(load) or (make.item.name, id(goods)) in known:
                continue
            known.add((make.item.name, id(goods)))
            draft = Draft(rig)
            of = f" in {make.grade}" if make.grade is not None else ""
            title = f"make {part.name}{of}"
            if make.item.name != part.item.name:
                draft.settings[number, "item"] = make.item.name
                draft.items[number] = make.item
                title = f"take {make.item.name}{of} for {part.name}"
            draft.settings[number, "grade"] = make.grade
            worth = self.strategy_context.prices.added([goods], [goods_of(part)])
            yield Proposal(worth, 0, title, frozenset({trait}), draft)
