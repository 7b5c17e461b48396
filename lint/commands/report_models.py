"""What there is to show of each rig of a run, where a format shows it: solved once more, its repairs drawn."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from lineshaft.check.checker import Checker
from lineshaft.check.failures import internal_error, unfinished
from lineshaft.commands.check_output import show_trace
from lineshaft.commands.targets import Target
from lineshaft.write.summary import FileReport

if TYPE_CHECKING:
    from lineshaft.check.judged_finding import RepairedFinding
    from lineshaft.report_model.record import ReportModel

MOST_MENDED = 40
"""Rigs whose repairs are drawn; in a report on more of them `lineshaft repair` shows each by itself."""


def report_models_of(
    checker: Checker, rigs: Sequence[Path], targets: Sequence[Target], reports: tuple[FileReport, ...], debug: bool
) -> tuple[dict[str, "ReportModel"], tuple[FileReport, ...]]:
    """What there is to show of each rig, and the reports, which tell of what fails."""
    from lineshaft.write.formats import NEED_REPORT_MODELS

    if NEED_REPORT_MODELS.isdisjoint(name for name, _ in targets):
        return {}, reports
    shown: dict[str, ReportModel] = {}
    failed: dict[str, RepairedFinding] = {}
    by_file = {report.file: report for report in reports}
    mended = sum(_is_mended(report) for report in reports)
    for path in rigs:
        file = checker.loader(path).repository.shown(path)
        try:
            found = _report_model(checker, path, by_file.get(file), draws=mended <= MOST_MENDED)
            if found is not None:
                shown[file] = found
        except Exception as error:
            if file not in by_file or not unfinished(by_file[file].findings):
                failed[file] = internal_error(file, "no report could be made of this rig", error)
                show_trace(error, debug)
    told = (s._replace(findings=(failed[s.file], *s.findings)) if s.file in failed else s for s in reports)
    return shown, tuple(told)


def _is_mended(report: FileReport) -> bool:
    return any(finding.repairs for finding in report.findings)


def _report_model(checker: Checker, path: Path, report: FileReport | None, *, draws: bool) -> "ReportModel | None":
    """A rig's report model; with its repairs where some were found and they are to be drawn. None without parts."""
    from lineshaft.report_model.fold import parts_at_fault
    from lineshaft.report_model.gather import report_model

    rig = checker.solved(path)
    if not rig.parts:
        return None
    found = report_model(rig, parts_at_fault(report.findings) if report is not None else ())
    if report is None or not draws or not _is_mended(report):
        return found
    from lineshaft.commands.one_rig import repair_context
    from lineshaft.repair.plan.pictured import pictured_repairs

    repairs, more = pictured_repairs(repair_context(checker, path))
    return found._replace(repairs=repairs, more_repairs=more)
