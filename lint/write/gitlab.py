"""Findings as a GitLab code quality report: an array of places with a severity.

Format: GitLab documentation, *Code Quality*, "Code Quality report format". The array has no room for counts; waived
findings and recorded snags are left out, for whatever is in the array counts as something to mend.
"""

from hashlib import sha256

from lineshaft.check.judged_finding import RepairedFinding
from lineshaft.write.escape import visible
from lineshaft.write.finding_words import uses_words
from lineshaft.write.json_text import json_text
from lineshaft.write.shown_units import Units, words
from lineshaft.write.summary import Run
from lineshaft.write.worst_first import kept_by_level, shortened

MOST = 5000
"""Most findings in a report."""
_SEVERITY = {"error": "critical", "warning": "minor", "note": "info"}
_LONGEST = 1000


def gitlab(run: Run) -> bytes:
    """The array; each fingerprint once, as readers drop the second of two."""
    present = tuple(finding for finding in run.findings if not finding.passes)
    seen: dict[str, int] = {}
    entries = []
    for finding in kept_by_level(present, MOST):
        seen[finding.fingerprint] = seen.get(finding.fingerprint, 0) + 1
        entries.append(_entry(finding, seen[finding.fingerprint], run.units))
    return json_text(entries)


def _entry(finding: RepairedFinding, nth: int, units: Units) -> dict[str, object]:
    place = f"{finding.file}\0{finding.rule}\0{finding.fingerprint}\0{nth}".encode("utf-8", "surrogatepass")
    part = f"{finding.part}: " if finding.part else ""
    where = uses_words(finding)
    said = f"{words(finding.message, units)} ({where})" if where else words(finding.message, units)
    mend = f"; mend: {words(finding.suggestion, units)}" if finding.suggestion else ""
    return {
        "description": shortened(visible(f"{part}{said}{mend}"), _LONGEST),
        "check_name": visible(finding.rule),
        "fingerprint": sha256(place).hexdigest(),
        "severity": _SEVERITY[finding.level],
        "location": {
            "path": visible(finding.file),
            "lines": {"begin": finding.span.start.line, "end": finding.span.end.line},
        },
    }
