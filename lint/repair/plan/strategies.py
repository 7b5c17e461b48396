"""What a rule offers for its finding, as streams of priced proposals; and why there is none where there is none."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from lineshaft.check.finding import Finding
from lineshaft.check.offer import Fix, NoFix, Offer, SearchFor, Strategy
from lineshaft.repair.line.effort import Effort
from lineshaft.repair.line.segment import MOST_LINES, MOST_STAGES
from lineshaft.repair.strategies.goal import Goal
from lineshaft.repair.strategies.line_remade import ShownRepair
from lineshaft.repair.strategies.line_strategies import LineMoves
from lineshaft.repair.strategies.part_removal import close_end, drive_part, take_out
from lineshaft.repair.strategies.proposal import Proposal, StrategyContext, Stream
from lineshaft.repair.strategies.start_up import complete_list, fill_first, safe_list_move, set_first


@dataclass(slots=True, eq=False, repr=False)
class Strategies:
    """The streams of one finding; ``reason`` is the rule's own for none, ``lines`` are the searches of lines.

    These look at what is ``shown`` and go on with what beats it.
    """

    effort: Effort
    settings: bool = False
    streams: list[Stream] = field(default_factory=list)
    reason: str | None = None
    lines: list[LineMoves] = field(default_factory=list)
    failed: str | None = None
    shown: list[ShownRepair] = field(default_factory=list)

    def take(self, moves: LineMoves) -> None:
        """Take the streams of one goal among the others."""
        self.lines.append(moves)
        self.streams += moves.streams()

    def single_changes(self) -> Iterator[Proposal]:
        """One part in another make or set otherwise, in every line that was looked at, wherever its search stopped."""
        for moves in self.lines:
            yield from moves.single_changes()

    @property
    def bounds(self) -> str:
        """The bounds of the searches of lines, in words; empty where no line was searched.

        Only what the catalogue and the rig leave room for is named, each with the bound that held.
        """
        if not self.lines:
            return ""
        offered = {item.kind for item in self.lines[0].strategy_context.rig.catalogue.items.values()}
        ways = []
        if offered & {"gear-stage"}:
            most = max((search.most_stages for moves in self.lines for search in moves.searches), default=MOST_STAGES)
            ways.append(f"up to {most} catalogue stages")
        if offered >= {"splitter", "combiner"} and not all(moves.goal.speed for moves in self.lines):
            ways.append(f"up to {MOST_LINES} lines side by side")
        ways.append("other grades and items")
        shares = " and other shares above it" if any(moves.has_shares_above for moves in self.lines) else ""
        return f"one line made anew with {', '.join(ways)}{shares}"


def strategies_for_use(
    strategy_context: StrategyContext, finding: Finding, effort: Effort, *, from_its_use: bool, settings: bool = False
) -> Strategies:
    """What the finding's rule offers in the file that places a blueprint, of a finding in the blueprint's file.

    That is the rig's own list; and where it comes from what the file does with the blueprint, what feeds that.
    """
    assert finding.placement is not None
    alike = replace(finding, part=finding.placement.part)
    start_up = frozenset[Strategy]() if strategy_context.rig.rig.placed.alone else _START_UP
    only = start_up | (_FEEDING if from_its_use else frozenset())
    return strategies_for(strategy_context, alike, effort, only, settings=settings)


def strategies_for(
    strategy_context: StrategyContext,
    finding: Finding,
    effort: Effort,
    only: frozenset[Strategy] | None = None,
    *,
    settings: bool = False,
) -> Strategies:
    """All that the finding's rule offers, or ``only`` some of it; ``settings``: of lines what sets their parts alone.

    A rule that fails here offers nothing more, and that is said.
    """
    found = Strategies(effort, settings)
    rule = strategy_context.book.rule(finding.rule)
    if rule is None or rule.repairs is None:
        return found
    try:
        offers = list(rule.repairs(strategy_context.rig, finding))
        for offer in offers:
            if only is None or (isinstance(offer, SearchFor) and offer.way in only):
                _take(strategy_context, finding, offer, found)
    except (KeyboardInterrupt, GeneratorExit):
        raise
    except BaseException as error:  # a plugin may raise anything, SystemExit too
        found.failed = f"the rule {rule.id} raised {type(error).__name__} when asked for repairs"
    return found


def _take(strategy_context: StrategyContext, finding: Finding, offer: Offer, found: Strategies) -> None:
    if isinstance(offer, NoFix):
        found.reason = offer.reason
    elif isinstance(offer, Fix):
        title = offer.title
        one_name = offer.only_name and [edit.span for edit in offer.edits] == [finding.span]
        fix = Proposal(0.0, 0, title, frozenset({("text", title)}), offer.edits, one_name)
        found.streams.append(iter([fix]))
    elif offer.way == "keep-promise":
        for name in offer.parts:
            for goal in _promised(strategy_context, name):
                found.take(LineMoves(strategy_context, goal, found.effort, found.shown, found.settings))
    elif offer.way in _GOALS:
        for number in _numbers(strategy_context, offer):
            goal = _GOALS[offer.way](number)
            found.take(LineMoves(strategy_context, goal, found.effort, found.shown, found.settings))
    else:
        numbers = _numbers(strategy_context, offer)
        if numbers or not offer.parts:
            found.streams.append(_WAYS[offer.way](strategy_context, finding, numbers))


def _numbers(strategy_context: StrategyContext, search_for: SearchFor) -> tuple[int, ...]:
    index = strategy_context.rig.rig.index
    return tuple(index[name] for name in search_for.parts if name in index)


def _promised(strategy_context: StrategyContext, name: str) -> Iterator[Goal]:
    """For each inlet of a placed blueprint the part that it drives."""
    rig = strategy_context.rig
    for promise in rig.rig.placed.promises:
        driven = rig.train.driven.get(promise.source)
        if promise.part == name and driven is not None:
            yield Goal(driven, promise=name)


_START_UP: frozenset[Strategy] = frozenset({"safe-list", "complete-list", "fill-first", "set-first"})
_FEEDING: frozenset[Strategy] = frozenset({"hold-torque", "hold-speed", "serve-machine", "agree-speeds"})
_GOALS: Mapping[Strategy, Callable[[int], Goal]] = {
    "hold-torque": lambda part: Goal(part, torque=True),
    "hold-speed": lambda part: Goal(part, speed=True),
    "serve-machine": lambda part: Goal(part, machine=True),
    "agree-speeds": lambda part: Goal(part, speeds=True),
}
_WAYS: Mapping[Strategy, Callable[[StrategyContext, Finding, tuple[int, ...]], Iterator[Proposal]]] = {
    "safe-list": lambda strategy_context, _, __: safe_list_move(strategy_context.rig),
    "complete-list": lambda strategy_context, _, __: complete_list(strategy_context.rig),
    "fill-first": lambda strategy_context, _, parts: fill_first(strategy_context.rig, parts[0]),
    "set-first": lambda strategy_context, _, parts: set_first(strategy_context.rig, parts[0]),
    "close-end": lambda strategy_context, finding, parts: close_end(strategy_context, finding, parts[0]),
    "drive-part": lambda strategy_context, _, parts: drive_part(strategy_context, parts[0]),
    "take-out": lambda strategy_context, _, parts: take_out(strategy_context, parts),
}
