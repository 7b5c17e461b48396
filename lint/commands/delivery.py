"""A written document to its target: a file, whole or not at all, or standard output for `-`."""

import sys
from pathlib import Path

from lineshaft.exits import CannotDoError
from lineshaft.schema.whole_file import write_named


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
