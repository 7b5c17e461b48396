"""Findings as Markdown for a comment on a pull request: the counts, a table, and the worst with their causes.

Whatever comes from a file stands in a code span or a code block whose fence is longer than any run of backticks inside
(CommonMark 0.31, sections 4.5 and 6.1): there no link, mention, reference, HTML or emphasis can begin.
"""

import re
from collections.abc import Iterable

from lineshaft.check.judged_finding import RepairedFinding
from lineshaft.write.escape import harmless, visible
from lineshaft.write.finding_words import level_shown, uses_words
from lineshaft.write.shown_units import Units, sentence, words
from lineshaft.write.summary import Run, counts
from lineshaft.write.worst_first import counted, shortened, worst_first

MOST = 60_000
"""Most bytes, and so most characters too; a comment holds 65,536."""
_TABLE = 36_000
_CHAINS = 10
_LONGEST = 240
_LINES = 40


def markdown(run: Run) -> bytes:
    """The comment, UTF-8."""
    findings = worst_first(run.findings)
    lines = ["## lineshaft", "", f"Inspected {counted(counts(run))}.", ""]
    if findings:
        rows = _within((_row(finding, run.units) for finding in findings), _TABLE)
        lines += ["| level | rule | part | place | finding |", "| --- | --- | --- | --- | --- |", *rows, ""]
        if len(rows) < len(findings):
            lines += [f"{len(findings) - len(rows)} more are not shown.", ""]
    chained = [finding for finding in findings if not finding.passes and finding.because][:_CHAINS]
    blocks = _within((_chain(finding, run.units) for finding in chained), MOST - _size(lines) - 100)
    if blocks:
        lines += ["### The worst, with what leads to them", "", *blocks]
    return ("\n".join(lines).rstrip("\n") + "\n").encode()


def code(text: str) -> str:
    """A code span that shows the text and nothing else, in a table cell too."""
    shown = harmless(visible(text)) or "–"
    fence = "`" * (_run(shown) + 1)
    pad = " " if shown[0] in " `" or shown[-1] in " `" else ""
    # Tables split cells before they look for code spans; there a backslash hides the pipe and is taken away.
    return f"{fence}{pad}{shown}{pad}{fence}".replace("|", "\\|")


def _row(finding: RepairedFinding, units: Units) -> str:
    start = finding.span.start
    place = code(f"{shortened(finding.file, _LONGEST)}:{start.line}:{start.column}")
    part = code(shortened(finding.part, _LONGEST)) if finding.part else ""
    where = uses_words(finding)
    said = f"{words(finding.message, units)} ({where})" if where else words(finding.message, units)
    message = code(shortened(said, _LONGEST))
    return f"| {level_shown(finding)} | {code(finding.rule)} | {part} | {place} | {message} |"


def _chain(finding: RepairedFinding, units: Units) -> str:
    part = f" {finding.part}" if finding.part else ""
    head = f"{finding.level}: {finding.rule}{part}, {finding.file} line {finding.span.start.line}"
    where = uses_words(finding)
    lines = [head, sentence(finding.message, units), *([where] if where else [])]
    for cause in finding.because[:_LINES]:
        who = f"{cause.part} " if cause.part else ""
        lines.append(f"| {who}{words(cause.message, units)}  [{cause.file} line {cause.span.start.line}]")
    if len(finding.because) > _LINES:
        lines.append(f"| and {len(finding.because) - _LINES} more")
    if finding.suggestion:
        lines.append(f"mend: {sentence(finding.suggestion, units)}")
    lines += [f"proved repair ({repair.effect}): {repair.title}" for repair in finding.repairs[:2]]
    text = harmless("\n".join(shortened(visible(line), 2 * _LONGEST) for line in lines))
    fence = "`" * max(3, _run(text) + 1)
    return f"{fence}text\n{text}\n{fence}\n"


def _run(text: str) -> int:
    """The longest run of backticks."""
    return max(map(len, re.findall("`+", text)), default=0)


def _within(blocks: Iterable[str], most: int) -> list[str]:
    """The blocks from the first on that fit into so many bytes together."""
    kept, room = [], most
    for block in blocks:
        room -= len(block.encode()) + 1
        if room < 0:
            break
        kept.append(block)
    return kept


def _size(lines: Iterable[str]) -> int:
    return sum(len(line.encode()) + 1 for line in lines)
