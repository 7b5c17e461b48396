"""Findings as an inspection sheet: file by file, each with its place, the line it is about, its causes, what to do.

It is written as files are judged; what a blueprint's block tells hangs on the rigs that place it, so it stands last.

Readable without colour: the level is a word, what is meant in a line is marked below it. No line is wider than the
page, but where a place alone is. Everything from files is escaped. The sum comes last.
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from itertools import groupby
from typing import TYPE_CHECKING, Final

from lineshaft.check.finding import Finding
from lineshaft.check.shared_causes import by_cause
from lineshaft.schema.text.span import Span
from lineshaft.write.cells import broken_lines
from lineshaft.write.escape import clean
from lineshaft.write.finding_words import accepted_words, costs, headline, level_shown, place_words, uses_words
from lineshaft.write.ink import Ink
from lineshaft.write.page import Page
from lineshaft.write.sheet_sum import sheet_end
from lineshaft.write.shown_units import Units, before_and_after, sentence, words
from lineshaft.write.source_view import marked_line, placed_rule
from lineshaft.write.summary import FileReport, Run
from lineshaft.write.worst_first import counted_levels

if TYPE_CHECKING:  # a clean check has none
    from lineshaft.check.judged_finding import Repair, RepairedFinding

_NAMED = 4  # rigs that place a blueprint and are named; the rest is counted
_IN: Final = " " * 5
_LABEL: Final = 8  # cells of a label such as `since`, with the space behind it
LinesOf = Callable[[Iterable[Finding]], Mapping[tuple[str, int], str]]
"""Findings to the lines that they are about, by file and number."""


def inspection_sheet(run: Run, lines_of: LinesOf, page: Page, *, quiet: bool = False, onward: bool = True) -> str:
    """The whole sheet of a run; ``quiet`` leaves out files without findings and the causes.

    With ``onward`` it ends in the command to go on with.
    """
    sheet = InspectionSheet({report.file for report in run.reports}, lines_of, page, run.units, quiet=quiet)
    return "".join([*map(sheet.block, run.reports), sheet.end(run, onward=onward)])


def short_lines(run: Run, color: bool = False) -> str:
    """One line a finding, worst level as a word, to be searched: place, level, rule, what is wrong."""
    ink = Ink(color)
    return "".join(
        f"{place_words(f.file, f.span)}  {ink(level_shown(f).upper(), f.level)}  {f.rule}  "
        f"{clean(sentence(headline(f), run.units))}\n"
        for f in run.findings
    )


class InspectionSheet:
    """The block of each file as soon as it is judged, and what ends the sheet. ``judged`` are the files, as shown."""

    def __init__(
        self, judged: Collection[str], lines_of: LinesOf, page: Page, units: Units, *, quiet: bool = False
    ) -> None:
        self.judged, self.lines_of, self.page, self.units, self.quiet = judged, lines_of, page, units, quiet
        self.told: dict[str, FileReport] = {}

    def block(self, report: FileReport) -> str:
        """What stands of a file as soon as it is judged; empty for a sound one, and for a blueprint."""
        if report.kind == "blueprint":
            return ""
        written = self._block(report, [finding for finding in report.findings if finding.placement is None])
        self.told[report.file] = report
        return written

    def end(self, run: Run, *, onward: bool = True) -> str:
        """What is left when all are judged: blueprints, reports that are not those told so far, notices, the sum."""
        return "".join([*self._left(run), sheet_end(run, self.page, onward=onward)])

    def _left(self, run: Run) -> Iterator[str]:
        """The blocks that are left: what files have by themselves, then what they have where others place them."""
        inside: dict[str, list[RepairedFinding]] = {}
        for finding in run.findings:
            if finding.uses:
                inside.setdefault(finding.file, []).append(finding)
        told = {each.fingerprint for its in inside.values() for finding in its for each in finding.alike or (finding,)}
        for report in run.reports:
            if self.told.get(report.file) is not report:
                own = [f for f in report.findings if f.placement is None and f.fingerprint not in told]
                yield self._block(report, own)
        names = {report.file: report.name for report in run.reports}
        for file, its in inside.items():
            yield _with_space(self._pen(its).inside(file, names.get(file, ""), its))

    def _block(self, report: FileReport, own: "list[RepairedFinding]") -> str:
        placed = [finding for finding in report.findings if finding.placement is not None]
        if not own and not placed:
            return ""
        return _with_space(self._pen(own).block(report, by_cause(own), placed, self.judged))

    def _pen(self, findings: "Iterable[RepairedFinding]") -> "_Pen":
        return _Pen(self.page, self.units, self.quiet, self.lines_of(findings))


def _with_space(lines: Iterable[str]) -> str:
    return "".join(f"{line}\n" for line in [*lines, ""])


class _Pen:
    """The settings of one block, and the repairs that it has shown."""

    def __init__(self, page: Page, units: Units, quiet: bool, lines: Mapping[tuple[str, int], str]) -> None:
        self.page, self.units, self.quiet, self.lines = page, units, quiet, lines
        self.ink, self.width = page.ink, page.width
        self.shown: dict[Repair, int] = {}

    def block(
        self,
        report: FileReport,
        own: "list[RepairedFinding]",
        placed: "list[RepairedFinding]",
        judged: Collection[str],
    ) -> Iterator[str]:
        """A file with what stands in itself; of what it places or is read by, how much that is and where it stands."""
        parts = f"{report.parts} part{'s' if report.parts != 1 else ''}"
        if report.unsolved:
            parts += f", {report.unsolved} not solved"
        yield from self.title(report.file, report.name, f"({parts})" if report.parts else "")
        in_named_files = [f for f in own if f.file != report.file and f.file in judged]
        for number, finding in enumerate((f for f in own if f not in in_named_files), 1):
            yield from ("", *self.finding(number, finding))
        for file, its in groupby(sorted(in_named_files, key=lambda f: f.file), lambda f: f.file):
            yield from ("", *self.wrapped(f"in {file}, which it names: {counted_levels(list(its))}, told there", _IN))
        if placed:
            files = ", ".join(sorted({finding.file for finding in placed}))
            yield from ("", *self.wrapped(f"in what it places: {counted_levels(placed)}; see {files} below", _IN))

    def inside(self, file: str, name: str, findings: "list[RepairedFinding]") -> Iterator[str]:
        """A file that others place, with what is wrong in it there; each finding once."""
        users = sorted({use.home[0] for finding in findings for use in finding.uses} - {file})
        more = f" and {len(users) - _NAMED} more" if len(users) > _NAMED else ""
        yield from self.title(file, name, f"(placed by {', '.join(users[:_NAMED])}{more})")
        for number, finding in enumerate(findings, 1):
            yield from ("", *self.finding(number, finding))

    def title(self, file: str, name: str, more: str) -> list[str]:
        called = f"  “{name}”" if name else ""
        return [self.ink(line, "strong") for line in self.wrapped(f"{file}{called}  {more}".rstrip(), "", "  ")]

    def finding(self, number: int, finding: "RepairedFinding") -> list[str]:
        """What is wrong in a sentence, where, the line itself, and unless the sheet is quiet why and what to do."""
        level = level_shown(finding).upper()
        said = f"{level}  {clean(sentence(headline(finding), self.units))}"
        lines = broken_lines(said, self.width, f"{number:>3}. ", _IN)
        lines[0] = lines[0].replace(level, self.ink(level, finding.level), 1)
        lines += placed_rule(finding, self.page, _IN)
        lines += self.source(finding.file, finding.span, finding.level)
        lines += self.wrapped(uses_words(finding), _IN)
        if finding.passes:
            lines += self.wrapped(accepted_words(finding), _IN)
        return lines if self.quiet else [*lines, *self.reasons(number, finding)]

    def reasons(self, number: int, finding: "RepairedFinding") -> Iterable[str]:
        """The causes, each with its place, what would mend it, and the repairs that were proved."""
        for cause in finding.because:
            who = f"{cause.part} " if cause.part else ""
            yield from self.labelled("since", f"{who}{words(cause.message, self.units)}")
            yield " " * (len(_IN) + _LABEL) + self.ink(place_words(cause.file, cause.span), "faint")
        if finding.suggestion and not finding.repairs:
            yield from self.labelled("mend", sentence(finding.suggestion, self.units))
        for repair in finding.repairs[:2]:
            yield from self.repair(number, repair)
        if finding.no_repair:
            yield from self.labelled("repair", f"none is proved: {finding.no_repair}")

    def repair(self, number: int, repair: "Repair") -> Iterable[str]:
        """A proved repair; one that mends an earlier finding of the file too is told there alone."""
        known = self.shown.setdefault(repair, number)
        if known != number:
            yield from self.labelled("repair", f"as for finding {known}: {repair.title}")
            return
        bill = ", ".join(f"{count:+d} {name}" for name, count in repair.bill) or "nothing to buy"
        yield from self.labelled("repair", f"proved ({repair.effect}): {repair.title}; {costs(repair.worth)} ({bill})")
        for change in repair.machines:
            before, after = before_and_after(change, " an hour")
            yield from self.wrapped(f"{change.part}: {before} before, {after} after", " " * (len(_IN) + _LABEL))

    def source(self, file: str, span: Span, level: str) -> list[str]:
        """The line that a finding is about with its marks; nothing where it is not at hand."""
        line = self.lines.get((file, span.start.line))
        return marked_line(line, span, level, self.page, " " * (len(_IN) + 2))

    def labelled(self, label: str, text: str) -> list[str]:
        """A text behind its label, every line of it at the same column."""
        return self.wrapped(text, f"{_IN}{label:<{_LABEL}}", " " * (len(_IN) + _LABEL))

    def wrapped(self, text: str, first: str, rest: str | None = None) -> list[str]:
        return broken_lines(clean(text), self.width, first, rest) if text else []
