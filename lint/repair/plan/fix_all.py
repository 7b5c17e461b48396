"""All findings of a rig repaired together: the largest set of repairs that holds jointly, and what is left out.

One repair that mends all of them is made where it takes nothing to buy, or costs no more than others do. Else one
finding after another is repaired on the text as changed so far, cheapest first; those on different lines go in one
step. Each step is proved on the whole text against the findings before it, so that none is ever new or worse. Where
that leaves out a finding that could be repaired by itself, other choices for those before it are tried, within a
stated number.
"""

from collections import Counter
from collections.abc import Callable, Sequence
from typing import NamedTuple

from lineshaft.check.finding import Edit, Effect
from lineshaft.check.fingerprint import Subject, subject_of
from lineshaft.check.judged_finding import JudgedFinding, Repair
from lineshaft.check.shared_findings import each_once
from lineshaft.repair.plan.fix_budget import offer
from lineshaft.repair.plan.planner import Plan
from lineshaft.repair.proof.context import RepairContext, mends, no_worse
from lineshaft.solve.solved_rig import SolvedRig

MOST_BRANCHES = 64
"""Other choices that are tried to bring in what the first ones leave out."""
MOST_FINDINGS = 40
"""Findings of a file up to which other choices are tried."""
MOST_AT_ONCE = 6
"""Repairs that are looked at for whether they mend all by themselves."""
_OF_NAMES = "unknown-reference"
_IN_THE_WAY = "each of its repairs is undone by, or undoes, those of the other findings"


class Reach(NamedTuple):
    """How far the repairs may go: what they change, and which rigs are ``within`` what there is to build from.

    ``beyond`` is why a finding is left out whose repairs all go further than that.
    """

    up_to: Effect = "redesign"
    within: Callable[[SolvedRig], bool] | None = None
    beyond: str = ""

    def holds(self, rig: SolvedRig) -> bool:
        """Whether a rig with all repairs made so far can be built."""
        return self.within is None or self.within(rig)


_ANYTHING = Reach()


class Left(NamedTuple):
    """A finding that is left out, and why."""

    finding: JudgedFinding
    reason: str


class FixedRig(NamedTuple):
    """A rig with repairs made in memory: the repairs in turn with the finding each began with, and what is left out."""

    context: RepairContext
    applied: tuple[tuple[JudgedFinding, Repair], ...] = ()
    left: tuple[Left, ...] = ()

    @property
    def rank(self) -> tuple[int, float, int, int]:
        """What makes one choice better than another: less left out, then cheaper, fewer repairs, fewer parts."""
        repairs = [repair for _, repair in self.applied]
        worth = round(sum(r.worth for r in repairs), 9)
        return len(self.left), worth, len(repairs), sum(r.parts_added for r in repairs)


def fix_all(context: RepairContext, plans: Sequence[Plan], reach: Reach = _ANYTHING) -> FixedRig:
    """The largest set found for errors and warnings of repairs that reach no further than ``reach``.

    ``plans`` are those of the findings each by itself, made with the same reach.
    """
    mendable = frozenset(subject_of(made.finding, anywhere=True) for made in plans if made.repairs)
    at_once = _at_once(FixedRig(context), plans, reach)
    if at_once is not None and at_once.rank <= (0, 0.0, 1, 0):
        return at_once
    found = _one_by_one(context, plans, reach, mendable)
    return found if at_once is None else min(found, at_once, key=lambda fixed: fixed.rank)


def _one_by_one(
    context: RepairContext, plans: Sequence[Plan], reach: Reach, mendable: frozenset[Subject]
) -> FixedRig:
    first = _still_there(_in_turn(_different_lines(FixedRig(context), plans, reach), reach))
    if _complete(first, mendable) or len(each_once(made.finding for made in plans)) > MOST_FINDINGS:
        return first
    found = _still_there(_Search(mendable, reach).best(FixedRig(context)))
    return min(found, first, key=lambda fixed: fixed.rank)


def _still_there(fixed: FixedRig) -> FixedRig:
    """The same without what was left out for a time and went with a later repair."""
    there = {_fault(finding) for finding in open_findings(fixed.context)}
    return fixed._replace(left=tuple(entry for entry in fixed.left if _fault(entry.finding) in there))


def open_findings(context: RepairContext) -> list[JudgedFinding]:
    """What is repaired together: errors, then warnings; neither notes nor what is waived.

    Names that are not there come first: what hangs on them is not judged, and no setting is right for what is not.
    A fault of a blueprint is one, however often the blueprint stands in the rig.
    """
    counted = each_once(finding for finding in context.findings if finding.level != "note" and not finding.passes)
    return sorted(counted, key=lambda finding: (finding.rule != _OF_NAMES, finding.level != "error"))


def _complete(found: FixedRig, mendable: frozenset[Subject]) -> bool:
    """Whether nothing is left out that could be repaired by itself."""
    return all(subject_of(entry.finding, anywhere=True) not in mendable for entry in found.left)


