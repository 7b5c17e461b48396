"""The options that several commands take: the day, units, a policy, at which level a run fails."""

import os
import re
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import click

from lineshaft.check.checker import today
from lineshaft.check.level import LEVELS, gravity
from lineshaft.exits import CannotDoError

Command = Callable[..., Any]


class OneOf(click.Choice):  # type: ignore[type-arg]  # older versions of click take no type here
    """A choice of words; a word that is none of them is told with the nearest."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The word itself. Raises click.BadParameter where it is none of them."""
        if value in self.choices:
            return value
        from lineshaft.schema.text.nearest import nearest  # only where a word is wrong

        near = nearest(str(value), map(str, self.choices))
        hint = f"; did you mean {near[0]}?" if near else ""
        raise click.BadParameter(f"{value!r} is none of {', '.join(map(str, self.choices))}{hint}", ctx, param)


def units_option(command: Command) -> Command:
    """``--units si|rpm`` as the argument ``units``."""
    return click.option("--units", type=OneOf(["si", "rpm"]), default="si", show_default=True)(command)


def color_option(command: Command) -> Command:
    """``--color auto|always|never``; what it comes to is the context's own ``color``."""
    words = "auto: on a terminal, unless NO_COLOR is set."
    kinds = OneOf(["auto", "always", "never"])
    option = click.option("--color", type=kinds, default=None, expose_value=False, callback=_color, help=words)
    return option(command)


def _color(context: click.Context, _: click.Parameter, chosen: str | None) -> None:
    """The option, then NO_COLOR, then FORCE_COLOR, then whether a terminal reads."""
    if chosen in ("always", "never"):
        context.color = chosen == "always"
    elif os.environ.get("NO_COLOR"):
        context.color = False
    else:
        context.color = bool(os.environ.get("FORCE_COLOR")) or sys.stdout.isatty()


def fail_on_option(command: Command) -> Command:
    """``--fail-on LEVEL`` as the argument ``fail_on``."""
    return click.option("--fail-on", type=OneOf(LEVELS), default="error", show_default=True)(command)


def as_grave(level: str, fail_on: str) -> bool:
    """Whether a finding of a level fails a run."""
    return gravity(level) >= gravity(fail_on)


def day_option(command: Command) -> Command:
    """``--date YYYY-MM-DD`` as the argument ``day``: what waivers are judged by, today in UTC where it is not given."""
    words = "The day that waivers are judged by (default: today, UTC)."
    return click.option("--date", "day", callback=_day, metavar="YYYY-MM-DD", help=words)(command)


def _day(_: click.Context, __: click.Parameter, text: str | None) -> date:
    if text is None:
        return today()
    try:
        if re.fullmatch("[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
            return date.fromisoformat(text)
    except ValueError:
        pass
    raise click.BadParameter(f"{text!r} is no day of the calendar; write it as 2027-03-31")


def policy_option(command: Command) -> Command:
    """``--policy FILE`` as the argument ``policy``: in place of the nearest one above each file."""
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
