"""``lineshaft bom``: the bill of materials of one rig, as a table, CSV or JSON; against a stock; as a build sheet."""

import click

from lineshaft.bill_of_materials import Bill, bill
from lineshaft.commands.one_rig import solved_rig
from lineshaft.commands.options import color_option, units_option
from lineshaft.commands.output import deliver, page, to_stdout
from lineshaft.commands.stock_file import stock_of, stock_option
from lineshaft.commands.targets import Target, targets_of
from lineshaft.exits import CannotDoError, Exit
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.stock_bill import bill_from_stock
from lineshaft.write.sheets.bill import WRITERS, Owned, bill_text
from lineshaft.write.sheets.stock_bill import stock_bill_text
from lineshaft.write.shown_units import Units

_MOST = 10**300
"""Past this a count is no longer a number that a reader of CSV or JSON can hold."""
_SHEETS = ("markdown", "html")


@click.command("bom")
@click.argument("rig", metavar="RIG")
@click.option("--write", "writes", multiple=True, metavar="FORMAT=FILE", help="csv or json; `-` is stdout; repeatable.")
@stock_option
@click.option("--by-stretch", is_flag=True, help="A sheet to build by, as Markdown; --write markdown= or html= here.")
@units_option
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def command(
    rig: str, writes: tuple[str, ...], stock: str | None, by_stretch: bool, units: Units, debug: bool
) -> int:
    """The bill of materials of RIG: its items, raw goods, makings of components in whole batches, lubricants, worth.

    With --stock: what is there, what is to be made of what is there, what is to be got. With --by-stretch: from the
    prime movers outward, what to build, set, fill and start, to print and tick off.
    """
    targets = targets_of(writes, _SHEETS if by_stretch else WRITERS)
    if by_stretch and stock is not None:
        raise click.UsageError("--by-stretch lists what to build, --stock what to get: ask for one of them at a time")
    solved = solved_rig(rig)
    found = bill(solved.parts, solved.catalogue)
    _refuse_unsound(rig, solved, found)
    if by_stretch:
        _build_sheet(solved, targets, units)
        return Exit.CLEAN
    owned = _owned(solved, stock)
    for name, target in targets:
        deliver(WRITERS[name](solved, found, owned), target)
    if not to_stdout(targets):
        on = page()
        text = bill_text(solved, found, on) if owned is None else stock_bill_text(solved, owned.bill, on)
        click.echo(text, nl=False)
    return Exit.CLEAN


def _owned(solved: SolvedRig, stock: str | None) -> Owned | None:
    there = stock_of(stock, solved)
    if there is None:
        return None
    return Owned(bill_from_stock(solved.parts, solved.catalogue, there), there.tree.source.shown)


def _build_sheet(solved: SolvedRig, targets: list[Target], units: Units) -> None:
    from lineshaft.report_model.build_sheet import build_sheet
    from lineshaft.write.build_sheet_markdown import build_sheet_markdown

    sheet = build_sheet(solved)
    for name, target in targets:
        if name == "html":
            from lineshaft.write.html_report.build_sheet import build_sheet_html

            deliver(build_sheet_html(sheet, units), target)
        else:
            deliver(build_sheet_markdown(sheet, units).encode(), target)
    if not to_stdout(targets):
        click.echo(build_sheet_markdown(sheet, units), nl=False)


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
