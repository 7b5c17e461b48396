"""Faults found while a file was read, worded as what the rule that owns them reports."""

from collections.abc import Iterator

from lineshaft.check.finding import Cause, Reported, report
from lineshaft.solve.solved_rig import SolvedRig


def faults_of(rig: SolvedRig, rule: str) -> Iterator[Reported]:
    """The faults that ``rule`` owns, each once."""
    for fault in dict.fromkeys(rig.faults):
        if fault.rule == rule:
            because = tuple(Cause(r.file, r.span, None, (r.message,)) for r in fault.related)
            place = (fault.file, fault.span, fault.route)
            said = report(place, fault.part, (fault.message,), (), because, level="error")
            yield said._replace(uses=fault.uses)
