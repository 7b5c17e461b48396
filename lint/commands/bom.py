"""``lineshaft bom``: the bill of materials of one rig, as a table, CSV or JSON."""

import csv
import io
import json
from collections.abc import Callable, Mapping

import click

from lineshaft import __version__
from lineshaft.bill_of_materials import Bill, bill, worth_of
from lineshaft.commands.one_rig import solved_rig
from lineshaft.commands.output import deliver, targets_of, to_stdout
from lineshaft.exits import CannotDoError, Exit
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.write.escape import spreadsheet_cell
from lineshaft.write.shown_units import as_written, figures
from lineshaft.write.table import table

FORMAT = "lineshaft-bill/1"
_MOST = 10**300
"""Past this a count is no longer a number that a reader of CSV or JSON can hold."""


def bill_text(rig: SolvedRig, found: Bill) -> str:
    """Raw goods with their worth, then the components with their makings, then the worth in all."""
    if not found.raw and not found.making:
        return "nothing to gather: no part has made-of\n"
    worth, components = rig.catalogue.raw, rig.catalogue.components
    goods = [[name, str(n), figures(worth[name]), figures(_worth(rig, name, n))] for name, n in found.raw]
    text = table(("raw good", "count", "worth each", "worth"), goods, frozenset({1, 2, 3}))
    if found.making:
        made = [
            [name, str(needed), str(makings), str(makings * components[name].yields - needed)]
            for name, needed, makings in found.making
        ]
        text += "\n" + table(("component", "needed", "makings", "left over"), made, frozenset({1, 2, 3}))
    return f"{text}\nworth {figures(found.worth)} in all\n"


def bill_csv(rig: SolvedRig, found: Bill) -> bytes:
    """One row a raw good and a component (RFC 4180). No cell can be taken for a formula by a spreadsheet."""
    page = io.StringIO(newline="")
    rows = csv.writer(page)
    rows.writerow(("kind", "name", "count", "makings", "worth"))
    for name, count in found.raw:
        rows.writerow(("raw", spreadsheet_cell(name), count, "", as_written(_worth(rig, name, count))))
    for name, needed, makings in found.making:
        rows.writerow(("component", spreadsheet_cell(name), needed, makings, ""))
    return page.getvalue().encode("utf-8")


def bill_json(rig: SolvedRig, found: Bill) -> bytes:
    """One document, UTF-8, ASCII only inside, so that no reader sees a raw control character."""
    components = rig.catalogue.components
    document = {
        "format": FORMAT,
        "version": __version__,
        "file": rig.file,
        "raw": [{"name": name, "count": n, "worth": _worth(rig, name, n)} for name, n in found.raw],
        "components": [
            {"name": name, "needed": needed, "makings": makings, "yields": components[name].yields}
            for name, needed, makings in found.making
        ],
        "worth": found.worth,
    }
    return (json.dumps(document, indent=2, allow_nan=False) + "\n").encode()


def _worth(rig: SolvedRig, good: str, count: int) -> float:
    return worth_of(((good, count),), rig.catalogue)


WRITERS: Mapping[str, Callable[[SolvedRig, Bill], bytes]] = {"csv": bill_csv, "json": bill_json}


@click.command("bom")
@click.argument("rig", metavar="RIG")
@click.option("--write", "writes", multiple=True, metavar="FORMAT=FILE", help="csv or json; `-` is stdout; repeatable.")
@click.option("--debug", is_flag=True, hidden=True)
def command(rig: str, writes: tuple[str, ...], debug: bool) -> int:
    """The bill of materials of RIG: raw goods, makings of components in whole batches, worth."""
    targets = targets_of(writes, WRITERS)
    solved = solved_rig(rig)
    found = bill(solved.parts, solved.catalogue)
    _refuse_unsound(rig, solved, found)
    for name, target in targets:
        deliver(WRITERS[name](solved, found), target)
    if not to_stdout(targets):
        click.echo(bill_text(solved, found), nl=False)
    return Exit.CLEAN


def _refuse_unsound(name: str, rig: SolvedRig, found: Bill) -> None:
    """A catalogue with a fault in its goods still solves; its bill would be wrong."""
    catalogue = rig.catalogue
    for good, _ in found.raw:
        if good not in catalogue.raw:
            why = "contains itself" if good in catalogue.components else "is neither a component nor a raw good"
            place = catalogue.tree.source.shown
            raise CannotDoError(f"{name} has no bill: {good} {why}; see `lineshaft check {place}`")
    if max([found.worth, *(needed for _, needed, _ in found.making)]) > _MOST:
        raise CannotDoError(f"the bill of {name} is past every number that can be shown; look at the made-of counts")
