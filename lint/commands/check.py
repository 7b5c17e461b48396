"""``lineshaft check``: judge files and folders, write the sheet and whatever else is asked for."""

import os
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lineshaft import __version__
from lineshaft.check.checker import Checker, trace_of
from lineshaft.check.failures import internal_error, unfinished
from lineshaft.check.finding import Finding
from lineshaft.check.resolved_policy import BadPolicyError
from lineshaft.check.rulebook import Rulebook, open_rulebook
from lineshaft.commands.options import as_grave, day_option, fail_on_option, policy_file, policy_option, units_option
from lineshaft.commands.output import Target, deliver, targets_of, to_stdout, told_of
from lineshaft.exits import Exit
from lineshaft.run.discovery import Found, absolute, find
from lineshaft.run.documents import Document, document
from lineshaft.run.runner import JobOptions, inspect_files
from lineshaft.schema.loading import FileKind
from lineshaft.schema.text.dependencies import DependencyRecorder
from lineshaft.schema.text.repository import MAX_BYTES
from lineshaft.schema.text.yaml_pass import Bounds
from lineshaft.write.escape import clean, harmless
from lineshaft.write.formats import WRITERS
from lineshaft.write.shown_units import Units
from lineshaft.write.summary import FileReport, Run

if TYPE_CHECKING:
    from lineshaft.report_model.record import ReportModel

_WRITE_HELP = "json, sarif, junit, github, gitlab, markdown or html; `-` is stdout; repeatable."


@click.command("check")
@click.argument("paths", nargs=-1, metavar="[PATH]...")
@click.option("--write", "writes", multiple=True, metavar="FORMAT=FILE", help=_WRITE_HELP)
@fail_on_option
@click.option("--quiet", is_flag=True, help="Leave out causes and suggestions.")
@click.option("--color", type=click.Choice(["auto", "always", "never"]), default=None)
@units_option
@policy_option
@click.option("--snags", metavar="FILE", help="A snag list: what it has recorded passes, what is worse or new fails.")
@day_option
@click.option("--users", is_flag=True, help="Also judge what uses the blueprints, catalogues and policies named.")
@click.option("--jobs", type=click.IntRange(1), metavar="N", help="Processes; by default as many as are worth it.")
@click.option("--dask", metavar="ADDRESS", help="Judge on the Dask cluster whose scheduler has this address.")
@click.option("--no-cache", is_flag=True, help="Neither use nor keep results of earlier runs.")
@click.option("--no-repairs", is_flag=True, help="Do not look for repairs.")
@click.option("--max-bytes", type=click.IntRange(1), default=MAX_BYTES, help="Largest file that is read.")
@click.option("--max-nodes", type=click.IntRange(1), default=Bounds().nodes, help="Most YAML nodes in a file.")
@click.option("--debug", is_flag=True, help="Show tracebacks of internal errors.")
def command(
    paths: tuple[str, ...],
    writes: tuple[str, ...],
    fail_on: str,
    quiet: bool,
    color: str | None,
    units: Units,
    policy: str | None,
    snags: str | None,
    day: date,
    jobs: int | None,
    dask: str | None,
    no_cache: bool,
    users: bool,
    no_repairs: bool,
    max_bytes: int,
    max_nodes: int,
    debug: bool,
) -> int:
    """Judge rig files and folders (default: the working folder)."""
    if jobs is not None and dask is not None:
        raise click.UsageError("--jobs and --dask exclude each other: a cluster has workers of its own")
    targets = targets_of(writes, WRITERS)
    working = Path.cwd().resolve()
    bounds = Bounds(nodes=max_nodes)
    book = open_rulebook()
    repairs = not no_repairs and _shows_repairs(targets, quiet)
    job_options = JobOptions(jobs, dask, not no_cache, quiet, debug)
    recorder = DependencyRecorder() if job_options.remember else None
    checker = Checker(working, book, max_bytes, bounds, policy_file(policy), day, repairs, recorder=recorder)
    taken_over = _taken_over(snags, checker)
    found = find(paths or (".",))
    found, policies, notices = _under_sound_policies(checker, found)
    files, more = _to_judge(checker, found, users)
    notices += more
    work = [checker.job(path, kind) for path, kind in files]
    reports, told = taken_over(inspect_files(checker, work, job_options))
    notices += told
    shown, reports = _report_models(checker, [path for path, kind in files if kind == "rig"], targets, reports, debug)
    run = Run(__version__, (*policies, *reports), tuple(notices), _pages(checker.book, targets), shown, units)
    whole = _write(run, targets, partial(_sheet, quiet=quiet, color=_colored(color)), debug)
    for line in found.refused():
        click.echo(clean(f"lineshaft: {line}"), err=True)
    findings = run.findings
    if unfinished(findings):
        return Exit.FAILED
    failed = found.refused() or policies or not whole
    code = Exit.FAILED if failed else Exit.FINDINGS if _fails(findings, fail_on) else Exit.CLEAN
    return told_of(checker.broken_rules(), code)  # which no finding names


