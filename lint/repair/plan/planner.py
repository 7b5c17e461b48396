"""Findings to proved repairs: what a rule offers, priced, then proved cheapest first.

What is proved first is the cheapest there is within the bounds of the searches. What is shown is a short list of
different ways: a repair that changes all that a cheaper one does and more is a variant of it and left out.
"""

from collections.abc import Sequence
from typing import NamedTuple

from lineshaft.check.finding import Edit, Effect
from lineshaft.check.judged_finding import JudgedFinding, Repair
from lineshaft.repair.line.effort import Effort
from lineshaft.repair.plan.strategies import Strategies, strategies_for, strategies_for_use
from lineshaft.repair.proof.context import RepairContext, mends
from lineshaft.repair.proof.effect import repair_of, starved
from lineshaft.repair.strategies.line_remade import ShownRepair
from lineshaft.repair.strategies.proposal import (
    SLOWER,
    Proposal,
    Trait,
    in_order,
    strategy_context_of,
    varies,
)
from lineshaft.solve.limits import EQUAL
from lineshaft.solve.solved_rig import SolvedRig

MOST_STEPS = 75_000
"""Steps of the searches for one finding, where nothing else is allotted."""
STEPS_A_PROOF = 250
"""What a proof counts for beside the parts that it judges, in steps of a search."""
FEWEST_PROOFS = 12
FEWEST_STEPS = 200
"""Fewer are not worth a search."""
FEWEST_FURTHER = 400
"""Steps for further ways, where the first one took fewer and few are wanted."""
MOST_BESIDE_KNOWN = 2_000
"""Steps for ways beside those that are known, where few are wanted."""
MOST_MORE_PROOFS = 40
MOST_MORE_LOOKS = 400
"""Proofs, and proposals looked at, that are spent on further ways once one is found; at most a third of the steps."""
MOST_EFFORT_IN_BLUEPRINTS = 300_000
"""Parts judged in one plan for a blueprint, the rigs that use it among them."""
MOST_SHOWN = 5


class Plan(NamedTuple):
    """The repairs of one finding, cheapest first; or why there is none."""

    finding: JudgedFinding
    repairs: tuple[Repair, ...]
    no_repair: str | None
    steps: int = 0
    ways: tuple["ProvedRepair", ...] = ()
    group: str | None = None


class ProvedRepair(NamedTuple):
    """A proved repair, what it changes and where, and the rig with it: other findings may be mended by it too."""

    repair: Repair
    traits: frozenset[Trait]
    after: SolvedRig


