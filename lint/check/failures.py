"""What tells that the program failed on a file: a rule that crashed, or an internal error."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from lineshaft.check.registry import CRASHED, INTERNAL

if TYPE_CHECKING:  # most runs have none
    from lineshaft.check.finding import Finding
    from lineshaft.check.judged_finding import RepairedFinding

_OURS = frozenset({CRASHED, INTERNAL})


def internal_error(file: str, what: str, error: BaseException | None = None) -> "RepairedFinding":
    """That something could not be done for a file (as shown): ``what`` says so, and the error, if any, its kind."""
    from lineshaft.check.finding import report, top_of
    from lineshaft.check.fingerprint import with_fingerprints
    from lineshaft.check.judged_finding import repaired

    kind = "" if error is None else f": internal error ({type(error).__name__})"
    asked = "run again with --debug and report what it prints" if error is not None else ""
    suggestion = (asked,) if asked else ()
    found = report(top_of(file), None, (f"{what}{kind}",), suggestion=suggestion)
    (only,) = with_fingerprints([(found.finding(INTERNAL, "error"), None)])
    return repaired(only)


def unfinished(findings: "Iterable[Finding]") -> bool:
    """Whether any of them says that something could not be done: then the run as a whole was not."""
    return any(finding.rule in _OURS for finding in findings)
