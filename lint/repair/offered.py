"""The repairs that are shown: planned for each finding, the worst first, and proved on the whole text of the file.

The effort for one file is bounded in parts judged, not in seconds, so that the same file always gets the same answer.
"""

from collections.abc import Iterable, Iterator

from lineshaft.check.finding import Edit, Finding, Repair
from lineshaft.repair.planner import MOST_SHOWN, Plan, plan
from lineshaft.repair.proof import Trial, Workshop, is_left, mends

SHOWN_BY_CHECK = 2
"""Repairs of one finding in a check."""
EFFORT_OF_CHECK = 30_000
EFFORT_OF_REPAIR = 1_000_000
"""Parts judged in trials (see `Workshop.effort`) after which no other finding is planned for."""
MOST_SHARED = 12
"""Repairs that are held against other findings once the effort is spent."""
_SPENT = "not looked for: the findings before it took the effort that one file gets"
_RANK = {"error": 0, "warning": 1, "note": 2}


def with_repairs(workshop: Workshop) -> tuple[Finding, ...]:
    """A rig's findings with the best repairs of each, or why there is none; waived ones stay as they are."""
    findings = workshop.findings
    wanted = [finding for finding in findings if not finding.passes]
    plans = {made.finding: made for made in offers(workshop, wanted, EFFORT_OF_CHECK, SHOWN_BY_CHECK)}
    return tuple(
        finding._replace(repairs=plans[finding].repairs, no_repair=plans[finding].no_repair)
        if finding in plans
        else finding
        for finding in findings
    )


def left_to_repair(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings on a blueprint: a check reads the files that it is given, and the proof takes all that use it."""
    from lineshaft.repair.elsewhere import repaired_by

    return tuple(found._replace(no_repair=f"not looked for here: {repaired_by(found.file)}") for found in findings)


def offers(
    workshop: Workshop, findings: Iterable[Finding], most_effort: int = EFFORT_OF_REPAIR, shown: int | None = None
) -> Iterator[Plan]:
    """A plan for each finding, the worst level first, with at most ``shown`` repairs.

    Once the effort is spent, a finding still gets the repairs of the findings before it that mend it as well: what is
    wrong in one place often shows in many.
    """
    known: dict[tuple[Edit, ...], tuple[Repair, Trial]] = {}
    spent = False
    for finding in sorted(findings, key=lambda finding: _RANK[finding.level]):
        spent = spent or workshop.effort > most_effort
        if spent and finding.placement is None:  # where a fault of a blueprint is mended takes no search
            fitting = [made for made, trial in known.values() if not is_left(workshop, finding, iter(trial.findings))]
            yield Plan(finding, tuple(_ranked(fitting)[:shown]), None if fitting else _SPENT)
            continue
        made, trials = _proved(workshop, finding, shown)
        for repair, trial in zip(made.repairs, trials, strict=True):
            if len(known) < MOST_SHARED:
                known.setdefault(repair.edits, (repair, trial))
        yield made


def _ranked(repairs: Iterable[Repair]) -> list[Repair]:
    return sorted(repairs, key=lambda repair: (round(repair.worth, 9), repair.parts_added, repair.title))


def offer(workshop: Workshop, finding: Finding, shown: int | None = None) -> Plan:
    """The plan for a finding, with those of its repairs that hold on the whole edited text."""
    return _proved(workshop, finding, shown)[0]


def _proved(workshop: Workshop, finding: Finding, shown: int | None) -> tuple[Plan, list[Trial]]:
    """The same, and the trial of each repair."""
    made = plan(workshop, finding, MOST_SHOWN if shown is None else shown)
    proved: list[Repair] = []
    trials: list[Trial] = []
    for repair in made.repairs:
        if len(proved) == shown:
            break
        trial = workshop.whole_trial(repair.edits)
        if trial is not None and mends(workshop, finding, trial):
            edits = tuple(edit._replace(text=workshop.line_ends(edit.text)) for edit in repair.edits)
            proved.append(repair._replace(edits=edits))
            trials.append(trial)
    if made.repairs and not proved:
        return Plan(finding, (), "the ways that were found do not hold on the whole file"), []
    return Plan(finding, tuple(proved), made.no_repair), trials
