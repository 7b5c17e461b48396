"""Findings to proved repairs: what a rule offers, priced, then proved cheapest first.

What is proved first is the cheapest there is within the bounds of the searches. What is shown is a short list of
different ways: a repair that changes all that a cheaper one does and more is a variant of it and left out.
"""

from typing import NamedTuple

from lineshaft.check.finding import Edit, Finding, Repair
from lineshaft.repair.effect import repair_of
from lineshaft.repair.offers import Offered, offers_for
from lineshaft.repair.proof import Workshop, mends
from lineshaft.repair.proposal import Ground, Proposal, Trait, ground_of, in_order, varies
from lineshaft.solve.limits import EQUAL

MOST_PROOFS = 600
"""Proofs of one plan."""
MOST_MORE_PROOFS = 40
MOST_MORE_LOOKS = 400
MOST_MORE_WORK = 3_000
"""Proofs, proposals and choices of stages that are spent on further ways once one is found."""
MOST_EFFORT_ELSEWHERE = 300_000
"""Parts judged in one plan for a blueprint, the rigs that use it among them."""
MOST_SHOWN = 5


class Plan(NamedTuple):
    """The repairs of one finding, cheapest first; or why there is none."""

    finding: Finding
    repairs: tuple[Repair, ...]
    no_repair: str | None


def plan(workshop: Workshop, finding: Finding, most: int = MOST_SHOWN) -> Plan:
    """The proved repairs of a finding in the file itself; none of one in a blueprint that it uses, as others may.

    The best ``most`` are among them: once there are so many, nothing dearer is looked for.
    """
    if finding.placement is not None:
        from lineshaft.repair.elsewhere import where_mended

        return Plan(finding, (), where_mended(workshop, finding))
    ground = ground_of(workshop.rig, workshop.book, used=bool(workshop.users))
    offered = offers_for(ground, finding)
    search = _Search(workshop, finding, most)
    search.run(ground, offered)
    repairs = sorted(search.found, key=lambda repair: (round(repair.worth, 9), repair.parts_added, repair.title))
    why = None if repairs else _why_none(finding, offered, search)
    return Plan(finding, tuple(repairs), why)


class _Search:
    """One run through the proposals: what was proved, and how many proofs that took."""

    __slots__ = ("_traits_of", "began", "finding", "found", "most", "proofs", "stopped", "traits", "workshop")

    def __init__(self, workshop: Workshop, finding: Finding, most: int) -> None:
        self.workshop, self.finding, self.most = workshop, finding, most
        self.found: list[Repair] = []
        self.traits: list[frozenset[Trait]] = []
        self._traits_of: dict[Repair, frozenset[Trait]] = {}
        self.proofs = 0
        self.began = workshop.effort
        self.stopped = False

    def run(self, ground: Ground, offered: Offered) -> None:
        """Prove proposals in their order until enough different ways are found."""
        seen: set[tuple[Edit, ...]] = set()
        looks = 0
        level = (0.0, 0)
        for proposal in in_order(offered.streams):
            if len(self.found) >= self.most and _price(proposal) > level:
                return
            looks += bool(self.found)
            if looks > MOST_MORE_LOOKS:
                return
            if varies(proposal.traits, self.traits):
                continue
            edits, title = self._written(proposal)
            if edits is None or edits in seen:
                continue
            seen.add(edits)
            if self.proofs >= (MOST_MORE_PROOFS if self.found else MOST_PROOFS):
                self.stopped = True
                return
            if self.workshop.users and self.workshop.effort - self.began > MOST_EFFORT_ELSEWHERE:
                self.stopped = True
                return
            self.proofs += 1
            repair = self._proved(title, edits)
            if repair is not None:
                offered.effort.left = min(offered.effort.left, MOST_MORE_WORK)
                self._keep(proposal, repair)
                level = _price(proposal)
                if len(self.found) == MOST_SHOWN:
                    return

    def _keep(self, proposal: Proposal, repair: Repair) -> None:
        """Show a repair unless another does as well; one that changes more for the same price gives way to it."""
        if proposal.plain or not any(as_good(other, repair) for other in self.found):
            variants = {t for t in self.traits if proposal.traits < t}
            self.found = [r for r in self.found if not (self._traits_of[r] in variants and as_good(repair, r))]
            self.found.append(repair)
            self._traits_of[repair] = proposal.traits
        self.traits.append(proposal.traits)

    def _written(self, proposal: Proposal) -> tuple[tuple[Edit, ...] | None, str]:
        """The edits of a proposal, none where they cannot be written, and its title."""
        edits, rig = proposal.edits(), self.workshop.rig.rig
        if edits is None or not rig.placed.alone:
            return edits, proposal.title
        from lineshaft.repair.parameter_edits import at_defaults

        found = at_defaults(rig.tree, edits)
        if found is None:
            return None, ""
        names = " and ".join(found[1])
        return found[0], f"{proposal.title}, by the default of {names}" if names else proposal.title

    def _proved(self, title: str, edits: tuple[Edit, ...]) -> Repair | None:
        """The repair where it mends, judged on the lines it touches, or of a blueprint in all that uses it."""
        workshop, finding = self.workshop, self.finding
        trial = workshop.trial(edits)
        if trial is None or not mends(workshop, finding, trial):
            return None
        if workshop.rig.rig.placed.alone:
            from lineshaft.repair.parameter_edits import keeps_parameters

            if not keeps_parameters(workshop.rig.rig.tree, trial.rig.rig.tree):
                return None
        return repair_of(title, edits, workshop.rig, trial.rig)


def _price(proposal: Proposal) -> tuple[float, int]:
    return round(proposal.worth, 6), proposal.added


def as_good(other: Repair, repair: Repair) -> bool:
    """Whether another repair costs no more, adds no more parts and leaves every machine at least as fast."""
    if other.worth > repair.worth + 1e-9 or other.parts_added > repair.parts_added:
        return False
    theirs = {change.part: change.rate_after or 0.0 for change in other.machines}
    ours = {change.part: change.rate_after or 0.0 for change in repair.machines}
    before = {change.part: change.rate_before or 0.0 for change in (*other.machines, *repair.machines)}
    return all(theirs.get(name, rate) >= ours.get(name, rate) * (1 - EQUAL) for name, rate in before.items())


def _why_none(finding: Finding, offered: Offered, search: _Search) -> str:
    """In one line: the rule's own reason, what was searched in full, or that the search stopped."""
    stopped = search.stopped or offered.effort.spent_up
    if offered.failed is not None:
        return offered.failed
    if stopped:
        return f"{search.proofs} ways were proved and none mends it; the search stopped at its bound, not at its end"
    if offered.bounds:
        found = f"nothing within the bounds mends it without a new finding: {offered.bounds}"
        return found if offered.reason is None else f"{offered.reason}; {found}"
    if offered.reason is not None:
        return offered.reason
    if search.proofs:
        return f"all {search.proofs} ways were tried; each leaves it or makes a new finding"
    return f"{finding.rule} is mended by hand: no setting or part of the catalogue decides it"
