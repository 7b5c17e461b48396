"""Findings to proved repairs: what a rule offers, priced, then proved cheapest first.

What is proved first is the cheapest there is within the bounds of the searches. What is shown is a short list of
different ways: a repair that changes all that a cheaper one does and more is a variant of it and left out.
"""

from collections.abc import Sequence
from typing import NamedTuple

from lineshaft.check.finding import Effect
from lineshaft.check.judged_finding import JudgedFinding, Repair
from lineshaft.repair.line.effort import Effort
from lineshaft.repair.plan.proving import FEWEST_PROOFS, MOST_SHOWN, STEPS_A_PROOF, ProvedRepair, Proving
from lineshaft.repair.plan.strategies import Strategies, strategies_for, strategies_for_use
from lineshaft.repair.proof.context import RepairContext
from lineshaft.repair.strategies.proposal import strategy_context_of

MOST_STEPS = 75_000
"""Steps of the searches for one finding, where nothing else is allotted."""
FEWEST_STEPS = 200
"""Fewer are not worth a search."""


class Plan(NamedTuple):
    """The repairs of one finding, cheapest first; or why there is none."""

    finding: JudgedFinding
    repairs: tuple[Repair, ...]
    no_repair: str | None
    steps: int = 0
    ways: tuple[ProvedRepair, ...] = ()
    group: str | None = None


def plan(
    context: RepairContext,
    finding: JudgedFinding,
    most: int = MOST_SHOWN,
    steps: int = MOST_STEPS,
    known: Sequence[ProvedRepair] = (),
    up_to: Effect = "redesign",
    *,
    beside: bool = True,
) -> Plan:
    """The proved repairs of a finding in the file itself; of one in a blueprint that it uses, what mends it there.

    What others use is left as it is: a rig's own start-up list may set, fill and couple what stands in a blueprint, and
    what feeds it may be changed where the finding comes from that: but not with fewer than ``FEWEST_STEPS``.
    The best ``most`` are among them: once there are so many, nothing dearer is looked for. ``known`` are ways that mend
    it and are proved already: only what beats them is looked for. ``steps`` is the effort that it gets: for further
    ways a third of it, and where few are wanted an eighth of what the first way took. Without ``beside`` nothing is
    looked for where a known way takes nothing to buy.
    Nothing that reaches further than ``up_to`` is among them, and for settings nothing that changes the bill is tried.
    """
    began, took = context.effort, 0
    strategy_context = strategy_context_of(context.rig, context.book, used=bool(context.users))
    from_its_use = False
    if finding.placement is None:
        strategies = strategies_for(strategy_context, finding, Effort(steps), settings=up_to == "setting")
    else:
        from lineshaft.repair.plan.blueprint_location import comes_from_its_use

        from_its_use = comes_from_its_use(context, finding)
        feeding = from_its_use and steps >= FEWEST_STEPS
        settings = up_to == "setting"
        strategies = strategies_for_use(
            strategy_context, finding, Effort(steps), from_its_use=feeding, settings=settings
        )
    search = Proving(context, finding, most, max(FEWEST_PROOFS, steps // (2 * STEPS_A_PROOF)), up_to)
    if strategies.lines:  # what a rule offers of its own kind is not beaten by another kind
        search.show(known, strategies)
    if beside or not strategies.lines or all(way.repair.worth > 0 for way in known):
        search.run(strategies, thrifty=most < MOST_SHOWN)
        took += len(context.rig.parts)
    repairs = sorted(search.found, key=lambda repair: repair.rank)
    took += steps - search.unused - strategies.effort.left + STEPS_A_PROOF * search.proofs + context.effort - began
    if repairs:
        ways = tuple(search.ways[repair] for repair in repairs)
        return Plan(finding, tuple(repairs), None, took, ways)
    return Plan(finding, (), _why(finding, strategies, search, from_its_use=from_its_use, steps=steps), took)


def _why(finding: JudgedFinding, strategies: Strategies, search: Proving, *, from_its_use: bool, steps: int) -> str:
    """Why there is none, in one line."""
    if finding.placement is None:
        small = search.up_to != "redesign"
        return _nothing_so_small(finding, strategies, search) if small else _why_none(strategies, search)
    from lineshaft.repair.plan.blueprint_location import where_mended

    tried = _why_none(strategies, search) if strategies.lines else "no line of this file was searched for it"
    if steps < FEWEST_STEPS:
        tried = "that was not looked for: the findings before it took the effort that one file gets"
    return where_mended(finding, from_its_use=from_its_use, tried=tried)


def _nothing_so_small(finding: JudgedFinding, strategies: Strategies, search: Proving) -> str:
    stopped = search.stopped or strategies.effort.spent_up
    bound = ", and the search stopped at its bound" if stopped else ""
    return f"no {search.up_to} was found that mends it{bound}; `lineshaft repair {finding.file}` looks for more"


def _why_none(strategies: Strategies, search: Proving) -> str:
    """In one line: the rule's own reason, what was searched in full, or that the search stopped."""
    tried = "the one way that was tried" if search.proofs == 1 else f"each of the {search.proofs} ways that were tried"
    if strategies.failed is not None:
        return strategies.failed
    if search.stopped or strategies.effort.spent_up:
        stopped = "the search stopped at its bound, not at its end"
        return f"{stopped}; {tried} leaves it or makes a new finding" if search.proofs else stopped
    if strategies.bounds:
        nothing = "nothing within the bounds mends it without a new finding"
        return f"{nothing}: {strategies.bounds}" if strategies.reason is None else f"{strategies.reason}; {nothing}"
    if strategies.reason is not None:
        return strategies.reason
    if search.proofs:
        return f"{tried} leaves it or makes a new finding"
    if strategies.streams:
        return "no setting, step or part was found to mend it with"
    return "a person has to decide what was meant: no repair is looked for"
