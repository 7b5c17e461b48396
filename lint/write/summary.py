"""What a run found, counted; and everything a writer needs of a run."""

from collections import Counter
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

from lineshaft.check.level import LEVELS

if TYPE_CHECKING:  # a clean check has no finding and shows no rig
    from lineshaft.check.judged_finding import RepairedFinding
    from lineshaft.report_model.record import ReportModel
    from lineshaft.write.shown_units import Units


class FileReport(NamedTuple):
    """One judged file: as shown, its name, how many parts it writes down, how many were not solved, its findings.

    The findings are all that is wrong in what it places too, one for each use; ``includes`` are the files that it hangs
    on beside its own; ``kind`` is what kind of file it is.
    """

    file: str
    name: str
    parts: int
    unsolved: int
    findings: "tuple[RepairedFinding, ...]"
    includes: tuple[str, ...] = ()
    kind: str = "rig"


class Verdict(NamedTuple):
    """What is said of one judged file: whether it holds, and how many findings count in it and in what it places."""

    file: str
    holds: bool
    errors: int
    warnings: int
    notes: int
    unsolved: int


class Run(NamedTuple):
    """All that a run has judged, in the order of the files, and what a person should know beside (notices).

    ``pages`` holds the documentation of the rules that were on, by rule, and ``report_models`` what there is to show of
    each rig, by its file; each is filled where a format asked for needs it. ``units`` are what people read; JSON is SI.
    ``documentation`` is where the documentation is published, ``addresses`` where the page of a rule is, by rule.
    """

    version: str
    reports: tuple[FileReport, ...]
    notices: tuple[str, ...] = ()
    pages: Mapping[str, str] = MappingProxyType({})
    report_models: Mapping[str, "ReportModel"] = MappingProxyType({})
    units: "Units" = "si"
    documentation: str = ""
    addresses: Mapping[str, str] = MappingProxyType({})

    @property
    def findings(self) -> "tuple[RepairedFinding, ...]":
        """Every finding once, in the order of file, place and rule; one file's fault seen from two rigs is one."""
        every = list(dict.fromkeys(finding for report in self.reports for finding in report.findings))
        if not every:
            return ()
        if any(finding.placement is not None for finding in every):
            from lineshaft.check.shared_findings import each_once

            every = each_once(every)
        return tuple(sorted(_by_cause(every), key=_order))

    @property
    def rigs(self) -> tuple[Verdict, ...]:
        """The verdict on each rig that was judged."""
        return tuple(verdict(report) for report in self.reports if report.kind == "rig")

    @property
    def includes(self) -> tuple[str, ...]:
        """The files that what was judged hangs on and that were not judged themselves, by name."""
        judged = {report.file for report in self.reports}
        return tuple(sorted({file for report in self.reports for file in report.includes} - judged))


class Counts(NamedTuple):
    """How many files, parts and findings; waived findings and snags count apart from the levels."""

    files: int
    parts: int
    unsolved: int
    errors: int
    warnings: int
    notes: int
    waived: int
    snags: int


def verdict(report: FileReport) -> Verdict:
    """The verdict on one judged file."""
    levels = Counter(finding.level for finding in _by_cause(report.findings) if not finding.passes)
    errors, warnings, notes = levels["error"], levels["warning"], levels["note"]
    return Verdict(report.file, not errors, errors, warnings, notes, report.unsolved)


def rigs_that_do_not_hold(run: Run) -> str:
    """For example `2 of 3 rigs do not hold`; empty where all that were judged hold."""
    rigs = run.rigs
    broken = sum(not rig.holds for rig in rigs)
    if not broken:
        return ""
    return f"{broken:,} of {len(rigs):,} rig{'s' if len(rigs) != 1 else ''} {'does' if broken == 1 else 'do'} not hold"


def counts(run: Run) -> Counts:
    """The counts of a run."""
    findings = run.findings
    levels = Counter(finding.level for finding in findings if not finding.passes)
    return Counts(
        len(run.reports),
        sum(report.parts for report in run.reports),
        sum(report.unsolved for report in run.reports),
        levels["error"],
        levels["warning"],
        levels["note"],
        sum(finding.waived is not None for finding in findings),
        sum(finding.snag is not None for finding in findings),
    )


def worst(findings: "Sequence[RepairedFinding]") -> str | None:
    """The worst level among findings that count."""
    present = {finding.level for finding in findings if not finding.passes}
    return next((level for level in LEVELS if level in present), None)


def _by_cause(findings: "Sequence[RepairedFinding]") -> "Sequence[RepairedFinding]":
    """The findings, those with one cause as one."""
    if not findings:
        return ()
    from lineshaft.check.shared_causes import by_cause

    return by_cause(findings)


def _order(finding: "RepairedFinding") -> tuple[str, int, int, str, str, str]:
    start = finding.span.start
    return finding.file, start.line, start.column, finding.rule, finding.part or "", finding.fingerprint
