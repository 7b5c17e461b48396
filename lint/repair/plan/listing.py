"""The repairs of a rig as a list: by finding, those that one repair mends together, each repair once and numbered."""

from collections.abc import Iterable, Iterator, Sequence

from lineshaft.check.finding import Effect
from lineshaft.check.judged_finding import JudgedFinding, Repair
from lineshaft.check.shared_findings import each_once, worst_use
from lineshaft.repair.plan.fix_budget import offers
from lineshaft.repair.plan.planner import Plan
from lineshaft.repair.proof.context import RepairContext


def plans_of(context: RepairContext, up_to: Effect = "redesign") -> list[Plan]:
    """The plans of all findings but waived ones, in the order of the sheet."""
    findings = [finding for finding in context.findings if not finding.passes]
    order = {finding: number for number, finding in enumerate(findings)}
    return sorted(offers(context, findings, up_to=up_to), key=lambda made: order[made.finding])


def grouped(plans: Iterable[Plan]) -> list[list[Plan]]:
    """The plans as they are shown: findings that one repair mends stand together, that for which it was found first.

    So do those of one cause that nothing mends.
    """
    groups: dict[object, list[Plan]] = {}
    name: object = ""
    for made in _once(plans):
        finding = made.finding
        cause = None if made.repairs or finding.shared is None else (finding.file, finding.rule, finding.shared)
        if not is_other_use(finding):
            name = made.group or cause or finding
        groups.setdefault(name, []).append(made)
    for name, group in groups.items():
        group.sort(key=lambda made: made.finding.fingerprint != name)
    return list(groups.values())


def is_other_use(finding: JudgedFinding) -> bool:
    """Whether a finding is that of a use which another, told for all of them, stands for."""
    return finding.placement is not None and not finding.uses


def repairs_of(group: Sequence[Plan]) -> list[tuple[JudgedFinding, Repair]]:
    """The repairs of a group: the one that mends it all, then what else mends one of its findings, each once."""
    found: dict[Repair, JudgedFinding] = {}
    for made in group:
        for repair in made.repairs:
            found.setdefault(repair, made.finding)
    return [(finding, repair) for repair, finding in found.items()]


def mends_all(group: Sequence[Plan], repair: Repair) -> bool:
    """Whether a repair of a group mends all of its findings: of one, or the one that they were grouped by."""
    if len(group) == 1:
        return True
    return not any(is_other_use(made.finding) for made in group) and repair in group[0].repairs[:1]


def _once(plans: Iterable[Plan]) -> Iterator[Plan]:
    """The plans as they are shown and numbered: a fault of a blueprint once, with the plan of its worst use first.

    The plans of its other uses follow, each with a finding that has no uses.
    """
    known = {made.finding: made for made in plans}
    for told in each_once(known):
        worst = worst_use(told.uses) if told.uses else told
        yield known[worst]._replace(finding=told)
        yield from (known[use] for use in told.uses if use is not worst)