def _under_sound_policies(checker: Checker, found: Found) -> tuple[Found, tuple[FileReport, ...], list[str]]:
    """What was found save what a policy with a fault holds for; a report of each such policy, and what it leaves out.

    A named file that is none of ours is left out where a policy says so, and refused elsewhere.
    """
    bad: dict[Path, BadPolicyError] = {}
    left_out: dict[Path, int] = {}
    files = []
    for path, kind in found.files:
        try:
            checker.resolved(path)
        except BadPolicyError as error:
            bad[error.file] = error
            left_out[error.file] = left_out.get(error.file, 0) + (path != error.file)
        else:
            files.append((path, kind))
    reports = tuple(checker.policy_report(error) for _, error in sorted(bad.items()))
    notices = [
        f"{left_out[file]} file{'s' if left_out[file] != 1 else ''} not judged: no sound policy, see {report.file}"
        for file, report in zip(sorted(bad), reports, strict=True)
    ]
    passed_by = {name for name in found.foreign if _passed_by(checker, name)}
    notices += [f"{name} is left out by the policy" for name in sorted(passed_by)]
    foreign = tuple(name for name in found.foreign if name not in passed_by)
    return replace(found, files=tuple(files), foreign=foreign), reports, notices


def _passed_by(checker: Checker, name: str) -> bool:
    path = absolute(Path(name))
    try:
        return checker.resolved(path).excludes(path)
    except BadPolicyError:
        return False


def _to_judge(checker: Checker, found: Found, users: bool) -> tuple[list[tuple[Path, FileKind]], list[str]]:
    """What was found save what a policy leaves out, with its users if wanted; and what a person should know of that."""
    notices = [f"no rig file (*.rig.yaml) in {name}" for name in found.empty_folders]
    left_out = {path for path, _ in found.files if checker.resolved(path).excludes(path)}
    notices += [f"{os.path.relpath(path, checker.working)} is left out by the policy" for path in sorted(left_out)]
    files = [(path, kind) for path, kind in found.files if path not in left_out]
    if users:
        files, added = _with_users(checker, files)
        if added or any(kind != "rig" for _, kind in files):
            notices.append(f"{added} more file{'s' if added != 1 else ''} judged, as users of what was named")
    return files, notices


def _with_users(checker: Checker, files: list[tuple[Path, FileKind]]) -> tuple[list[tuple[Path, FileKind]], int]:
    """The files and those that use them, save what a policy leaves out; and how many were added."""
    from lineshaft.run.dependents import users_of

    added = [
        (path, kind)
        for path, kind in users_of(checker, dict(files)).items()
        if not checker.resolved(path).excludes(path)
    ]
    return sorted([*files, *added]), len(added)


