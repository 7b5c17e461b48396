"""The command line: a table from name to command; each is imported only when it is asked for."""

import signal
import sys
from importlib import import_module
from types import FrameType
from typing import Final

import click

from lineshaft import __version__
from lineshaft.exits import Exit, Terminated, guarded

COMMANDS: Final = {
    "check": "Judge rig files and folders: the main job.",
    "trace": "Torque, speed and power at each part, or the chain to one.",
    "repair": "The proved repairs of each finding; apply one.",
    "size": "The cheapest chains of stages that give a machine what it needs.",
    "audit": "Readings against computation, and the fewest deviations that explain them.",
    "commission": "The commissioning list judged step by step, or a safe one.",
    "draw": "One rig as a schematic: an SVG file.",
    "sweep": "One setting through a range: what breaks first?",
    "bom": "The bill of materials: raw goods, batches, worth.",
    "impact": "What another edition, or a change since a revision, breaks, mends, moves.",
    "snags": "Record what is wrong with an inherited build, and show the list.",
    "rules": "List the rules.",
    "explain": "One rule: what, why, how to repair, with examples.",
    "schema": "Print the JSON Schema of a kind of file.",
}


class Commands(click.Group):
    """Commands by the table above; ``lineshaft.commands.NAME`` has ``command``."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names in the order of the table."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import one command; none where there is no such name."""
        if cmd_name not in COMMANDS:
            return None
        found = import_module(f"lineshaft.commands.{cmd_name}").command
        return found if isinstance(found, click.Command) else None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The table, without importing the commands."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
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
        code = cli.main(args=arguments, prog_name="lineshaft", standalone_mode=False)
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
