"""Proposals proved in their order, until enough different ways are found.

What is shown is a short list of different ways: a repair that changes all that a cheaper one does and more is a variant
of it and left out.
"""

from collections.abc import Iterable
from itertools import islice
from typing import NamedTuple

from lineshaft.check.finding import Edit, Effect
from lineshaft.check.judged_finding import JudgedFinding, Repair
from lineshaft.repair.line.effort import Effort
from lineshaft.repair.plan.strategies import Strategies
from lineshaft.repair.proof.context import RepairContext, mends
from lineshaft.repair.proof.edited_rig import EditedRig
from lineshaft.repair.proof.effect import repair_of, starved, starved_after
from lineshaft.repair.strategies.line_remade import ShownRepair
from lineshaft.repair.strategies.proposal import SLOWER, Proposal, Trait, in_order, varies
from lineshaft.solve.limits import EQUAL
from lineshaft.solve.solved_rig import SolvedRig

STEPS_A_PROOF = 250
"""What a proof counts for beside the parts that it judges, in steps of a search."""
FEWEST_PROOFS = 12
FEWEST_FURTHER = 400
"""Steps for further ways where few are wanted, at least."""
_OF_THE_FIRST = 8
"""Where few are wanted, one in so many of the steps that the first way took is spent on further ones."""
MOST_BESIDE_KNOWN = 2_000
"""Steps for ways beside those that are known, where few are wanted."""
MOST_MORE_PROOFS = 40
MOST_MORE_LOOKS = 400
"""Proofs, and proposals looked at, that are spent on further ways once one is found; at most a third of the steps."""
MOST_EFFORT_IN_BLUEPRINTS = 300_000
"""Parts judged in one plan for a blueprint, the rigs that use it among them."""
MOST_SHOWN = 5


class ProvedRepair(NamedTuple):
    """A proved repair, what it changes and where, and the rig with it: other findings may be mended by it too."""

    repair: Repair
    traits: frozenset[Trait]
    after: SolvedRig


class _Known(NamedTuple):
    """A proved repair, and the machines that are short of something afterwards."""

    repair: Repair
    starved: frozenset[str]


