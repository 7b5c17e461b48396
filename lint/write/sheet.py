"""Findings as an inspection sheet: a block a file, for each finding its place, load, causes and what to do.

Readable without colour: the level is a word, the chain is drawn with plain strokes. Everything from files is escaped.
"""

import textwrap
from collections.abc import Sequence
from itertools import groupby

from lineshaft.check.finding import Finding, Repair
from lineshaft.write.escape import harmless, visible
from lineshaft.write.finding_words import accepted_words, level_shown, uses_words
from lineshaft.write.shown_units import Units, figures, hourly, sentence, words
from lineshaft.write.summary import FileReport, Run, counts, rigs_that_do_not_hold
from lineshaft.write.worst_first import counted_levels

_WIDTH = 108
_NAMED = 4  # rigs that place a blueprint and are named; the rest is counted
_INKS = {"error": "31", "warning": "33", "note": "36", "strong": "1", "faint": "2"}


def inspection_sheet(run: Run, *, color: bool = False, quiet: bool = False) -> str:
    """The sheet of a run; ``quiet`` leaves out files without findings and the causes."""
    pen = _Pen(run.units, color, quiet)
    inside = [finding for finding in run.findings if finding.uses]
    told = frozenset(finding.fingerprint for finding in inside)
    blocks = [pen.block(report, told) for report in run.reports if _has_own(report, told)]
    blocks += [pen.inside(run, file, list(its)) for file, its in groupby(inside, lambda finding: finding.file)]
    return "\n".join([*blocks, *(f"notice: {harmless(visible(n))}" for n in run.notices), pen.total(run)]) + "\n"


def _has_own(report: FileReport, told: frozenset[str]) -> bool:
    """Whether there is something to say of a file: also of a rig that what it places brings down."""
    return any(f.fingerprint not in told or f.placement is not None for f in report.findings)


class _Pen:
    """The settings of one sheet."""

    def __init__(self, units: Units, color: bool, quiet: bool) -> None:
        self.units, self.color, self.quiet = units, color, quiet

    def ink(self, text: str, name: str) -> str:
        return f"\x1b[{_INKS[name]}m{text}\x1b[0m" if self.color else text

    def block(self, report: FileReport, told: frozenset[str]) -> str:
        """A file with what stands in itself; of what it places, how much that is."""
        name = f"  “{_clean(report.name)}”" if report.name else ""
        parts = f"{report.parts} part{'s' if report.parts != 1 else ''}"
        if report.unsolved:
            parts += f", {report.unsolved} not solved"
        lines = [self.ink(f"{_clean(report.file)}{name}  ({parts})", "strong")]
        own = [finding for finding in report.findings if finding.fingerprint not in told]
        lines += self.findings(own, report.file)
        placed = [finding for finding in report.findings if finding.placement is not None]
        if placed:
            files = ", ".join(sorted({finding.file for finding in placed}))
            lines += self.wrapped(f"in what it places: {counted_levels(placed)}; see {files} below", "      ")
        return "\n".join(lines) + "\n"

    def inside(self, run: Run, file: str, findings: list[Finding]) -> str:
        """A file that others place, with what is wrong in it there; each finding once."""
        name = next((f"  “{_clean(report.name)}”" for report in run.reports if report.file == file and report.name), "")
        users = sorted({use.home[0] for finding in findings for use in finding.uses} - {file})
        more = f" and {len(users) - _NAMED} more" if len(users) > _NAMED else ""
        lines = [self.ink(f"{_clean(file)}{name}  (placed by {_clean(', '.join(users[:_NAMED]))}{more})", "strong")]
        lines += self.findings(findings, file)
        return "\n".join(lines) + "\n"

    def findings(self, findings: Sequence[Finding], file: str) -> list[str]:
        """The findings of a block; a repair that mends several of them is shown once, at the one it was found for."""
        leads = {f.group: (number, f) for number, f in enumerate(findings, 1) if f.group == f.fingerprint}
        lines: list[str] = []
        for number, finding in enumerate(findings, 1):
            lead = leads.get(finding.group) if finding.group is not None else None
            lines += self.finding(number, finding, file, lead if lead is not None and lead[0] != number else None)
        return lines

    def finding(self, number: int, finding: Finding, file: str, lead: tuple[int, Finding] | None) -> list[str]:
        start = finding.span.start
        place = f"line {start.line}, column {start.column}"
        if finding.file != file:
            place = f"{_clean(finding.file)} {place}"
        ink = self.ink(level_shown(finding).upper(), finding.level)
        part = f"  part {_clean(finding.part)}" if finding.part else ""
        head = f"  {number:>2}. {ink}  {finding.rule}{part}  at {place}"
        body = self.wrapped(sentence(finding.message, self.units), "      ")
        body += self.wrapped(uses_words(finding), "      ")
        if finding.passes:
            body += self.wrapped(accepted_words(finding), "      ")
        if self.quiet:
            return [head, *body]
        for cause in finding.because:
            where = f"{_clean(cause.file)} " if cause.file != file else ""
            who = f"{_clean(cause.part)} " if cause.part else ""
            text = f"{who}{words(cause.message, self.units)}  [{where}line {cause.span.start.line}]"
            body += self.wrapped(text, "      | ")
        if finding.suggestion:
            body += self.wrapped(f"mend: {sentence(finding.suggestion, self.units)}", "      ")
        if lead is not None:
            ranks = [rank for rank, repair in enumerate(lead[1].repairs[:2], 1) if repair in finding.repairs]
            both = "repairs 1 and 2 of finding" if len(ranks) > 1 else f"repair {ranks[0]} of finding"
            body += self.wrapped(f"mended too by proved {both} {lead[0]}", "      ")
            return [head, *body]
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
            before, after = hourly(change.rate_before, " an hour"), hourly(change.rate_after, " an hour")
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
        broken = rigs_that_do_not_hold(run)
        rigs = f" {broken}." if broken and len(run.rigs) > 1 else ""
        return f"Inspected {files}, {parts}{unsolved}: {', '.join(pieces)}{more}.{rigs}"


def _clean(text: str) -> str:
    return harmless(visible(text))


