"""``lineshaft check``: judge files and folders, write the sheet and whatever else is asked for."""

from collections.abc import Callable, Iterable
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from lineshaft import __version__
from lineshaft.check.checker import Checker
from lineshaft.check.failures import unfinished
from lineshaft.check.resolved_policy import BadPolicyError
from lineshaft.check.rulebook import open_rulebook
from lineshaft.commands.check_output import StandardOutput, documented, shows_repairs, write_all
from lineshaft.commands.options import (
    OneOf,
    as_grave,
    color_option,
    day_option,
    fail_on_option,
    policy_file,
    policy_option,
    units_option,
)
from lineshaft.commands.output import to_stdout, told_of
from lineshaft.exits import Exit
from lineshaft.run.discovery import Found, absolute, find
from lineshaft.run.runner import JobOptions, inspect_files
from lineshaft.schema.loading import FileKind
from lineshaft.schema.text.dependencies import DependencyRecorder
from lineshaft.schema.text.repository import MAX_BYTES
from lineshaft.schema.text.windows import shown_path
from lineshaft.schema.text.yaml_pass import Bounds
from lineshaft.write.escape import clean
from lineshaft.write.summary import FileReport, Run

if TYPE_CHECKING:
    from lineshaft.check.judged_finding import RepairedFinding
    from lineshaft.commands.piped import Piped
    from lineshaft.commands.targets import Target
    from lineshaft.report_model.record import ReportModel
    from lineshaft.write.shown_units import Units

_WRITE_HELP = "json, sarif, junit, github, gitlab, markdown or html; `-` is stdout; repeatable."
_FORMAT = "full: a sheet; short: one line a finding, to be searched."


@click.command("check")
@click.argument("paths", nargs=-1, metavar="[PATH]...")
@click.option("--write", "writes", multiple=True, metavar="FORMAT=FILE", help=_WRITE_HELP)
@fail_on_option
@click.option("--quiet", is_flag=True, help="Leave out causes and suggestions.")
@click.option("--format", "form", type=OneOf(["full", "short"]), default="full", show_default=True, help=_FORMAT)
@color_option
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
@click.option("--name", metavar="NAME", help="Where the rig on standard input (PATH `-`) is taken to stand.")
@click.option("--watch", is_flag=True, help="Judge again whenever a file that was read changes.")
@click.option("--debug", is_flag=True, help="Show tracebacks of internal errors.")
def command(debug: bool, **given: Any) -> int:
    """Judge rig files and folders (default: the working folder); `-` is one rig on standard input.

    A report for a browser, with drawings and repairs, is `--write html=FILE`.
    """
    asked = _Options(**given, debug=debug)
    piped = _piped(asked)
    if not asked.watch:
        return _checked(asked, piped)[0]
    if piped is not None:
        raise click.UsageError("--watch looks at files: a rig on standard input does not change")
    from lineshaft.commands.watching import judge_again

    judge_again(lambda: _checked(asked, None)[1], asked.paths or (".",))
    return Exit.CLEAN


def _piped(given: "_Options") -> "Piped | None":
    if "-" not in given.paths and given.name is None:
        return None
    from lineshaft.commands.piped import piped_rig

    return piped_rig(given.paths, given.name, given.max_bytes)


class _Options(NamedTuple):
    """What was asked for on the command line."""

    paths: tuple[str, ...]
    writes: tuple[str, ...]
    fail_on: str
    quiet: bool
    form: str
    units: "Units"
    policy: str | None
    snags: str | None
    day: date
    jobs: int | None
    dask: str | None
    no_cache: bool
    users: bool
    no_repairs: bool
    max_bytes: int
    max_nodes: int
    name: str | None
    watch: bool
    debug: bool


def _targets(writes: tuple[str, ...]) -> list["Target"]:
    """The formats that are asked for; their table is loaded for that alone."""
    if not writes:
        return []
    from lineshaft.commands.targets import targets_of
    from lineshaft.write.formats import WRITERS

    return targets_of(writes, WRITERS)


