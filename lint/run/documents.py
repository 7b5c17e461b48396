"""A run to a document, whatever its writer fails on: of a file that breaks it, that is told instead."""

from collections.abc import Callable, Iterator, Sequence
from typing import Generic, NamedTuple, TypeVar

from lineshaft.check.failures import internal_error
from lineshaft.write.summary import FileReport, Run

MOST_LOOKS = 400
"""How often a writer is tried on fewer files in search of those that break it."""
Content = TypeVar("Content", str, bytes)


class Document(NamedTuple, Generic[Content]):
    """What a writer made, none where it fails on anything; the files (as shown) that it failed on, and its error."""

    content: Content | None
    broken: tuple[str, ...] = ()
    error: Exception | None = None


def document(run: Run, name: str, writer: Callable[[Run], Content]) -> Document[Content]:
    """The run as a writer, known by ``name``, writes it."""
    try:
        return Document(writer(run))
    except Exception as failed:
        return _in_part(run, name, writer, failed)


def _in_part(run: Run, name: str, writer: Callable[[Run], Content], failed: Exception) -> Document[Content]:
    broken = _Search(run, writer).breaking()
    reports = tuple(unwritten(each, name, failed) if each.file in broken else each for each in run.reports)
    shown = {file: report_model for file, report_model in run.report_models.items() if file not in broken}
    try:
        return Document(writer(run._replace(reports=reports, report_models=shown)), tuple(sorted(broken)), failed)
    except Exception as error:
        return Document(None, (), error)


def unwritten(report: FileReport, name: str, failed: Exception) -> FileReport:
    """What is told of a file in place of what the writer ``name`` failed on."""
    what = f"what was found here could not be written as {name}"
    return report._replace(name="", findings=(internal_error(report.file, what, failed),))


class _Search:
    """Finds the files that break a writer, by halves."""

    def __init__(self, run: Run, writer: Callable[[Run], object]) -> None:
        self.run, self.writer, self.looks = run, writer, 0

    def breaking(self) -> frozenset[str]:
        """The files; none where the writer fails without any, or too many of them break it."""
        if self._fails(()):
            return frozenset()
        found = frozenset(report.file for report in self._within(self.run.reports))
        return found if self.looks <= MOST_LOOKS else frozenset()

    def _within(self, reports: Sequence[FileReport]) -> Iterator[FileReport]:
        if self.looks > MOST_LOOKS or not self._fails(reports):
            return
        if len(reports) == 1:
            yield reports[0]
            return
        half = len(reports) // 2
        yield from self._within(reports[:half])
        yield from self._within(reports[half:])

    def _fails(self, reports: Sequence[FileReport]) -> bool:
        self.looks += 1
        files = {report.file for report in reports}
        shown = {file: report_model for file, report_model in self.run.report_models.items() if file in files}
        try:
            self.writer(self.run._replace(reports=tuple(reports), report_models=shown))
        except Exception:
            return True
        return False
