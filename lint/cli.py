"""The command line: a table from name to command; each is imported only when it is asked for."""

import contextlib
import signal
import sys
from collections.abc import Iterator
from importlib import import_module
from types import FrameType
from typing import Any, Final

import click

from lineshaft import __version__
from lineshaft.exits import Exit, ReaderGoneError, Terminated, guarded

COMMANDS: Final = {
    "check": "Judge rig files and folders: the main job.",
    "trace": "Torque, speed and power at each part, or the chain to one.",
    "repair": "The proved repairs of each finding; apply one.",
    "size": "The cheapest chains of stages that give a machine what it needs.",
    "design": "Whole rigs for machines that nothing drives yet, each proved.",
    "audit": "Readings against computation, and the fewest deviations that explain them.",
    "commission": "The commissioning list judged step by step, or a safe one.",
    "draw": "One rig as a schematic: an SVG file.",
    "sweep": "One setting through a range: what breaks first?",
    "bom": "The bill of materials: raw goods, batches, worth.",
    "impact": "What another edition, or a change since a revision, breaks, mends, moves.",
    "snags": "Record what is wrong with an inherited build, and show the list.",
    "rules": "List the rules.",
    "explain": "One rule: what, why, how to repair, with examples.",
    "new": "Write a first file: rig, catalogue, blueprint, policy, stock, hook or ci.",
    "items": "What a catalogue offers: ratios, grades, limits, needs, makings.",
    "units": "What may be written for each quantity.",
    "schema": "Print the JSON Schema of a kind of file.",
    "lsp": "Serve an editor: findings, figures and repairs as one writes.",
}

EXAMPLES: Final = {
    "check": "lineshaft check --write html=report.html sample_rigs",
    "trace": "lineshaft trace sample_rigs/overloaded-step.rig.yaml roller",
    "repair": "lineshaft repair --apply best --diff sample_rigs/overloaded-step.rig.yaml",
    "size": "lineshaft size sample_rigs/late-planks.rig.yaml saw",
    "design": "lineshaft design sample_rigs/wishes/one-saw.rig.yaml",
    "audit": "lineshaft audit sample_rigs/inherited-mill.rig.yaml",
    "commission": "lineshaft commission sample_rigs/unset-stage.rig.yaml",
    "draw": "lineshaft draw sample_rigs/lagoon.rig.yaml -o lagoon.svg",
    "sweep": "lineshaft sweep sample_rigs/lagoon.rig.yaml --over turbine.head=2m..6m",
    "bom": "lineshaft bom --write csv=goods.csv sample_rigs/whole-works.rig.yaml",
    "impact": "lineshaft impact --base HEAD sample_rigs",
    "snags": "lineshaft snags show sample_rigs/taken-over.snags.yaml",
    "snags record": "lineshaft snags record -o works.snags.yaml sample_rigs",
    "snags show": "lineshaft snags show sample_rigs/taken-over.snags.yaml",
    "rules": "lineshaft rules",
    "rules test": "lineshaft rules test tests/rules",
    "explain": "lineshaft explain torque-over-limit",
    "new": "lineshaft new rig --from sample_rigs/parts.csv sample_rigs/mill.rig.yaml",
    "items": "lineshaft items --kind gear-stage sample_rigs/overloaded-step.rig.yaml",
    "units": "lineshaft units",
    "schema": "lineshaft schema rig",
    "lsp": "lineshaft lsp --help",
}
"""One example of each command and subcommand, that ends its ``--help``; they run in a clone of the repository."""


class Commands(click.Group):
    """Commands by the table above; ``lineshaft.commands.NAME`` has ``command``."""

    def make_context(self, *args: Any, **extra: Any) -> click.Context:
        """As of any group; `--help` and `--version` are written here."""
        with _reader():
            return super().make_context(*args, **extra)

    def invoke(self, ctx: click.Context) -> Any:
        """As of any group."""
        with _reader():
            return super().invoke(ctx)

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names in the order of the table."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import one command; none where there is no such name."""
        if cmd_name not in COMMANDS:
            return None
        found = import_module(f"lineshaft.commands.{cmd_name}").command
        if not isinstance(found, click.Command):
            return None
        found.epilog = _example(cmd_name)
        if isinstance(found, click.Group):
            for name, inner in found.commands.items():
                inner.epilog = _example(f"{cmd_name} {name}")
        return found

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command that was asked for. Raises click.UsageError with the nearest where there is none."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            from lineshaft.commands.misspelt import no_command

            raise no_command(args[0], COMMANDS)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The table, without importing the commands."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@contextlib.contextmanager
def _reader() -> Iterator[None]:
    """Tell click nothing of a broken pipe. Raises ReaderGoneError."""
    try:
        yield
    except BrokenPipeError as error:
        raise ReaderGoneError from error


def _example(name: str) -> str | None:
    return f"\b\nFor instance:\n  {EXAMPLES[name]}" if name in EXAMPLES else None


_FIRST_STEPS = "\b\nFor instance:\n  lineshaft check sample_rigs"


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]}, epilog=_FIRST_STEPS)
@click.version_option(__version__, prog_name="lineshaft")
def cli() -> None:
    """Judge rig files, the text of rotary power drivetrains, before anybody connects power."""


def run(arguments: list[str]) -> int:
    """Run one command and return its exit code; never raises but with --debug."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            # A C or cp1252 locale cannot show every name: escaped is better than no sheet.
            stream.reconfigure(errors="backslashreplace")
    debug = "--debug" in arguments

    def job() -> int:
        try:
            code = cli.main(args=arguments, prog_name="lineshaft", standalone_mode=False)
        except click.NoSuchOption as error:
            from lineshaft.commands.misspelt import no_option

            raise no_option(error) from None
        return code if isinstance(code, int) else 0

    return int(guarded(job, debug=debug))


def main() -> None:
    """The console script. Ended by SIGTERM, it first ends its workers, and then by that signal."""
    signal.signal(signal.SIGTERM, _terminated)
    try:
        code = run(sys.argv[1:])
    except Terminated:
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        signal.raise_signal(signal.SIGTERM)
        code = Exit.FAILED
    sys.exit(code)


def _terminated(number: int, frame: FrameType | None) -> None:
    raise Terminated
