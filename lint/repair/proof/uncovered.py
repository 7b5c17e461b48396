"""What a misspelt name kept from being judged: where the name is put right, that shows, and none of it is new.

A part whose item or driver is not there is not solved, nor is anything below it. What is wrong with them stands in the
file all the while; to refuse the right spelling for it would leave both.
"""

from collections.abc import Iterable

from lineshaft.check.finding import Finding
from lineshaft.check.finding_diff import BySubject, against_known
from lineshaft.schema.text.span import Route
from lineshaft.solve.solved_rig import SolvedRig

_OF_CLASHING_NAMES = frozenset({"shared-outlet", "drive-loop"})
"""What two names together bring about: the one that was put right is not what was meant."""
_OF_UNUSED_OUTLETS = "loose-end"


def nothing_new(
    before: SolvedRig, known: BySubject[Finding], after: Iterable[Finding], misspelt: Finding | None
) -> bool:
    """Whether no finding ``after`` an edit is new, or worse than the ``known`` ones of the rig ``before`` it.

    ``misspelt`` is the finding on a name that the edit puts right; what it had hidden is not new.
    """
    new = against_known(known, after)
    if misspelt is None:
        return next(new, None) is None
    return all(_was_hidden(finding, before, misspelt.route[:2]) for finding in new)


def _was_hidden(finding: Finding, before: SolvedRig, entry: Route) -> bool:
    """Whether a finding on a rig could not have been made ``before`` the name in ``entry`` was put right.

    ``entry`` leads to the part, step, circuit or waiver that has the name. What stands at a part that was solved
    before, in a list that was judged before, was not hidden: that is new.
    """
    if finding.rule in _OF_CLASHING_NAMES:
        return False
    if finding.rule == _OF_UNUSED_OUTLETS and not before.rig.all_connected:
        return True
    if finding.route and finding.route[:2] == entry:
        return True
    section = finding.route[:1]
    if section == ("commissioning",):
        return any(fault.route[:1] == section for fault in before.faults)  # a list with a gap is not judged
    if section == ("lubrication",):
        return _circuit_in_doubt(before, finding.route)
    name = finding.home[1]
    number = None if name is None else before.rig.index.get(name)
    if number is None:
        return name is None and len(finding.route) < 2 and not all(before.flows.solved)  # of the rig as a whole
    return not before.flows.solved[number]


def _circuit_in_doubt(before: SolvedRig, route: Route) -> bool:
    """Whether a circuit was faulty itself, or had a part that was not solved."""
    if any(fault.route[:2] == route[:2] for fault in before.faults):
        return True
    members = (number for circuit in before.rig.circuits if circuit.route == route[:2] for number in circuit.members)
    return not all(before.flows.solved[number] for number in members)
