"""One rig on standard input, judged as if it stood in the file that `--name` says; nothing is written there."""

import sys
from pathlib import Path
from typing import Final, NamedTuple

import click

from lineshaft.exits import CannotDoError
from lineshaft.run.discovery import absolute
from lineshaft.schema.loading import kind_of

UNNAMED: Final = "stdin.rig.yaml"


class Piped(NamedTuple):
    """Where the rig is taken to stand, so that what it names is found beside, and its bytes."""

    path: Path
    raw: bytes


def piped_rig(paths: tuple[str, ...], name: str | None, most: int) -> Piped | None:
    """The rig on standard input where ``paths`` is `-` alone; none where it is not among them.

    Raises click.UsageError where `-` or the name do not fit, CannotDoError where more than ``most`` bytes come.
    """
    if "-" not in paths:
        if name is not None:
            raise click.UsageError("--name says where a rig on standard input stands: it goes with the path `-`")
        return None
    if len(paths) > 1:
        raise click.UsageError("`-` stands alone: one rig is read from standard input, and nothing else is judged")
    path = absolute(Path(name or UNNAMED))
    if kind_of(path) != "rig":
        raise click.UsageError(f"--name {name!r} is no rig's: call it {path.name.partition('.')[0] or 'name'}.rig.yaml")
    raw = sys.stdin.buffer.read(most + 1)
    if len(raw) > most:
        raise CannotDoError(f"standard input has more than the {most:,} bytes that are read")
    return Piped(path, raw)
