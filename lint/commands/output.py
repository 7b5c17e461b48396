"""What a command hands out: documents to files or standard output, a changed rig or what would change, sentences."""

import os
import stat
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lineshaft.exits import CannotDoError, Exit
from lineshaft.write.cells import page_width
from lineshaft.write.escape import clean
from lineshaft.write.ink import Ink
from lineshaft.write.page import Page

if TYPE_CHECKING:  # few runs have one
    from lineshaft.check.broken_rule import BrokenRule
    from lineshaft.commands.targets import Target
    from lineshaft.schema.text.text import SourceText


def in_color() -> bool:
    """Whether the command that runs writes in colour (its ``--color``)."""
    context = click.get_current_context(silent=True)
    return context is not None and context.color is True


def page() -> Page:
    """What the command that runs lays its text out for: the terminal's width, its colours or none."""
    return Page(page_width(), Ink(in_color()))


def to_stdout(targets: "Iterable[Target]") -> bool:
    """Whether a document takes standard output, so that nothing else may stand there."""
    return any(target.file == "-" for target in targets)


def deliver(data: bytes, file: str) -> None:
    """Write ``data`` to a file, or to standard output. Raises CannotDoError where it cannot be written."""
    if file == "-":
        sys.stdout.flush()
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
        return
    from lineshaft.schema.text.whole_file import write_named

    try:
        write_named(Path(file), data)
    except OSError as error:
        raise CannotDoError(f"cannot write {file}: {error.strerror}") from error


def say(text: str, targets: "Sequence[Target]" = ()) -> None:
    """A sentence on standard output, in lines that fit; on standard error where a document takes that."""
    click.echo(page().paragraph(text, "", "  "), nl=False, err=to_stdout(targets))


def put_back(source: "SourceText", text: str) -> None:
    """Put a changed text into its file. Raises CannotDoError, with the reason, where the file is left as it is."""
    from lineshaft.repair.edits.write_back import RefusedError, write_back

    try:
        write_back(source, text)
    except RefusedError as refused:
        raise CannotDoError(str(refused)) from refused


def show_changes(old: str, new: str, name: str) -> None:
    """The lines in which two texts of a file differ, as `patch` reads them; none that a terminal or runner obeys.

    A carriage return stays where it ends a line: there it does nothing, and `patch` asks for it. Where standard output
    is a file nobody obeys it, and every byte stays; elsewhere it is said where one did not.
    """
    from lineshaft.write.line_changes import line_changes

    exact, altered = _into_a_file(), False
    for line in line_changes(old, new, name):
        bare = line.removesuffix("\r")
        shown = bare if exact else clean(bare)
        altered = altered or shown != bare
        click.echo(shown + line[len(bare) :])
    if altered:
        why = "what a terminal or a CI log would obey is shown with a mark, and `patch` may refuse that"
        click.echo(clean(f"lineshaft: {name}: {why}; send the difference into a file (`> changes.diff`)"), err=True)


def _into_a_file() -> bool:
    try:
        return stat.S_ISREG(os.fstat(sys.stdout.fileno()).st_mode)
    except (OSError, ValueError):
        return False


def told_of(broken: "Iterable[BrokenRule]", code: int) -> int:
    """Exit code 2 where rules cannot run, each named on stderr: the others are not taken for all; else the code.

    Every command that judges ends with it.
    """
    for rule in broken:
        click.echo(clean(f"lineshaft: the rule {rule.id} {rule.reason}"), err=True)
        code = Exit.FAILED
    return code
