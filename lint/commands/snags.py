"""``lineshaft snags``: record what is wrong with an inherited build, make the list shorter, show it."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import click

from lineshaft import __version__
from lineshaft.check.checker import Checker
from lineshaft.check.failures import unfinished
from lineshaft.check.rulebook import open_rulebook
from lineshaft.check.snag_lists import Row, compared, open_list, rows_of, shorter, unrecorded
from lineshaft.commands.one_rig import checker
from lineshaft.commands.options import color_option, day_option, policy_file, policy_option
from lineshaft.commands.output import deliver, page, say
from lineshaft.exits import CannotDoError, Exit
from lineshaft.run.discovery import find
from lineshaft.run.runner import JobOptions, inspect_files
from lineshaft.schema.loading import kind_of
from lineshaft.schema.text.windows import shown_path
from lineshaft.write.escape import clean
from lineshaft.write.shown_units import figures
from lineshaft.write.shown_units import words as words_of
from lineshaft.write.snags_yaml import snags_yaml
from lineshaft.write.summary import Run
from lineshaft.write.table import table

_MOST_NAMED = 20
"""Findings that cannot be recorded and are named; the rest is counted."""


@click.group("snags")
def command() -> None:
    """Take over an inherited build: record what is wrong today, and let it get better only."""


@command.command("record")
@click.argument("paths", nargs=-1, metavar="[PATH]...")
@click.option("-o", "output", required=True, metavar="FILE", help="The list, FILE.snags.yaml; `-` is stdout.")
@click.option("--update", is_flag=True, help="Make the list in FILE shorter: drop what is gone, lower what got better.")
@policy_option
@day_option
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def record(
    paths: tuple[str, ...], output: str, update: bool, policy: str | None, day: date, debug: bool
) -> int:
    """Record all findings in PATHs (default: the working folder) that no waiver covers as snags, in FILE."""
    _check_output(output, update)
    judge = Checker(Path.cwd().resolve(), open_rulebook(), policy_file=policy_file(policy), day=day)
    folder = judge.working if output == "-" else Path(output).parent.resolve()
    listed = open_list(output, judge) if update else None
    run = _run(judge, paths)
    if listed is None:
        rows = rows_of(run.reports, judge.working, folder)
        _deliver(rows, day.isoformat(), output)
        return _said_recorded(run, len(rows), output)
    comparison = compared(listed, run.reports, judge.working)
    rows = shorter(comparison, folder)
    _deliver(rows, listed.recorded, output)
    outcomes = [entry.outcome for entry in comparison.entries]
    gone, better = outcomes.count("gone"), outcomes.count("better")
    went = f"{gone} {'is' if gone == 1 else 'are'} gone"
    say(f"{output}: {_many(len(rows), 'snag')} left; {better} got better, {went}")
    return Exit.CLEAN


@command.command("show")
@click.argument("file", metavar="FILE")
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def show(file: str, debug: bool) -> int:
    """Show the snags in FILE as a table."""
    judge = checker()
    listed = open_list(file, judge)
    folder = Path(file).parent.resolve()
    lines = [
        [
            snag.rule,
            snag.part or "",
            shown_path(snag.file, folder),
            "" if snag.of is None or snag.value is None else f"{snag.of} {figures(snag.value)}",
        ]
        for snag in listed.snags
    ]
    if lines:
        click.echo(table(("rule", "part", "file", "recorded"), lines, frozenset(), page()), nl=False)
    on = f", recorded on {listed.recorded}" if listed.recorded is not None else ""
    say(f"{file}: {_many(len(lines), 'snag')}{on}")
    return Exit.CLEAN


def _check_output(output: str, update: bool) -> None:
    """Refuse to write over a list, which would let in what is new; the other way round, to update none."""
    if update and output == "-":
        raise click.UsageError("--update makes a file shorter; name it with -o FILE")
    if output == "-":
        return
    if kind_of(Path(output)) != "snags":
        raise click.UsageError(f"a snag list ends in .snags.yaml; got {output!r}")
    if not update and Path(output).exists():
        raise CannotDoError(f"{output} is there already; --update makes it shorter, or remove it to record anew")


def _run(judge: Checker, paths: Sequence[str]) -> Run:
    found = find(paths or (".",))
    if found.refused():
        raise CannotDoError(found.refused()[0])
    work = [judge.job(path, kind) for path, kind in found.files if not judge.resolved(path).excludes(path)]
    reports = tuple(inspect_files(judge, work, JobOptions(remember=False)))
    run = Run(__version__, reports)
    if unfinished(run.findings):
        raise CannotDoError("a rule or the program failed, so not all is known; `lineshaft check` says where")
    return run


def _deliver(rows: Sequence[Row], recorded: str | None, output: str) -> None:
    try:
        data = snags_yaml(rows, recorded)
    except UnicodeError as error:
        raise CannotDoError("a file's name is not UTF-8, so it cannot be written down; rename the file") from error
    deliver(data, output)


def _said_recorded(run: Run, count: int, output: str) -> int:
    left_out = unrecorded(run)
    if output != "-":
        say(f"{output}: {_many(count, 'snag')} recorded")
    if left_out:
        words = "cannot be recorded, mend that first:"
        click.echo(f"lineshaft: {_many(len(left_out), 'finding')} {words}", err=True)
        for finding in left_out[:_MOST_NAMED]:
            start, part = finding.span.start, f" part {finding.part}" if finding.part else ""
            place = f"{finding.file}:{start.line}:{start.column}"
            click.echo(clean(f"  {place}: {finding.rule}{part}: {words_of(finding.message)}"), err=True)
        if len(left_out) > _MOST_NAMED:
            click.echo(f"  and {len(left_out) - _MOST_NAMED:,} more: see `lineshaft check`", err=True)
    return Exit.FINDINGS if left_out else Exit.CLEAN


def _many(count: int, name: str) -> str:
    return f"{count:,} {name}{'s' if count != 1 else ''}"
