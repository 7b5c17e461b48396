"""Snag lists and runs: a list applied to the reports of a run, told of, recorded from one, and made shorter."""

import os
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from lineshaft.check.checker import Checker
from lineshaft.check.fingerprint import subject_of
from lineshaft.check.judged_finding import RepairedFinding
from lineshaft.check.severity_measure import severity_measure
from lineshaft.check.snags import Comparison, Entry, JudgedFile, compare, may_be_snag
from lineshaft.exits import CannotDoError
from lineshaft.schema.model.rig import UNJUDGED
from lineshaft.schema.read.snags import Snag, SnagList, read_snags
from lineshaft.schema.text.windows import shown_path
from lineshaft.write.shown_units import figures
from lineshaft.write.summary import FileReport, Run
from lineshaft.write.worst_first import shortened

_MOST_TOLD = 20
_LONGEST_LINE = 300
_LONGEST_NAME = 80


def open_list(name: str, checker: Checker) -> SnagList:
    """The snag list in a file. Raises CannotDoError, with the place, where it cannot be used."""
    if not Path(name).is_file():
        raise CannotDoError(f"the snag list {name!r} does not exist, or is not a file")
    path = Path(name).parent.resolve() / Path(name).name
    loader = checker.plain_loader(path)
    tree = loader.tree(path, "snags")
    read, faults = (None, tree) if isinstance(tree, tuple) else read_snags(tree, loader.repository.root)
    if read is None or faults:
        start = faults[0].span.start
        raise CannotDoError(f"{faults[0].file} line {start.line}, column {start.column}: {faults[0].message}")
    return read


def against(
    name: str, checker: Checker
) -> Callable[[tuple[FileReport, ...]], tuple[tuple[FileReport, ...], list[str]]]:
    """What the list in a file makes of reports, and tells. Raises CannotDoError at once where it is not usable."""
    listed = open_list(name, checker)

    def taken_over(reports: tuple[FileReport, ...]) -> tuple[tuple[FileReport, ...], list[str]]:
        comparison = compared(listed, reports, checker.working)
        notices = told(comparison, name, checker.working)
        notices += _by_themselves(listed, comparison, reports, checker.working)
        return applied(comparison, reports), notices

    return taken_over


def compared(listed: SnagList, reports: Sequence[FileReport], working: Path) -> Comparison:
    """The list against all that was found, each use of a blueprint by itself."""
    files: dict[Path, JudgedFile] = {}
    for report in reports:
        path = _path(working, report.file)
        settled = report.unsolved == 0 and not any(f.rule in UNJUDGED for f in report.findings)
        files[path] = JudgedFile(path, report.name[:_LONGEST_NAME], settled, ())
    by_file: dict[Path, list[RepairedFinding]] = {}
    for finding in dict.fromkeys(finding for report in reports for finding in report.findings):
        by_file.setdefault(_path(working, finding.home[0]), []).append(finding)
    for path, findings in by_file.items():
        known = files.get(path, JudgedFile(path, "", False, ()))
        files[path] = known._replace(findings=tuple(findings))
    # Nothing is asked of the disk outside the list's root.
    return compare(listed.snags, files.values(), lambda p: not p.is_relative_to(listed.root) or os.path.lexists(p))


def _path(working: Path, shown: str) -> Path:
    return Path(os.path.normpath(working / shown))


def applied(comparison: Comparison, reports: Iterable[FileReport]) -> tuple[FileReport, ...]:
    """The reports with what the list has marked, and what is worse than recorded saying so."""
    shown = comparison.shown
    return tuple(s._replace(findings=tuple(shown.get(f, f) for f in s.findings)) for s in reports)


def told(comparison: Comparison, name: str, working: Path) -> list[str]:
    """What got better, went or moved, in lines for a person, and how the list is made shorter."""
    moved = {e.snag.file: e.file for e in comparison.entries if e.file != e.snag.file}
    lines = [f"snags of {_shown(old, working)}: it is {_shown(now, working)} now" for old, now in moved.items()]
    lines += [_change(entry, working) for entry in comparison.entries if entry.outcome in ("better", "gone")]
    if len(lines) > _MOST_TOLD:
        lines = [*lines[:_MOST_TOLD], f"and {len(lines) - _MOST_TOLD} more"]
    if lines:
        lines = [shortened(line, _LONGEST_LINE) for line in lines]
        lines.append(f"the snag list can shrink: `lineshaft snags record --update -o {name}` with the same paths")
    return lines


