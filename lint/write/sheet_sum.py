"""The end of an inspection sheet: what was inspected, the rules by how bad and how often, the command to go on with."""

from collections import Counter
from itertools import chain
from typing import TYPE_CHECKING

from lineshaft.write.cells import broken_lines
from lineshaft.write.escape import clean
from lineshaft.write.page import Page
from lineshaft.write.summary import Run, counts, rigs_that_do_not_hold

if TYPE_CHECKING:  # a clean check has none
    from lineshaft.check.judged_finding import RepairedFinding


def sheet_end(run: Run, page: Page, *, onward: bool = True) -> str:
    """The end of a sheet: notices, the counts, then by rule, the worst level first, then what to do next."""
    notices = (page.lines(f"notice: {notice}", "", "  ") for notice in run.notices)
    return "".join(f"{line}\n" for line in [*chain.from_iterable(notices), *_sum(run, page, onward=onward)])


def _sum(run: Run, page: Page, *, onward: bool) -> list[str]:
    lines = broken_lines(_total(run), page.width, "", "  ")
    counting = [finding for finding in run.findings if not finding.passes]
    for level in ("error", "warning", "note"):
        rules = Counter(finding.rule for finding in counting if finding.level == level)
        by_number = sorted(rules.items(), key=lambda one: (-one[1], one[0]))
        named = ", ".join(f"{many:,} {rule}" for rule, many in by_number)
        if named:
            found = broken_lines(f"{level}: {named}", page.width, "  ", " " * 11)
            lines += [found[0].replace(level, page.ink(level, level), 1), *found[1:]]
    command = _next_command(run, counting) if onward and counting else ""
    return [*lines, *([f"Go on with: {command}"] if command else [])]


def _next_command(run: Run, counting: "list[RepairedFinding]") -> str:
    """What helps with the worst finding: repairs where the rig was solved, else the page of its rule."""
    import shlex  # a clean check names no file

    from lineshaft.write.finding_words import FORM
    from lineshaft.write.worst_first import worst_first

    chosen = worst_first(counting)
    finding = next((one for one in chosen if one.repairs), chosen[0])
    file = finding.home[0]
    judged = any(report.file == file for report in run.reports)
    if finding.rule in FORM or finding.no_repair or not judged:
        return f"lineshaft explain {finding.rule}"
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
