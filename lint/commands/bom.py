"""``lineshaft bom``: the bill of materials of one rig, as a table, CSV or JSON."""

import click

from lineshaft.bill_of_materials import Bill, bill
from lineshaft.commands.one_rig import solved_rig
from lineshaft.commands.options import color_option
from lineshaft.commands.output import deliver, targets_of, to_stdout
from lineshaft.exits import CannotDoError, Exit
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.write.sheets.bill import WRITERS, bill_text

_MOST = 10**300
"""Past this a count is no longer a number that a reader of CSV or JSON can hold."""


@click.command("bom")
@click.argument("rig", metavar="RIG")
@click.option("--write", "writes", multiple=True, metavar="FORMAT=FILE", help="csv or json; `-` is stdout; repeatable.")
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def command(rig: str, writes: tuple[str, ...], debug: bool) -> int:
    """The bill of materials of RIG: its items, raw goods, makings of components in whole batches, lubricants, worth."""
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
