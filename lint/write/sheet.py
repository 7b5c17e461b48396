"""Findings as an inspection sheet: a block a file, for each finding its place, load, causes and what to do.

Readable without colour: the level is a word, the chain is drawn with plain strokes. Everything from files is escaped.
"""

import textwrap

from lineshaft.check.finding import Finding, Repair
from lineshaft.write.accepted import accepted_words, level_shown
from lineshaft.write.escape import harmless, visible
from lineshaft.write.shown_units import Units, figures, sentence, words
from lineshaft.write.summary import FileReport, Run, counts

_WIDTH = 108
_INKS = {"error": "31", "warning": "33", "note": "36", "strong": "1", "faint": "2"}


def inspection_sheet(run: Run, *, units: Units = "si", color: bool = False, quiet: bool = False) -> str:
    """The sheet of a run; ``quiet`` leaves out files without findings and the causes."""
    pen = _Pen(units, color, quiet)
    blocks = [pen.block(report) for report in run.reports if report.findings]
    return "\n".join([*blocks, *(f"notice: {harmless(visible(n))}" for n in run.notices), pen.total(run)]) + "\n"


class _Pen:
    """The settings of one sheet."""

    def __init__(self, units: Units, color: bool, quiet: bool) -> None:
        self.units, self.color, self.quiet = units, color, quiet

    def ink(self, text: str, name: str) -> str:
        return f"\x1b[{_INKS[name]}m{text}\x1b[0m" if self.color else text

    def block(self, report: FileReport) -> str:
        name = f"  “{_clean(report.name)}”" if report.name else ""
        parts = f"{report.parts} part{'s' if report.parts != 1 else ''}"
        if report.unsolved:
            parts += f", {report.unsolved} not solved"
        lines = [self.ink(f"{_clean(report.file)}{name}  ({parts})", "strong")]
        for number, finding in enumerate(report.findings, 1):
            lines += self.finding(number, finding, report)
        return "\n".join(lines) + "\n"

    def finding(self, number: int, finding: Finding, report: FileReport) -> list[str]:
        start = finding.span.start
        place = f"line {start.line}, column {start.column}"
        if finding.file != report.file:
            place = f"{_clean(finding.file)} {place}"
        ink = self.ink(level_shown(finding).upper(), finding.level)
        part = f"  part {_clean(finding.part)}" if finding.part else ""
        head = f"  {number:>2}. {ink}  {finding.rule}{part}  at {place}"
        body = self.wrapped(sentence(finding.message, self.units), "      ")
        if finding.passes:
            body += self.wrapped(accepted_words(finding), "      ")
        if self.quiet:
            return [head, *body]
        for cause in finding.because:
            where = f"{_clean(cause.file)} " if cause.file != report.file else ""
            who = f"{_clean(cause.part)} " if cause.part else ""
            text = f"{who}{words(cause.message, self.units)}  [{where}line {cause.span.start.line}]"
            body += self.wrapped(text, "      | ")
        if finding.suggestion:
            body += self.wrapped(f"mend: {sentence(finding.suggestion, self.units)}", "      ")
        for rank, repair in enumerate(finding.repairs[:2], 1):
            body += self.repair(rank, repair)
        if finding.no_repair:
            body += self.wrapped(f"no proved repair: {finding.no_repair}", "      ")
        return [head, *body]

    def repair(self, rank: int, repair: Repair) -> list[str]:
        bill = ", ".join(f"{count:+d} {_clean(name)}" for name, count in repair.bill) or "nothing to buy"
        text = f"proved repair {rank} ({repair.effect}): {repair.title}; worth {figures(repair.worth)} ({bill})"
        lines = self.wrapped(text, "      ")
        for change in repair.machines:
            before = "at rest" if change.rate_before is None else f"{figures(change.rate_before)} an hour"
            after = "at rest" if change.rate_after is None else f"{figures(change.rate_after)} an hour"
            lines += self.wrapped(f"{change.part}: {before} before, {after} after", "        ")
        return lines

    def wrapped(self, text: str, indent: str) -> list[str]:
        # A part name may be 64 characters, a quoted text 60: never broken inside.
        return textwrap.wrap(
            _clean(text),
            _WIDTH,
            initial_indent=indent,
            subsequent_indent=indent if indent.endswith("| ") else indent + "  ",
            break_long_words=False,
            break_on_hyphens=False,
        )

    def total(self, run: Run) -> str:
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
        return f"Inspected {files}, {parts}{unsolved}: {', '.join(pieces)}{more}."


def _clean(text: str) -> str:
    return harmless(visible(text))


