"""The repairs that are shown: planned for each finding, the worst first, and proved as the search left them or anew.

The effort is allotted in steps before the search, over the faulty files of a run and in each over its findings, equally
and never in seconds: neither time nor jobs nor order changes an answer.

What a check shows was proved on the lines that it touches. Where it is written, or a command is asked for repairs
alone, it is proved on the whole text of the file as well; so it is in a check where rules of others are on, of which
nobody knows what in a file they look at.
"""

from collections.abc import Iterable, Iterator, Mapping
from itertools import islice
from typing import TypeAlias

from lineshaft.check.effort import EFFORT_OF_CHECK
from lineshaft.check.finding import Edit, Effect
from lineshaft.check.judged_finding import JudgedFinding, Repair, RepairedFinding, repaired
from lineshaft.check.level import gravity
from lineshaft.check.registry import own_ids
from lineshaft.repair.plan.planner import FEWEST_STEPS, Plan, plan
from lineshaft.repair.plan.proving import MOST_SHOWN, STEPS_A_PROOF, ProvedRepair
from lineshaft.repair.proof.context import RepairContext, is_left_in, mends
from lineshaft.repair.proof.edited_rig import EditedRig

SHOWN_BY_CHECK = 2
"""Repairs of one finding in a check."""
EFFORT_OF_REPAIR = 120_000
"""Steps that one file gets for all its findings, equally: those that one does not need go to the ones behind it."""
STEPS_IN_FIX_ALL = 20_000
"""Steps for one finding where all are repaired together, which plans for each again and again."""
MOST_SHARED = 12
"""Repairs that are held against other findings once the effort is spent."""
_STEPS_A_PART = 20
"""Steps for each part of the rig: with no more a finding that has a way already is not worth a search."""
_WithRig: TypeAlias = tuple[ProvedRepair, EditedRig]
_KnownWays: TypeAlias = Mapping[tuple[Edit, ...], _WithRig]
_SPENT = "not looked for: the findings before it took the effort that one file gets"


def with_repairs(context: RepairContext, effort: int | None = None) -> tuple[RepairedFinding, ...]:
    """A rig's findings with the best repairs of each, or why there is none; waived ones stay as they are.

    ``effort`` is its lot in a run over many; a file by itself gets `EFFORT_OF_CHECK`.
    """
    findings = context.findings
    wanted = [finding for finding in findings if not finding.passes]
    own = own_ids()
    whole = any(rule.id not in own for rule in context.book.rules)
    made_for = offers(context, wanted, effort or EFFORT_OF_CHECK, SHOWN_BY_CHECK, whole=whole)
    plans = {made.finding: made for made in made_for}
    return tuple(
        repaired(finding, made.repairs, made.no_repair, made.group)
        if (made := plans.get(finding)) is not None
        else repaired(finding)
        for finding in findings
    )


def left_to_repair(findings: Iterable[JudgedFinding]) -> tuple[RepairedFinding, ...]:
    """Findings on a blueprint: a check reads the files that it is given, and the proof takes all that use it."""
    from lineshaft.repair.plan.blueprint_location import repaired_by

    return tuple(repaired(found, no_repair=f"not looked for here: {repaired_by(found.file)}") for found in findings)