def plan(
    context: RepairContext,
    finding: JudgedFinding,
    most: int = MOST_SHOWN,
    steps: int = MOST_STEPS,
    known: Sequence[ProvedRepair] = (),
    up_to: Effect = "redesign",
) -> Plan:
    """The proved repairs of a finding in the file itself; of one in a blueprint that it uses, what mends it there.

    What others use is left as it is: a rig's own start-up list may set, fill and couple what stands in a blueprint, and
    what feeds it may be changed where the finding comes from that: but not with fewer than ``FEWEST_STEPS``.
    The best ``most`` are among them: once there are so many, nothing dearer is looked for. ``known`` are ways that mend
    it and are proved already: only what beats them is looked for. ``steps`` is the effort that it gets: for further
    ways a third of it, and where few are wanted as much as the first way took.
    Nothing that reaches further than ``up_to`` is among them, and for settings nothing that changes the bill is tried.
    """
    began = context.effort
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
    search = _Search(context, finding, most, max(FEWEST_PROOFS, steps // (2 * STEPS_A_PROOF)), up_to)
    for way in known if strategies.lines else ():  # what a rule offers of its own kind is not beaten by another kind
        search.keep(way.traits, way.repair, way.after)
        strategies.shown.append(ShownRepair(way.repair, way.after))
    search.run(strategies, thrifty=most < MOST_SHOWN)
    repairs = sorted(search.found, key=lambda repair: repair.rank)
    took = steps - search.unused - strategies.effort.left + STEPS_A_PROOF * search.proofs + context.effort - began
    if repairs:
        ways = tuple(search.ways[repair] for repair in repairs)
        return Plan(finding, tuple(repairs), None, took, ways)
    if finding.placement is None:
        small = up_to != "redesign"
        why = _nothing_so_small(finding, up_to, strategies, search) if small else _why_none(strategies, search)
    else:
        from lineshaft.repair.plan.blueprint_location import where_mended

        tried = _why_none(strategies, search) if strategies.lines else "no line of this file feeds it"
        if steps < FEWEST_STEPS:
            tried = "that was not looked for: the findings before it took the effort that one file gets"
        why = where_mended(finding, from_its_use=from_its_use, tried=tried)
    return Plan(finding, tuple(repairs), why, took)


class _Known(NamedTuple):
    """A proved repair, and the machines that are short of something afterwards."""

    repair: Repair
    starved: frozenset[str]


class _Search:
    """One run through the proposals: what was proved, and how many proofs that took."""

    __slots__ = (
        "began", "context", "finding", "found", "known", "most", "most_proofs", "proofs", "stopped", "unused", "up_to",
        "ways",
    )  # fmt: skip

    def __init__(
        self, context: RepairContext, finding: JudgedFinding, most: int, most_proofs: int, up_to: Effect
    ) -> None:
        self.context, self.finding, self.up_to = context, finding, up_to
        self.most, self.most_proofs = most, most_proofs
        self.found: list[Repair] = []
        self.ways: dict[Repair, ProvedRepair] = {}
        self.known: list[_Known] = []
        self.proofs = self.unused = 0
        self.began = context.effort
        self.stopped = False

    def run(self, strategies: Strategies, *, thrifty: bool) -> None:
        """Prove proposals in their order until enough different ways are found.

        Once one is found a third of the steps may be spent on further ways; ``thrifty``: as many as that took. What is
        known already counts as found where little is to be spent.
        """
        seen = {repair.edits for repair in self.found}
        looks = 0
        level = (0.0, 0, 0)
        steps, further, first = strategies.effort.left, False, 0
        if self.found and thrifty:
            self._leave(strategies.effort, MOST_BESIDE_KNOWN)
        for proposal in in_order(strategies.streams):
            if len(self.found) >= self.most and (*_price(proposal), proposal.words) > level:
                return
            if self.up_to == "setting" and _price(proposal) != (0.0, 0):
                if _price(proposal) > (0.0, 0):
                    return
                continue
            looks += bool(self.found)
            if looks > MOST_MORE_LOOKS:
                return
            if self._is_variant(proposal):
                continue
            edits, title = self._written(proposal)
            if edits is None or edits in seen:
                continue
            seen.add(edits)
            if self._may_not_go_on():
                self.stopped = True
                return
            if further and strategies.effort.left < STEPS_A_PROOF * (self.proofs - first):
                return
            self.proofs += 1
            proved = self._proved(title, edits, proposal.only_name)
            if proved is not None:
                repair, after = proved
                if not further:
                    took = steps - self.unused - strategies.effort.left
                    self._leave(strategies.effort, max(FEWEST_FURTHER, took) if thrifty else steps // 3)
                    further, first = True, self.proofs
                self.keep(proposal.traits, repair, after)
                strategies.shown.append(ShownRepair(repair, after))
                level = (*_price(proposal), proposal.words)
                if len(self.found) == MOST_SHOWN:
                    return

    def _leave(self, effort: Effort, most: int) -> None:
        """Go on with so many steps at most."""
        self.unused += max(0, effort.left - most)
        effort.left = min(effort.left, most)

    def _is_variant(self, proposal: Proposal) -> bool:
        """Whether a proposal could only be a variant of what is shown and no dearer: it need not be proved."""
        rank = round(proposal.worth, 9), proposal.added
        return varies(proposal.traits, (self.ways[other].traits for other in self.found if _rank(other) <= rank))

    def _may_not_go_on(self) -> bool:
        most = min(self.most_proofs, MOST_MORE_PROOFS) if self.found else self.most_proofs
        blueprint_searched = bool(self.context.users) and self.context.effort - self.began > MOST_EFFORT_IN_BLUEPRINTS
        return self.proofs >= most or blueprint_searched

    def keep(self, traits: frozenset[Trait], repair: Repair, after: SolvedRig) -> None:
        """Show a repair unless another does as well in worth, parts and every machine's rate; those it beats go.

        A variant of one that is shown and no dearer is known only: what it beats is not shown either.
        """
        mine = _Known(repair, starved(after))
        if any(as_good(other, mine) for other in self.known):
            return
        beaten = {other.repair for other in self.known if as_good(mine, other)}
        self.found = [other for other in self.found if other not in beaten]
        self.known.append(mine)
        slowed = (c.part for c in repair.machines if (c.rate_after or 0.0) < (c.rate_before or 0.0))
        traits |= {(SLOWER, name) for name in slowed}
        if not varies(traits, (self.ways[other].traits for other in self.found if _rank(other) <= _rank(repair))):
            self.found.append(repair)
            self.ways[repair] = ProvedRepair(repair, traits, after)

    def _written(self, proposal: Proposal) -> tuple[tuple[Edit, ...] | None, str]:
        """The edits of a proposal, none where they cannot be written, and its title."""
        edits, rig = proposal.edits(), self.context.rig.rig
        if edits is None or not rig.placed.alone:
            return edits, proposal.title
        from lineshaft.repair.edits.parameters import at_defaults

        found = at_defaults(rig.tree, edits)
        if found is None:
            return None, ""
        names = " and ".join(found[1])
        return found[0], f"{proposal.title}, by the default of {names}" if names else proposal.title

    def _proved(self, title: str, edits: tuple[Edit, ...], only_name: bool) -> tuple[Repair, SolvedRig] | None:
        """The repair where it mends, judged on the lines it touches, or of a blueprint in all that uses it; the rig.

        None where it reaches too far.
        """
        context, finding = self.context, self.finding
        edited_rig = context.edited_rig(edits)
        if edited_rig is None or not mends(context, finding, edited_rig, only_name=only_name):
            return None
        if context.rig.rig.placed.alone:
            from lineshaft.repair.edits.parameters import keeps_parameters

            if not keeps_parameters(context.rig.rig.tree, edited_rig.rig.rig.tree):
                return None
        repair = repair_of(title, edits, context.rig, edited_rig.near, edited_rig.was, only_name=only_name)
        return (repair, edited_rig.rig) if repair.within(self.up_to) else None


def _price(proposal: Proposal) -> tuple[float, int]:
    return round(proposal.worth, 6), proposal.added


def _rank(repair: Repair) -> tuple[float, int]:
    return round(repair.worth, 9), repair.parts_added


def as_good(other: _Known, mine: _Known) -> bool:
    """Whether another repair costs no more, adds no more parts, stalls no more and leaves every machine as fast."""
    known, repair = other.repair, mine.repair
    if known.worth > repair.worth + 1e-9 or known.parts_added > repair.parts_added or other.starved - mine.starved:
        return False
    theirs = {change.part: change.rate_after or 0.0 for change in known.machines}
    ours = {change.part: change.rate_after or 0.0 for change in repair.machines}
    before = {change.part: change.rate_before or 0.0 for change in (*known.machines, *repair.machines)}
    return all(theirs.get(name, rate) >= ours.get(name, rate) * (1 - EQUAL) for name, rate in before.items())


def _nothing_so_small(finding: JudgedFinding, up_to: Effect, strategies: Strategies, search: _Search) -> str:
    stopped = search.stopped or strategies.effort.spent_up
    bound = ", and the search stopped at its bound" if stopped else ""
    return f"no {up_to} was found that mends it{bound}; `lineshaft repair {finding.file}` looks for more"


def _why_none(strategies: Strategies, search: _Search) -> str:
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
    return "a person has to decide: no setting, step or part of the catalogue mends it"
