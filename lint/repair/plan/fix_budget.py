"""The repairs that are shown: planned for each finding, the worst first, and proved on the whole text of the file.

The effort is allotted in steps before the search, over the faulty files of a run and in each over its findings, equally
and never in seconds: neither time nor jobs nor order changes an answer.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice

from lineshaft.check.effort import EFFORT_OF_CHECK
from lineshaft.check.finding import Edit, Effect
from lineshaft.check.judged_finding import JudgedFinding, Repair, RepairedFinding, repaired
from lineshaft.check.level import gravity
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
_SPENT = "not looked for: the findings before it took the effort that one file gets"


def with_repairs(context: RepairContext, effort: int | None = None) -> tuple[RepairedFinding, ...]:
    """A rig's findings with the best repairs of each, or why there is none; waived ones stay as they are.

    ``effort`` is its lot in a run over many; a file by itself gets `EFFORT_OF_CHECK`.
    """
    findings = context.findings
    wanted = [finding for finding in findings if not finding.passes]
    plans = {made.finding: made for made in offers(context, wanted, effort or EFFORT_OF_CHECK, SHOWN_BY_CHECK)}
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
) -> list[Plan]:
    """A plan for each finding, the worst level first, with at most ``shown`` repairs that reach no further.

    The effort is divided equally; where it does not do for all, the first get as much as is worth a search.
    A finding also gets the repairs of the findings before it that mend it as well, and nothing is looked for that those
    beat: what is wrong in one place often shows in many; one with no repair of its own gets those of the findings
    behind it as well. It stands in a group with the first finding whose cheapest repair mends it too; but for notes,
    since what mends an error need not be what a note is about.
    """
    leads: dict[tuple[Edit, ...], str] = {}
    plans: list[Plan] = []
    known: dict[tuple[Edit, ...], tuple[ProvedRepair, EditedRig]] = {}
    left = most_effort
    ordered = sorted(findings, key=lambda finding: -gravity(finding.level))
    for number, finding in enumerate(ordered):
        steps = max(left // (len(ordered) - number), min(left, FEWEST_STEPS))
        fitting = [way for way, edited in known.values() if not is_left_in(context, finding, edited)]
        if steps < FEWEST_STEPS and finding.placement is None:  # of a blueprint's fault the start-up is looked at still
            made, edited_rigs = Plan(finding, (), _SPENT), list[EditedRig]()
        else:
            made, edited_rigs = _proved(context, finding, shown, steps, fitting, up_to)
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
    known: Mapping[tuple[Edit, ...], tuple[ProvedRepair, EditedRig]],
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
    return _proved(context, finding, None, STEPS_IN_FIX_ALL, (), up_to)[0]


def _proved(
    context: RepairContext,
    finding: JudgedFinding,
    shown: int | None,
    steps: int,
    known: Sequence[ProvedRepair],
    up_to: Effect,
) -> tuple[Plan, list[EditedRig]]:
    """The same, and the edited rig of each repair."""
    made = plan(context, finding, MOST_SHOWN if shown is None else shown, steps, known, up_to)
    began = context.effort
    proved = list(islice(_on_the_whole_text(context, finding, made.ways), shown))
    took = made.steps + STEPS_A_PROOF * len(made.ways) + context.effort - began
    if made.repairs and not proved:
        return Plan(finding, (), "the ways that were found do not hold on the whole file", took), []
    ways = tuple(way for way, _ in proved)
    repairs = tuple(way.repair for way in ways)
    return Plan(finding, repairs, made.no_repair, took, ways), [edited_rig for _, edited_rig in proved]


def _on_the_whole_text(
    context: RepairContext, finding: JudgedFinding, ways: Iterable[ProvedRepair]
) -> Iterator[tuple[ProvedRepair, EditedRig]]:
    """Those of some ways that mend the whole edited text, with the line ends of its file, and their edited rigs."""
    for way in ways:
        edited_rig = context.whole_edited_rig(way.repair.edits)
        if edited_rig is not None and mends(context, finding, edited_rig, only_name=way.repair.only_name):
            edits = tuple(edit._replace(text=context.line_ends(edit.text)) for edit in way.repair.edits)
            yield way._replace(repair=way.repair._replace(edits=edits)), edited_rig
