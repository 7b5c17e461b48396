"""The stock that ``--stock FILE`` names, against the catalogue of a rig."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from lineshaft.commands.one_rig import checker
from lineshaft.exits import CannotDoError
from lineshaft.run.discovery import absolute
from lineshaft.schema.loading import kind_of
from lineshaft.schema.model.stock import Inventory
from lineshaft.schema.text.fault import Fault
from lineshaft.schema.text.faults import at_value
from lineshaft.solve.solved_rig import SolvedRig

Command = Callable[..., Any]
_MOST_TOLD = 10


def stock_option(command: Command) -> Command:
    """``--stock FILE`` as the argument ``stock``."""
    words = "What is there already, as *.stock.yaml."
    return click.option("--stock", type=click.Path(), metavar="FILE", help=words)(command)


def within_stock_option(command: Command) -> Command:
    """``--within-stock`` as the argument ``within_stock``."""
    words = "With --stock: leave out what something has to be got for."
    return click.option("--within-stock", is_flag=True, help=words)(command)


def refuse_without_stock(stock: str | None, *, within_stock: bool) -> None:
    """``--within-stock`` needs a stock. Raises click.UsageError."""
    if within_stock and stock is None:
        raise click.UsageError("--within-stock needs a stock: add `--stock FILE`")


def stock_of(name: str | None, rig: SolvedRig) -> Inventory | None:
    """The stock in a file, none where none is named.

    Raises CannotDoError with every fault's place where it cannot be used, or is of another catalogue than the rig.
    """
    if name is None:
        return None
    path = Path(name)
    if not path.is_file():
        raise CannotDoError(f"the stock {name!r} does not exist, or is not a file")
    if kind_of(path) != "stock":
        raise CannotDoError(f"{name!r} is no name for a stock: call it {path.name.partition('.')[0]}.stock.yaml")
    real = absolute(path)
    found, catalogue, faults = checker().loader(real).stock(real)
    if found is not None and catalogue is not None and not faults:
        if catalogue.tree.source.path == rig.catalogue.tree.source.path:
            return found
        theirs = rig.catalogue.tree.source.shown
        message = f"this stock is of another catalogue than {rig.file}, which is built by {theirs}"
        faults = (at_value("unknown-reference", found.tree, ("catalogue",), message),)
    raise CannotDoError(f"the stock {name} cannot be used:\n{_told(faults)}")


def _told(faults: tuple[Fault, ...]) -> str:
    lines = [f"  {f.file}:{f.span.start.line}:{f.span.start.column}: {f.message}" for f in faults[:_MOST_TOLD]]
    more = len(faults) - _MOST_TOLD
    return "\n".join([*lines, *([f"  and {more} more"] if more > 0 else [])])
