"""What ``--write`` asks for."""

from collections.abc import Collection, Iterable
from typing import NamedTuple

import click

from lineshaft.schema.text.nearest import nearest


class Target(NamedTuple):
    """A document that was asked for: its format, and the file to write it to; ``-`` is standard output."""

    format: str
    file: str


def targets_of(writes: Iterable[str], formats: Collection[str]) -> list[Target]:
    """What each ``--write FORMAT=FILE`` asks for. Raises click.UsageError where it is none of these formats."""
    targets = []
    for text in writes:
        name, _, file = text.partition("=")
        if name not in formats or not file:
            names = ", ".join(formats)
            takes = f"FORMAT=FILE with one of {names}" if len(formats) > 1 else f"{names}=FILE"
            near = nearest(name, formats)
            hint = f"; did you mean {near[0]}?" if near else ""
            raise click.UsageError(f"--write takes {takes}; got {text!r}{hint}")
        targets.append(Target(name, file))
    return targets