class Proving:
    """One run through the proposals: what was proved, and how many proofs that took."""

    __slots__ = (
        "began", "context", "finding", "found", "known", "most", "most_proofs", "proofs", "stopped", "tried", "unused",
        "up_to", "ways",
    )  # fmt: skip

    def __init__(
        self, context: RepairContext, finding: JudgedFinding, most: int, most_proofs: int, up_to: Effect
    ) -> None:
        self.context, self.finding, self.up_to = context, finding, up_to
        self.most, self.most_proofs = most, most_proofs
        self.found: list[Repair] = []
        self.ways: dict[Repair, ProvedRepair] = {}
        self.known: list[_Known] = []
        self.tried: set[tuple[Edit, ...]] = set()
        self.proofs = self.unused = 0
        self.began = context.effort
        self.stopped = False

    def show(self, ways: Iterable[ProvedRepair], strategies: Strategies) -> None:
        """Show ways that are proved already."""
        for way in ways:
            self._show(way.traits, _Known(way.repair, starved(way.after)), way.after, strategies)

    def _show(self, traits: frozenset[Trait], mine: "_Known", after: SolvedRig, strategies: Strategies) -> None:
        self._keep(traits, mine, after)
        strategies.shown.append(ShownRepair(mine.repair, after))

    def run(self, strategies: Strategies, *, thrifty: bool) -> None:
        """Prove proposals in their order until enough different ways are found.

        Once one is found a third of the steps may be spent on further ways; ``thrifty``: an eighth of what that took.
        What is known already counts as found where little is to be spent. Where nothing is found single parts in
        another make or set otherwise are tried, however much was spent.
        """
        self._in_order(strategies, thrifty=thrifty)
        if not self.found:
            for proposal in islice(strategies.single_changes(), FEWEST_PROOFS):
                edits, title = self._untried(proposal)
                if edits is not None and not self._has_searched_blueprint():
                    self._prove(proposal, title, edits, strategies)

    def _in_order(self, strategies: Strategies, *, thrifty: bool) -> None:
        self.tried |= {repair.edits for repair in self.found}
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
            edits, title = self._untried(proposal)
            if edits is None:
                continue
            if self._may_not_go_on():
                self.stopped = True
                return
            if further and strategies.effort.left < STEPS_A_PROOF * (self.proofs - first):
                return
            if self._prove(proposal, title, edits, strategies):
                if not further:
                    took = steps - self.unused - strategies.effort.left
                    few = max(FEWEST_FURTHER, took // _OF_THE_FIRST)
                    self._leave(strategies.effort, few if thrifty else steps // 3)
                    further, first = True, self.proofs
                level = (*_price(proposal), proposal.words)
                if len(self.found) == MOST_SHOWN:
                    return

    def _prove(self, proposal: Proposal, title: str, edits: tuple[Edit, ...], strategies: Strategies) -> bool:
        """Prove a proposal, and show it where it mends; one that is no better than what is shown need not be proved."""
        self.tried.add(edits)
        self.proofs += 1
        edited_rig = self.context.edited_rig(edits)
        if edited_rig is None:
            return False
        mine = self._known_as(title, edits, proposal.only_name, edited_rig)
        if self._is_beaten(mine) or not mine.repair.within(self.up_to):
            return False
        if not self._mends(edited_rig, proposal.only_name):
            return False
        self._show(proposal.traits, mine, edited_rig.rig, strategies)
        return True

    def _is_beaten(self, mine: "_Known") -> bool:
        return any(as_good(other, mine) for other in self.known)

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
        return self.proofs >= most or self._has_searched_blueprint()

    def _has_searched_blueprint(self) -> bool:
        """Whether what one plan for a blueprint may take is spent."""
        return bool(self.context.users) and self.context.effort - self.began > MOST_EFFORT_IN_BLUEPRINTS

    def _keep(self, traits: frozenset[Trait], mine: "_Known", after: SolvedRig) -> None:
        """Show a repair unless another does as well in worth, parts and every machine's rate; those it beats go.

        A variant of one that is shown and no dearer is known only: what it beats is not shown either.
        """
        if self._is_beaten(mine):
            return
        repair = mine.repair
        beaten = {other.repair for other in self.known if as_good(mine, other)}
        self.found = [other for other in self.found if other not in beaten]
        self.known.append(mine)
        slowed = (c.part for c in repair.machines if (c.rate_after or 0.0) < (c.rate_before or 0.0))
        traits |= {(SLOWER, name) for name in slowed}
        if not varies(traits, (self.ways[other].traits for other in self.found if _rank(other) <= _rank(repair))):
            self.found.append(repair)
            self.ways[repair] = ProvedRepair(repair, traits, after)

    def _untried(self, proposal: Proposal) -> tuple[tuple[Edit, ...] | None, str]:
        """The edits of a proposal and its title; no edits where they cannot be written or were tried already."""
        edits, title = self._written(proposal)
        return (None, "") if edits in self.tried else (edits, title)

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

    def _known_as(self, title: str, edits: tuple[Edit, ...], only_name: bool, edited_rig: EditedRig) -> "_Known":
        """What a repair does, by the lines that it touches."""
        before, near, was = self.context.rig, edited_rig.near, edited_rig.was
        repair = repair_of(title, edits, before, near, was, only_name=only_name)
        return _Known(repair, starved_after(before, near, was))

    def _mends(self, edited_rig: EditedRig, only_name: bool) -> bool:
        """Whether an edited rig is rid of the finding and has nothing new; of a blueprint, in all that uses it too."""
        context = self.context
        if not mends(context, self.finding, edited_rig, only_name=only_name):
            return False
        if not context.rig.rig.placed.alone:
            return True
        from lineshaft.repair.edits.parameters import keeps_parameters

        return keeps_parameters(context.rig.rig.tree, edited_rig.rig.rig.tree)


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
