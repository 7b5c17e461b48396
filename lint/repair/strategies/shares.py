"""Other shares at splitters: all outlets of one chosen together, of several in line too, with lines below made anew.

What may leave an outlet is an interval of torque, since all below it is linear in that. An outlet has several options:
as it stands, the splitter below it shared otherwise, its line made anew; each with its interval and what it adds. At a
splitter with free shares the intervals are added up, with rows each row is tried in each order.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice, permutations

from lineshaft.repair.line.effort import Effort
from lineshaft.repair.strategies.draft import Draft
from lineshaft.repair.strategies.goal import Goal, allowed, arriving, through
from lineshaft.repair.strategies.lines_below import LinesBelow
from lineshaft.repair.strategies.proposal import Pending, Proposal, StrategyContext, Stream, Trait
from lineshaft.repair.strategies.segments import Line, line_into
from lineshaft.repair.strategies.share_options import Laid, Option, Row, bounds_of, cheapest, whole_shares
from lineshaft.repair.strategies.strength import ENDLESS, Strength
from lineshaft.solve.limits import EQUAL, over, short
from lineshaft.solve.solved_rig import SolvedRig

MOST_ORDERS = 720
MOST_JOINED = 400
MOST_IN_LINE = 4
MOST_PASSED_ON = 6
PART_OF_EFFORT = 2
"""Bounds: orders of a row, choices of options, splitters in line, ways to share one below another, and the part of the
effort left that the shares of one splitter get."""

_STEPS_A_BOUND = 40
"""What it takes to see what a line made anew adds at least, in steps of a search."""
_WORDS_ANEW = 2
"""Shares and something of a line below."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Sharing:
    """The search for shares that serve one goal; ``anew``: with lines below made anew."""

    context: StrategyContext
    goal: Goal
    strength: Strength
    effort: Effort
    below: LinesBelow
    anew: bool = True

    def streams(self, splitter: int) -> Iterator[Stream]:
        """Other shares at a splitter that is fed as it is: alone, and with whatever has to change below it.

        The second is not begun before what is no dearer: it takes a search of every line below.
        """
        rig = self.context.rig
        if rig.flows.passed[splitter] <= 0 or not rig.flows.solved[splitter] or self._come_together(splitter):
            return
        if not self.goal.speed:  # no share changes a speed
            yield replace(self, anew=False)._proposals(splitter)
        yield self._later(splitter)

    def _come_together(self, splitter: int) -> bool:
        """Whether as much reaches the goal's part of each N·m, whichever outlet it leaves by: then no share helps."""
        rig = self.context.rig
        outlets = range(len(rig.parts[splitter].outlets))
        arrives = [arriving(rig, (splitter, outlet), self.goal.part) for outlet in outlets]
        return min(arrives) > 0 and max(arrives) <= min(arrives) * (1 + EQUAL)

    def _later(self, splitter: int) -> Stream:
        worth, added = self._least(splitter, MOST_IN_LINE)
        yield Pending(worth, added, _WORDS_ANEW)
        for proposal in self._proposals(splitter):
            if any(kind != "share" for kind, _ in proposal.traits):  # shares alone are the other stream's
                yield proposal

    def _proposals(self, splitter: int) -> Iterator[Proposal]:
        passed = self.context.rig.flows.passed[splitter]
        found: list[Laid] = []
        now = _shares_of(self.context.rig.parts[splitter].shares)
        # All options are gathered before the first is tried, so what they may take is bounded.
        most = self.effort.left // PART_OF_EFFORT
        lent = self.effort.lend(most)
        options = list(replace(self, effort=lent)._shared(splitter, (passed, passed), MOST_IN_LINE, but=now))
        self.effort.take_back(lent, most)
        for option in sorted(options, key=lambda one: one.price):
            laid = option.lay(passed)
            # What another does with fewer changes is not tried.
            if laid is not None and not any(set(other.words) <= set(laid.words) for other in found):
                found.append(laid)
                yield Proposal(option.worth, option.added, ", ".join(laid.words), laid.traits, laid.draft)

    def _shared(
        self, splitter: int, passed: tuple[float, float], depth: int, but: Row | None = None
    ) -> Iterator[Option]:
        """A splitter shared in any way ``but`` one, for torque that leaves it in all between a least and a most."""
        part = self.context.rig.parts[splitter]
        each = [self._options(splitter, outlet, passed[1], depth) for outlet in range(len(part.outlets))]
        if not all(each):
            return
        if math.prod(map(len, each)) > MOST_JOINED or math.factorial(len(each)) > MOST_ORDERS:
            self.effort.spent_up = True
        for chosen in islice(cheapest(each), MOST_JOINED):
            if not self.effort.spend():
                return
            for row in self._rows(splitter, but):
                least, most = bounds_of(chosen, row)
                if least > passed[1] * (1 + EQUAL) or most < passed[0] * (1 - EQUAL) or least > most * (1 + EQUAL):
                    continue
                worth = math.fsum(option.worth for option in chosen)
                added, changes = sum(o.added for o in chosen), 1 + sum(o.changes for o in chosen)
                yield Option(least, most, worth, added, changes, self._laying(splitter, chosen, row, but))

    def _least(self, splitter: int, depth: int) -> tuple[float, int]:
        """What all below a splitter adds at least, in worth and parts."""
        part = self.context.rig.parts[splitter]
        each = [self._least_below(splitter, outlet, depth) for outlet in range(len(part.outlets))]
        return math.fsum(worth for worth, _ in each), sum(added for _, added in each)

    def _least_below(self, splitter: int, outlet: int, depth: int) -> tuple[float, int]:
        rig = self.context.rig
        below = rig.train.driven.get((splitter, outlet))
        line = None if below is None else line_into(rig, below, rig.parts[below].inlets.index((splitter, outlet)))
        if line is None or line.end is None:
            return 0.0, 0
        if not self.effort.spend(_STEPS_A_BOUND):
            return -ENDLESS, 0
        found = [(0.0, 0), self.below.least(line)]
        if depth > 1 and rig.parts[line.end[0]].item.kind == "splitter":
            found.append(self._least(line.end[0], depth - 1))
        return min(found)

    def _rows(self, splitter: int, but: Row | None) -> Iterator[Row | None]:
        """The shares that an item offers in every order, but one, or none where it takes any."""
        part = self.context.rig.parts[splitter]
        if part.item.shares is None:
            yield None
            return
        seen = {but}
        for offered in part.item.shares:
            if len(offered) == len(part.outlets):
                for row in sorted(set(islice(permutations(offered), MOST_ORDERS))):
                    if _shares_of(row) not in seen:
                        seen.add(_shares_of(row))
                        yield row

    def _laying(
        self, splitter: int, chosen: Sequence[Option], row: Row | None, but: Row | None
    ) -> Callable[[float], Laid | None]:
        rig = self.context.rig
        part = rig.parts[splitter]

        def lay(passed: float) -> Laid | None:
            given = row if row is not None else whole_shares(chosen, passed, part.shares)
            if given is None or _shares_of(given) == but:
                return None
            draft, words, traits = Draft(rig), list[str](), set[Trait]()
            if _shares_of(given) != _shares_of(part.shares):
                draft, title = share_draft(rig, splitter, given)
                words, traits = [title], {("share", splitter)}
            total = sum(given)
            for option, weight in zip(chosen, given, strict=True):
                below = option.lay(passed * weight / total)
                joined = None if below is None else draft.joined(below.draft)
                if below is None or joined is None:
                    return None
                draft = joined
                words += below.words
                traits |= below.traits
            return Laid(draft, tuple(words), frozenset(traits))

        return lay

    def _options(self, splitter: int, outlet: int, most: float, depth: int) -> list[Option]:
        """What may stand below an outlet: as it is, the splitter below shared otherwise, its line made anew."""
        found: list[Option] = []
        rig = self.context.rig
        below = rig.train.driven.get((splitter, outlet))
        if below is None:
            return [Option(0.0, ENDLESS, 0.0, 0, 0, self._nothing)]
        speed = rig.flows.speed_out[splitter]
        inlet = rig.parts[below].inlets.index((splitter, outlet))
        demand = self.below.demand((splitter, outlet), (below, inlet))
        least = demand.least_torque(speed)
        turns = not (over(speed, demand.speed[1]) or short(speed, demand.speed[0]))
        if turns and least <= demand.torque[1] * (1 + EQUAL):

            def as_it_is(torque: float) -> Laid | None:
                return self._nothing(torque) if demand.met(torque, speed) else None

            found.append(Option(least, demand.torque[1], 0.0, 0, 0, as_it_is))
        line = line_into(rig, below, inlet)
        if line is None:  # what hangs there cannot be solved
            return found
        if depth > 1 and line.end is not None and rig.parts[line.end[0]].item.kind == "splitter":
            found += self._passed_on(line, most, depth - 1)
        if self.anew:
            beside = self.goal.part not in rig.train.below_all(below)
            found += self.below.anew(line, most, found, self.effort, beside=beside)
        return found

    def _nothing(self, _: float) -> Laid:
        return Laid(Draft(self.context.rig), (), frozenset())

    def _passed_on(self, line: Line, most: float, depth: int) -> Iterator[Option]:
        """The splitter at the end of a line shared otherwise, the line as it is."""
        rig = self.context.rig
        assert line.end is not None
        by, limit = 1.0, ENDLESS
        for number in line.parts:
            out = by * through(rig.parts[number], 1.0)[0]
            limit = min(limit, allowed(self.strength, number, self.goal).torque / max(by, out))
            by = out
        splitter = line.end[0]
        own = rig.parts[splitter].item.efficiency
        limit = min(limit, allowed(self.strength, splitter, self.goal).torque / by)
        for option in islice(self._shared(splitter, (0.0, most * by * own), depth), MOST_PASSED_ON):
            each = by * own

            def lay(torque: float, option: Option = option, each: float = each) -> Laid | None:
                return option.lay(torque * each)

            yield option._replace(least=option.least / each, most=min(limit, option.most / each), lay=lay)


def share_draft(rig: SolvedRig, splitter: int, row: Row) -> tuple[Draft, str]:
    """The draft that writes shares, and its title."""
    part = rig.parts[splitter]
    words = ", ".join(f"{name}: {weight:.12g}" for name, weight in zip(part.outlets, row, strict=True))
    return Draft(rig, settings={(splitter, "shares"): f"{{{words}}}"}), f"share {part.name} {{{words}}}"


def _shares_of(row: Row) -> Row:
    return tuple(round(weight / sum(row), 9) for weight in row)
