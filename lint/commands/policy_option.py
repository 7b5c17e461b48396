"""The option ``--policy``, for commands that judge: a policy in place of the nearest one above each file."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from lineshaft.exits import CannotDoError


def policy_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """``--policy FILE`` as the argument ``policy``."""
    words = "A policy in place of the nearest one above."
    return click.option("--policy", type=click.Path(), metavar="FILE", help=words)(command)


def policy_file(name: str | None) -> Path | None:
    """The path of a policy that was named. Raises CannotDoError where there is no such file."""
    if name is None:
        return None
    path = Path(name)
    if not path.is_file():
        raise CannotDoError(f"the policy {name!r} does not exist, or is not a file")
    return path.parent.resolve() / path.name
