"""The end of an inspection sheet: what was inspected, the rules by how bad and how often, the command to go on with."""

from collections import Counter
from typing import TYPE_CHECKING

from lineshaft.write.cells import broken_lines
from lineshaft.write.escape import clean
from lineshaft.write.finding_words import FORM
from lineshaft.write.ink import Ink
from lineshaft.write.summary import Run, counts, rigs_that_do_not_hold
from lineshaft.write.worst_first import worst_first

if TYPE_CHECKING:  # a clean check has none
    from lineshaft.check.judged_finding import RepairedFinding


def sheet_sum(run: Run, ink: Ink, width: int, *, onward: bool) -> list[str]:
    """The last lines of a sheet: the counts, then by rule, the worst level first, then what to do next."""
    lines = broken_lines(_total(run), width, "", "  ")
    counting = [finding for finding in run.findings if not finding.passes]
    for level in ("error", "warning", "note"):
        rules = Counter(finding.rule for finding in counting if finding.level == level)
        by_number = sorted(rules.items(), key=lambda one: (-one[1], one[0]))
        named = ", ".join(f"{many:,} {rule}" for rule, many in by_number)
        if named:
            found = broken_lines(f"{level}: {named}", width, "  ", " " * 11)
            lines += [found[0].replace(level, ink(level, level), 1), *found[1:]]
    command = _next_command(run, counting) if onward else ""
    return [*lines, *([f"Go on with: {command}"] if command else [])]


def _next_command(run: Run, counting: "list[RepairedFinding]") -> str:
    """What helps with the worst finding: repairs where the rig was solved, else the page of its rule."""
    chosen = worst_first(counting)
    if not chosen:
        return ""
    finding = next((one for one in chosen if one.repairs), chosen[0])
    file = finding.home[0]
    judged = any(report.file == file for report in run.reports)
    if finding.rule in FORM or finding.no_repair or not judged:
        return f"lineshaft explain {finding.rule}"
    import shlex  # a clean check names no file

    return f"lineshaft repair {clean(shlex.quote(file))}"


def _total(run: Run) -> str:
    found = counts(run)
    pieces = [
        f"{count:,} {name}{'s' if count != 1 else ''}"
        for count, name in ((found.errors, "error"), (found.warnings, "warning"), (found.notes, "note"))
    ]
    more = f", {found.waived:,} waived" if found.waived else ""
    more += f", {found.snags:,} snag{'s' if found.snags != 1 else ''}" if found.snags else ""
    unsolved = f" ({found.unsolved:,} not solved)" if found.unsolved else ""
    files = f"{found.files:,} file{'s' if found.files != 1 else ''}"
    parts = f"{found.parts:,} part{'s' if found.parts != 1 else ''}"
    broken = rigs_that_do_not_hold(run)
    rigs = f" {broken}." if broken and len(run.rigs) > 1 else ""
    return f"Inspected {files}, {parts}{unsolved}: {', '.join(pieces)}{more}.{rigs}"
