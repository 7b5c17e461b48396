"""What a command hands out: documents to files, whole or not at all, or standard output; and sentences beside them."""

import sys
from collections.abc import Collection
from pathlib import Path

import click

from lineshaft.exits import CannotDoError
from lineshaft.schema.text.whole_file import write_named
from lineshaft.write.escape import harmless, visible


def deliver(data: bytes, target: str) -> None:
    """Write ``data`` to the file ``target``, or to standard output. Raises CannotDoError where it cannot be written."""
    if target == "-":
        sys.stdout.flush()
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
        return
    try:
        write_named(Path(target), data)
    except OSError as error:
        raise CannotDoError(f"cannot write {target}: {error.strerror}") from error


def say(text: str, targets: Collection[str] = ()) -> None:
    """A sentence on standard output; on standard error where one of ``targets`` has standard output for a document."""
    click.echo(harmless(visible(text)), err="-" in targets)
