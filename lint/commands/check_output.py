"""What ``check`` hands out: the formats asked for, to their files, and the sheet; what could not be written is said."""

import sys
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

import click

from lineshaft.check.checker import Checker, trace_of
from lineshaft.check.rulebook import Rulebook
from lineshaft.commands.output import deliver, in_color, page, to_stdout
from lineshaft.run.documents import Document, document, unwritten
from lineshaft.write.escape import clean, harmless
from lineshaft.write.sheet_sum import sheet_end
from lineshaft.write.summary import FileReport, Run

if TYPE_CHECKING:  # a clean check finds nothing
    from lineshaft.check.finding import Finding
    from lineshaft.commands.targets import Target
    from lineshaft.write.sheet import InspectionSheet
    from lineshaft.write.shown_units import Units


def shows_repairs(targets: list["Target"], quiet: bool) -> bool:
    """Whether anything that is written shows repairs."""
    if not quiet and not to_stdout(targets):
        return True
    from lineshaft.write.formats import SHOW_REPAIRS

    return not SHOW_REPAIRS.isdisjoint(name for name, _ in targets)


def documented(run: Run, book: Rulebook, targets: list["Target"]) -> Run:
    """The run with the pages of the rules that are on, and their addresses, if a format asked for shows them."""
    if not targets:
        return run
    from lineshaft.write.formats import NEED_PAGES

    if NEED_PAGES.isdisjoint(name for name, _ in targets):
        return run
    from lineshaft import documentation
    from lineshaft.check.rule_pages import rule_addresses

    pages = {rule.id: rule.page for rule in book.rules}
    return run._replace(pages=pages, documentation=documentation.ADDRESS, addresses=rule_addresses(pages))


def write_all(run: Run, targets: list["Target"], *, debug: bool) -> bool:
    """Write every document; false where a writer failed on some file or at all, which is said."""
    whole = True
    for name, target in targets:
        from lineshaft.write.formats import WRITERS

        made = document(run, name, WRITERS[name])
        whole = _said(made, name, debug) and whole
        if made.content is not None:
            deliver(made.content, target)
    return whole


class StandardOutput:
    """What is read on standard output: `full`, a sheet, each file's block as soon as it is judged; `short`; or `none`.

    ``files`` are those of the run, as shown.
    """

    def __init__(
        self, form: str, checker: Checker, files: Collection[str], units: "Units", *, quiet: bool, debug: bool
    ) -> None:
        self.form, self.checker, self.files, self.units = form, checker, files, units
        self.quiet, self.debug = quiet, debug
        self.page = page()
        self._sheet: InspectionSheet | None = None
        self.instead: dict[str, FileReport] = {}
        self.error: Exception | None = None

    @property
    def sheet(self) -> "InspectionSheet":
        """The sheet, begun where something was found."""
        if self._sheet is None:
            from lineshaft.write.sheet import InspectionSheet

            self._sheet = InspectionSheet(self.files, self._lines_of, self.page, self.units, quiet=self.quiet)
        return self._sheet

    def _lines_of(self, findings: "Iterable[Finding]") -> Mapping[tuple[str, int], str]:
        from lineshaft.check.source_lines import source_lines

        return source_lines(findings, self.checker.working, lambda path: self.checker.plain_loader(path).repository)

    def passing(self, reports: Iterable[FileReport]) -> Iterator[FileReport]:
        """The reports, each with its block written when it comes by."""
        for report in reports:
            if report.findings and self.form == "full":
                sys.stdout.write(self._block(report))
                sys.stdout.flush()
            yield report

    def _block(self, report: FileReport) -> str:
        try:
            return self.sheet.block(report)
        except Exception as error:
            self.error = self.error or error
            instead = self.instead[report.file] = unwritten(report, "text", error)
        try:
            return self.sheet.block(instead)
        except Exception:  # then the end fails as well, and says so
            return ""

    def end(self, run: Run) -> bool:
        """Write what is left; false where something could not be written, which is said."""
        if self.form == "none":
            return True
        run = run._replace(reports=tuple(self.instead.get(report.file, report) for report in run.reports))
        made = document(run, "text", self._end)
        sys.stdout.write(made.content or "")
        broken = tuple(sorted({*self.instead, *made.broken}))
        return _said(made._replace(broken=broken, error=self.error or made.error), "text", self.debug)

    def _end(self, run: Run) -> str:
        if self.form == "short":
            from lineshaft.write.sheet import short_lines

            return short_lines(run, in_color())
        return self.sheet.end(run) if run.findings else sheet_end(run, self.page)


def _said(made: "Document[str] | Document[bytes]", name: str, debug: bool) -> bool:
    """Whether a document is whole; what is not is told on standard error."""
    if made.error is None:
        return True
    kind = type(made.error).__name__
    where = f"what was found in {', '.join(made.broken)}" if made.broken else "anything"
    click.echo(clean(f"lineshaft: could not write {where} as {name}: internal error ({kind})"), err=True)
    show_trace(made.error, debug)
    return False


def show_trace(error: Exception, debug: bool) -> None:
    """The traceback of an error of the program, for who looks with --debug."""
    if debug:
        click.echo(harmless(trace_of(error)), err=True)