def _at_once(fixed: FixedRig, plans: Sequence[Plan], reach: Reach) -> FixedRig | None:
    """The best of the repairs that leave nothing open by themselves; those of most findings are looked at."""
    wanted = {_fault(finding) for finding in open_findings(fixed.context)}
    begins: dict[tuple[Edit, ...], tuple[JudgedFinding, Repair]] = {}
    mends_of: Counter[tuple[Edit, ...]] = Counter()
    for made in plans:
        for repair in made.repairs if _fault(made.finding) in wanted else ():
            begins.setdefault(repair.edits, (made.finding, repair))
            mends_of[repair.edits] += 1
    best: FixedRig | None = None
    for edits, findings in mends_of.most_common(MOST_AT_ONCE):
        finding, repair = begins[edits]
        if findings < 2 or (best is not None and repair.rank >= best.applied[0][1].rank):
            continue
        step = _step(fixed, finding, repair)
        if step is not None and not open_findings(step.context) and reach.holds(step.context.rig):
            best = step
    return best


def _different_lines(fixed: FixedRig, plans: Sequence[Plan], reach: Reach) -> FixedRig:
    """The best repairs of findings on lines that share nothing, all in one step; nothing where that does not hold."""
    context = fixed.context
    taken: set[str] = set()
    chosen: list[tuple[JudgedFinding, Repair]] = []
    subjects = {subject_of(finding, anywhere=True) for finding in open_findings(context)}
    for made in plans:
        if not made.repairs or subject_of(made.finding, anywhere=True) not in subjects:
            continue
        edited_rig = context.edited_rig(made.repairs[0].edits)
        names = {part.name for part in edited_rig.near.parts} if edited_rig is not None else taken
        if taken.isdisjoint(names):
            taken |= names
            chosen.append((made.finding, made.repairs[0]))
    if len(chosen) < 2:
        return fixed
    whole = context.whole_edited_rig(edit for _, repair in chosen for edit in repair.edits)
    if whole is None or not reach.holds(whole.rig) or not all(mends(context, found, whole) for found, _ in chosen):
        return fixed
    return FixedRig(context.after(whole), tuple(chosen))


def _in_turn(fixed: FixedRig, reach: Reach) -> FixedRig:
    """One finding after another, each with the first of its repairs that holds."""
    while (finding := _next(fixed)) is not None:
        made = _offered(fixed, finding, reach)
        steps = (_step(fixed, finding, repair) for repair in made.repairs)
        fixed = next((step for step in steps if step is not None), None) or _without(fixed, made)
    return fixed


def _offered(fixed: FixedRig, finding: JudgedFinding, reach: Reach) -> Plan:
    """The plan for a finding on top of what is made, with those of its repairs that are within reach."""
    context = fixed.context
    made = offer(context, finding, reach.up_to)
    edited = ((repair, context.whole_edited_rig(repair.edits)) for repair in made.repairs)
    kept = tuple(repair for repair, rig in edited if rig is not None and reach.holds(rig.rig))
    return made._replace(repairs=kept, no_repair=reach.beyond if made.repairs and not kept else made.no_repair)


def _next(fixed: FixedRig) -> JudgedFinding | None:
    left = {_fault(entry.finding) for entry in fixed.left}
    return next((f for f in open_findings(fixed.context) if _fault(f) not in left), None)


def _fault(finding: JudgedFinding) -> Subject | str:
    """What is left out as one: whichever use of a blueprint is the worst, the fault in its file is the same."""
    return subject_of(finding, anywhere=True) if finding.placement is None else finding.fingerprint


def _without(fixed: FixedRig, made: Plan) -> FixedRig:
    return fixed._replace(left=(*fixed.left, Left(made.finding, made.no_repair or _IN_THE_WAY)))


def _step(fixed: FixedRig, finding: JudgedFinding, repair: Repair) -> FixedRig | None:
    """One more repair, proved on the whole text."""
    edited_rig = fixed.context.whole_edited_rig(repair.edits)
    misspelt = finding if repair.only_name else None
    if edited_rig is None or not no_worse(fixed.context, edited_rig, misspelt):
        return None
    return FixedRig(fixed.context.after(edited_rig), (*fixed.applied, (finding, repair)), fixed.left)


class _Search:
    """Goes through the choices for each finding; ``branches`` counts those beyond the first."""

    def __init__(self, mendable: frozenset[Subject], reach: Reach) -> None:
        self.mendable, self.reach = mendable, reach
        self.branches = 0

    def best(self, fixed: FixedRig) -> FixedRig:
        """The best way on from here: the first that leaves out nothing that could be repaired, or the best seen."""
        finding = _next(fixed)
        if finding is None:
            return fixed
        made = _offered(fixed, finding, self.reach)
        kept: FixedRig | None = None
        for step in (*(_step(fixed, finding, repair) for repair in made.repairs), _without(fixed, made)):
            if step is None:
                continue
            if kept is not None:
                self.branches += 1
                if self.branches > MOST_BRANCHES:
                    break
            found = self.best(step)
            if _complete(found, self.mendable):
                return found
            if kept is None or found.rank < kept.rank:
                kept = found
        return fixed if kept is None else kept