def offers(
    context: RepairContext,
    findings: Iterable[JudgedFinding],
    most_effort: int = EFFORT_OF_REPAIR,
    shown: int | None = None,
    up_to: Effect = "redesign",
    *,
    whole: bool = True,
) -> list[Plan]:
    """A plan for each finding, the worst level first, with at most ``shown`` repairs that reach no further.

    The effort is divided equally; where it does not do for all, the first get as much as is worth a search.
    A finding also gets the repairs of the findings before it that mend it as well, and nothing is looked for that those
    beat, nor anything at all beside one that takes nothing to buy where many findings or parts leave little for each:
    what is wrong in one place often shows in many; one with no repair of its own gets those of the findings
    behind it as well. It stands in a group with the first finding whose cheapest repair mends it too; but for notes,
    since what mends an error need not be what a note is about. ``whole``: each is proved on the whole text too.
    """
    leads: dict[tuple[Edit, ...], str] = {}
    plans: list[Plan] = []
    known: dict[tuple[Edit, ...], _WithRig] = {}
    left = most_effort
    ordered = sorted(findings, key=lambda finding: -gravity(finding.level))
    beside = shown is None or most_effort > _STEPS_A_PART * len(context.rig.parts) * len(ordered)
    for number, finding in enumerate(ordered):
        steps = max(left // (len(ordered) - number), min(left, FEWEST_STEPS))
        fitting = [way for way, edited in known.values() if not is_left_in(context, finding, edited)]
        if steps < FEWEST_STEPS and finding.placement is None:  # of a blueprint's fault the start-up is looked at still
            made, edited_rigs = Plan(finding, (), _SPENT), list[EditedRig]()
        else:
            made = plan(context, finding, MOST_SHOWN if shown is None else shown, steps, fitting, up_to, beside=beside)
            made, edited_rigs = _proved(context, made, known, shown, whole=whole)
        left -= made.steps
        group = _group_of(finding, (way.repair for way in fitting), leads)
        if group is None and made.repairs:
            leads.setdefault(made.repairs[0].edits, finding.fingerprint)
        plans.append(made._replace(group=group))
        for way, edited_rig in zip(made.ways, edited_rigs, strict=True):
            if len(known) < MOST_SHARED:
                known.setdefault(way.repair.edits, (way, edited_rig))
    plans = [made if made.repairs else _by_another(context, made, known, leads, shown) for made in plans]
    names = {made.group for made in plans}
    return [
        made._replace(group=made.finding.fingerprint) if made.finding.fingerprint in names else made for made in plans
    ]


def _group_of(
    finding: JudgedFinding, repairs: Iterable[Repair], leads: Mapping[tuple[Edit, ...], str]
) -> str | None:
    """The group of the finding whose cheapest repair is the first of these that is anybody's; none of notes."""
    if finding.level == "note" or finding.placement is not None:
        return None
    return next((leads[repair.edits] for repair in repairs if repair.edits in leads), None)


def _by_another(
    context: RepairContext,
    made: Plan,
    known: _KnownWays,
    leads: Mapping[tuple[Edit, ...], str],
    shown: int | None,
) -> Plan:
    """A plan with nothing of its own, with what mends other findings and this one too; not of a blueprint's fault."""
    finding = made.finding
    if finding.placement is not None:
        return made
    fitting = [way.repair for way, edited in known.values() if not is_left_in(context, finding, edited)]
    ranked = tuple(sorted(fitting, key=lambda repair: repair.rank))[:shown]
    return made._replace(repairs=ranked, no_repair=None, group=_group_of(finding, ranked, leads)) if ranked else made


def offer(context: RepairContext, finding: JudgedFinding, up_to: Effect = "redesign") -> Plan:
    """The plan for a finding, with those of its repairs that hold on the whole edited text."""
    return _proved(context, plan(context, finding, MOST_SHOWN, STEPS_IN_FIX_ALL, (), up_to), {}, None, whole=True)[0]


def _proved(
    context: RepairContext, made: Plan, known: _KnownWays, shown: int | None, *, whole: bool
) -> tuple[Plan, list[EditedRig]]:
    """A plan with the repairs that hold, and the edited rig of each; the ``known`` ones were proved to."""
    finding, began = made.finding, context.effort
    proved = list(islice(_holding(context, finding, made.ways, known, whole=whole), shown))
    new = sum(1 for way in made.ways if way.repair.edits not in known) if whole else 0
    took = made.steps + STEPS_A_PROOF * new + context.effort - began
    if made.repairs and not proved:
        return Plan(finding, (), "the ways that were found do not hold on the whole file", took), []
    ways = tuple(way for way, _ in proved)
    repairs = tuple(way.repair for way in ways)
    return Plan(finding, repairs, made.no_repair, took, ways), [edited_rig for _, edited_rig in proved]


def _holding(
    context: RepairContext, finding: JudgedFinding, ways: Iterable[ProvedRepair], known: _KnownWays, *, whole: bool
) -> Iterator[_WithRig]:
    """Ways with the line ends of their file, and their edited rigs; with ``whole`` those that mend the whole text."""
    for way in ways:
        repair = way.repair
        if repair.edits in known:
            yield known[repair.edits]
            continue
        edited_rig = context.whole_edited_rig(repair.edits) if whole else context.edited_rig(repair.edits)
        if edited_rig is None or (whole and not mends(context, finding, edited_rig, only_name=repair.only_name)):
            continue
        edits = tuple(edit._replace(text=context.line_ends(edit.text)) for edit in repair.edits)
        yield way._replace(repair=repair._replace(edits=edits)), edited_rig
