"""Faults found while a file was read, worded as findings for the rule that owns them."""

from collections.abc import Iterator

from lineshaft.check.finding import Cause, Finding, report
from lineshaft.schema.text.faults import Fault
from lineshaft.solve.solved_rig import SolvedRig


def faults_of(rig: SolvedRig, rule: str) -> Iterator[Finding]:
    """The faults that ``rule`` owns, each once."""
    for fault in dict.fromkeys(rig.faults):
        if fault.rule == rule:
            because = tuple(Cause(r.file, r.span, None, (r.message,)) for r in fault.related)
            place = (fault.file, fault.span, fault.route)
            found = report(rule, "error", place, fault.part, (fault.message,), (), because)
            yield _in_blueprint(found, fault) if fault.uses else found


def _in_blueprint(finding: Finding, fault: Fault) -> Finding:
    from lineshaft.check.uses import in_place  # only where a rig places a blueprint

    return in_place(finding, fault.uses)
