"""The option ``--date``, for commands that judge waivers: the day, else today in UTC."""

import re
from collections.abc import Callable
from datetime import date
from typing import Any

import click

from lineshaft.check.checker import today


def _day(_: click.Context, __: click.Parameter, text: str | None) -> date:
    if text is None:
        return today()
    try:
        if re.fullmatch("[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
            return date.fromisoformat(text)
    except ValueError:
        pass
    raise click.BadParameter(f"{text!r} is no day of the calendar; write it as 2027-03-31")


def day_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """``--date YYYY-MM-DD`` as the argument ``day``."""
    words = "The day that waivers are judged by (default: today, UTC)."
    return click.option("--date", "day", callback=_day, metavar="YYYY-MM-DD", help=words)(command)