def _by_themselves(
    listed: SnagList, comparison: Comparison, reports: Sequence[FileReport], working: Path
) -> list[str]:
    """That rows on a blueprint's own file cover it judged by itself, where its uses have what such a row says."""
    rows = {(snag.file, snag.rule, snag.part, snag.at) for snag in listed.snags}
    left: dict[str, set[RepairedFinding]] = {}
    for finding in (finding for report in reports for finding in report.findings):
        if finding.placement is None or finding.passes or finding in comparison.shown:
            continue
        own = subject_of(replace(finding, placement=None))
        if (_path(working, own.file), *own[1:]) in rows:
            left.setdefault(finding.file, set()).add(finding)
    return [
        f"snags of {file}: they cover the blueprint judged by itself; {_many(len(uses), 'finding')} where it is put in"
        " place, by names such as leg-b/stock, are not recorded: record the list anew, for these too"
        for file, uses in sorted(left.items())
    ]


def _many(count: int, name: str) -> str:
    return f"{count:,} {name}{'s' if count != 1 else ''}"


def _change(entry: Entry, working: Path) -> str:
    snag = entry.snag
    of = f"{snag.part} " if snag.part is not None else ""
    head = f"snag {snag.rule}: {of}in {_shown(entry.file, working)}"
    if entry.outcome == "gone":
        return f"{head} is gone"
    now = "" if entry.now is None else f", is {figures(entry.now.value)}"
    return f"{head} is better: {(snag.of or '').replace('_', ' ')} was {figures(snag.value or 0.0)}{now}"


def _shown(path: Path, working: Path) -> str:
    return shown_path(path, working)


Row = dict[str, str | float]


def rows_of(reports: Sequence[FileReport], working: Path, folder: Path) -> list[Row]:
    """The rows of a list in ``folder`` for all that may be recorded, in an order that does not depend on lines."""
    names = {report.file: report.name[:_LONGEST_NAME] for report in reports}
    snags = []
    for finding in dict.fromkeys(finding for report in reports for finding in report.findings):
        if may_be_snag(finding):
            file, rule, part, at = subject_of(finding)
            measured = severity_measure(finding)
            of, value = (None, None) if measured is None else measured
            snags.append(Snag(rule, _path(working, file), names.get(file, ""), part, at, of, value))
    return rows(snags, folder)


def shorter(comparison: Comparison, folder: Path) -> list[Row]:
    """The rows of a list made shorter: without what is gone, with what got better as it is now, never longer."""
    kept = []
    for entry in comparison.entries:
        snag = entry.snag._replace(file=entry.file)
        if entry.outcome == "better":
            of, value = (None, None) if entry.now is None else entry.now
            snag = snag._replace(of=of, value=value)
        if entry.outcome != "gone":
            kept.append(snag)
    return rows(kept, folder)


def rows(snags: Iterable[Snag], folder: Path) -> list[Row]:
    """Snags as they are written: files from the list's folder, keys that say nothing left out, sorted."""
    found: list[Row] = []
    for snag in sorted(snags, key=_order):
        row: Row = {"rule": snag.rule, "file": shown_path(snag.file, folder)}
        row |= {key: text for key, text in (("rig", snag.rig), ("part", snag.part), ("at", snag.at)) if text}
        if snag.of is not None and snag.value is not None:
            row |= {"of": snag.of, "value": snag.value}
        found.append(row)
    return found


def _order(snag: Snag) -> tuple[Path, str, str, str, str, float]:
    return snag.file, snag.part or "", snag.rule, snag.at, snag.of or "", snag.value or 0.0


def unrecorded(run: Run) -> list[RepairedFinding]:
    """The findings of a run that cannot be recorded, since they stand in the way of judging."""
    return [f for f in run.findings if f.waived is None and not may_be_snag(f)]