def _taken_over(
    name: str | None, checker: Checker
) -> Callable[[tuple[FileReport, ...]], tuple[tuple[FileReport, ...], list[str]]]:
    """What a snag list makes of sheets; nothing without one."""
    if name is None:
        return lambda reports: (reports, [])
    from lineshaft.check.snag_lists import against

    return against(name, checker)


def _fails(findings: tuple[Finding, ...], fail_on: str) -> bool:
    return any(not f.passes and as_grave(f.level, fail_on) for f in findings)



def _shows_repairs(targets: list[Target], quiet: bool) -> bool:
    """Whether anything that is written shows repairs."""
    if not quiet and not to_stdout(targets):
        return True
    from lineshaft.write.formats import SHOW_REPAIRS

    return not SHOW_REPAIRS.isdisjoint(name for name, _ in targets)


def _pages(book: Rulebook, targets: list[Target]) -> dict[str, str]:
    """The pages of the rules that are on, where a format asked for shows them."""
    if not targets:
        return {}
    from lineshaft.write.formats import NEED_PAGES

    if NEED_PAGES.isdisjoint(name for name, _ in targets):
        return {}
    return {rule.id: rule.page for rule in book.rules}


def _report_models(
    checker: Checker, rigs: list[Path], targets: list[Target], reports: tuple[FileReport, ...], debug: bool
) -> tuple[dict[str, "ReportModel"], tuple[FileReport, ...]]:
    """What there is to show of each rig, where a format shows it; and the sheets, which tell of what fails."""
    if not targets:
        return {}, reports
    from lineshaft.write.formats import NEED_REPORT_MODELS

    if NEED_REPORT_MODELS.isdisjoint(name for name, _ in targets):
        return {}, reports
    from lineshaft.report_model.gather import report_model

    shown: dict[str, ReportModel] = {}
    failed: dict[str, Finding] = {}
    known = {report.file for report in reports if unfinished(report.findings)}
    for path in rigs:
        file = checker.loader(path).repository.shown(path)
        try:
            rig = checker.solved(path)
            if rig.parts:
                shown[file] = report_model(rig)
        except Exception as error:
            if file not in known:
                failed[file] = internal_error(file, "no report could be made of this rig", error)
                _trace(error, debug)
    told = (s._replace(findings=(failed[s.file], *s.findings)) if s.file in failed else s for s in reports)
    return shown, tuple(told)


def _colored(option: str | None) -> bool:
    """The option, then NO_COLOR, then FORCE_COLOR, then whether a terminal reads."""
    if option in ("always", "never"):
        return option == "always"
    if os.environ.get("NO_COLOR"):
        return False
    if os.environ.get("FORCE_COLOR"):
        return True
    return sys.stdout.isatty()


def _write(run: Run, targets: list[Target], report: Callable[[Run], str], debug: bool) -> bool:
    """Write every document and the sheet; false where a writer failed on some file or at all, which is said."""
    whole = True
    for name, target in targets:
        made = document(run, name, WRITERS[name])
        whole = _said(made, name, debug) and whole
        if made.content is not None:
            deliver(made.content, target)
    if not to_stdout(targets):
        text = document(run, "text", report)
        whole = _said(text, "text", debug) and whole
        sys.stdout.write(text.content or "")
    return whole


def _said(made: "Document[str] | Document[bytes]", name: str, debug: bool) -> bool:
    """Whether a document is whole; what is not is told on standard error."""
    if made.error is None:
        return True
    kind = type(made.error).__name__
    where = f"what was found in {', '.join(made.broken)}" if made.broken else "anything"
    click.echo(clean(f"lineshaft: could not write {where} as {name}: internal error ({kind})"), err=True)
    _trace(made.error, debug)
    return False


def _trace(error: Exception, debug: bool) -> None:
    if debug:
        click.echo(harmless(trace_of(error)), err=True)


def _sheet(run: Run, *, quiet: bool, color: bool) -> str:
    from lineshaft.write.sheet import inspection_sheet

    return inspection_sheet(run, color=color, quiet=quiet)