def _checked(asked: _Options, piped: "Piped | None") -> tuple[int, frozenset[Path]]:
    """Judge once and write what is to be written: how it went, and the files that were read."""
    targets = _targets(asked.writes)
    debug = asked.debug
    job_options = _job_options(asked, piped)
    checker = _checker(asked, targets, DependencyRecorder() if job_options.remember else None, piped)
    taken_over = _taken_over(asked.snags, checker)
    found = find(asked.paths or (".",)) if piped is None else Found(((piped.path, "rig"),), (), (), ())
    found, policies, notices = _under_sound_policies(checker, found)
    files, more = _to_judge(checker, found, asked.users)
    notices += more
    work = [checker.job(path, kind) for path, kind in files]
    shown_files = {shown_path(path, checker.working) for path, _ in files} | {report.file for report in policies}
    form = "none" if to_stdout(targets) else asked.form
    out = StandardOutput(form, checker, shown_files, asked.units, quiet=asked.quiet, debug=debug)
    policies = tuple(out.passing(policies))
    with closing(inspect_files(checker, work, job_options)) as judged:
        marked, told = taken_over(judged)
        reports = tuple(out.passing(marked))
    notices += told
    shown: dict[str, ReportModel] = {}
    if targets:
        from lineshaft.commands.report_models import report_models_of

        rigs = [path for path, kind in files if kind == "rig"]
        shown, reports = report_models_of(checker, rigs, targets, reports, debug)
    run = Run(__version__, (*policies, *reports), tuple(notices), report_models=shown, units=asked.units)
    run = documented(run, checker.book, targets)
    written = write_all(run, targets, debug=debug)
    whole = out.end(run) and written
    for line in found.refused():
        click.echo(clean(f"lineshaft: {line}"), err=True)
    failed = unfinished(run.findings) or found.refused() or policies or not whole
    code: int = Exit.FAILED if failed else Exit.FINDINGS if _fails(run.findings, asked.fail_on) else Exit.CLEAN
    if not unfinished(run.findings):
        code = told_of(checker.broken_rules(), code)  # which no finding names
    return code, checker.files_of(run.reports) if asked.watch else frozenset()


def _job_options(asked: _Options, piped: "Piped | None") -> JobOptions:
    if asked.jobs is not None and asked.dask is not None:
        raise click.UsageError("--jobs and --dask exclude each other: a cluster has workers of its own")
    if piped is None:
        return JobOptions(asked.jobs, asked.dask, not asked.no_cache, asked.quiet, asked.debug)
    if asked.dask is not None or asked.users:
        raise click.UsageError("a rig on standard input is judged here and has no users: leave out --dask and --users")
    return JobOptions(1, None, remember=False, quiet=asked.quiet, debug=asked.debug)


def _checker(
    asked: _Options, targets: list["Target"], recorder: DependencyRecorder | None, piped: "Piped | None"
) -> Checker:
    working, bounds = Path.cwd().resolve(), Bounds(nodes=asked.max_nodes)
    repairs = not asked.no_repairs and shows_repairs(targets, asked.quiet)
    policy = policy_file(asked.policy)
    texts = {} if piped is None else {piped.path: piped.raw}
    book = open_rulebook()
    terms = (working, book, asked.max_bytes, bounds, policy, asked.day, repairs)
    return Checker(*terms, recorder=recorder, texts=texts, kept={} if repairs else None)


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
    return found._replace(files=tuple(files), foreign=foreign), reports, notices


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
    notices += [f"{shown_path(path, checker.working)} is left out by the policy" for path in sorted(left_out)]
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
) -> Callable[[Iterable[FileReport]], tuple[Iterable[FileReport], list[str]]]:
    """What a snag list makes of reports, for which it wants all of them; nothing without one."""
    if name is None:
        return lambda reports: (reports, [])
    from lineshaft.check.snag_lists import against

    marked = against(name, checker)
    return lambda reports: marked(tuple(reports))


def _fails(findings: "tuple[RepairedFinding, ...]", fail_on: str) -> bool:
    return any(not f.passes and as_grave(f.level, fail_on) for f in findings)
