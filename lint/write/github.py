"""Findings as GitHub log commands: an annotation for the first ten of each level, then a summary line.

Format: GitHub documentation, *Workflow commands for GitHub Actions*: ten annotations a level and step are shown.
Waived findings and recorded snags get no annotation.
"""

from lineshaft.check.judged_finding import RepairedFinding
from lineshaft.write.escape import harmless, visible
from lineshaft.write.finding_words import uses_words
from lineshaft.write.shown_units import Units, sentence, words
from lineshaft.write.summary import Run, counts
from lineshaft.write.worst_first import counted, shortened

MOST = 10
"""Most annotations of one level."""
_COMMANDS = {"error": "error", "warning": "warning", "note": "notice"}
_LONGEST = 4000


def github(run: Run) -> bytes:
    """The commands, UTF-8, a line each; errors first."""
    lines, left_out = [], []
    for level, command in _COMMANDS.items():
        present = [finding for finding in run.findings if finding.level == level and not finding.passes]
        lines += [_command(command, finding, run.units) for finding in present[:MOST]]
        if len(present) > MOST:
            more = len(present) - MOST
            left_out.append(f"{more} more {level}{'s' if more != 1 else ''} without annotation")
    # Plain text: as a command it would be an annotation beyond the ten.
    lines.append("; ".join([f"Inspected {counted(counts(run))}", *left_out]) + ".")
    return ("\n".join(lines) + "\n").encode()


def _command(command: str, finding: RepairedFinding, units: Units) -> str:
    start, end = finding.span
    properties = {"file": finding.file, "line": start.line, "endLine": end.line}
    if start.line == end.line:  # columns of a span over several lines are refused
        properties |= {"col": start.column, "endColumn": end.column}
    properties["title"] = harmless(f"{finding.rule} {finding.part or ''}".strip())
    shown = ",".join(f"{name}={_property(str(value))}" for name, value in properties.items())
    return f"::{command} {shown}::{_message(finding, units)}"


def _message(finding: RepairedFinding, units: Units) -> str:
    lines = [sentence(finding.message, units)]
    where = uses_words(finding)
    lines += [where] if where else []
    for cause in finding.because:
        who = f"{cause.part} " if cause.part else ""
        lines.append(f"| {who}{words(cause.message, units)}  [{cause.file} line {cause.span.start.line}]")
    if finding.suggestion:
        lines.append(f"mend: {sentence(finding.suggestion, units)}")
    text = shortened("\n".join(harmless(visible(line)) for line in lines), _LONGEST)
    return _data(text)


def _data(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _data(visible(text)).replace(":", "%3A").replace(",", "%2C")
