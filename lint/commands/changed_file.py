"""A rig's file with a changed text: put in its place, or shown as the lines that change."""

import click

from lineshaft.commands.line_changes import line_changes
from lineshaft.exits import CannotDoError
from lineshaft.repair.edits.write_back import RefusedError, write_back
from lineshaft.schema.text.text import SourceText
from lineshaft.write.escape import harmless, visible


def put_back(source: SourceText, text: str) -> None:
    """Put a changed text into its file. Raises CannotDoError, with the reason, where the file is left as it is."""
    try:
        write_back(source, text)
    except RefusedError as refused:
        raise CannotDoError(str(refused)) from refused


def show_changes(old: str, new: str, name: str) -> None:
    """The lines in which two texts of a file differ, as `patch` reads them; none that a terminal or runner obeys.

    A carriage return stays where it ends a line: there it does nothing, and `patch` asks for it.
    """
    for line in line_changes(old, new, name):
        bare = line.removesuffix("\r")
        click.echo(harmless(visible(bare)) + line[len(bare) :])
