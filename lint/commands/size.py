"""``lineshaft size``: the cheapest chains of catalogue stages that give a machine what it needs, each proved."""

from datetime import date

import click

from lineshaft.commands.from_stock import FromStock, lacking_words
from lineshaft.commands.one_rig import open_rig, part_number
from lineshaft.commands.options import color_option, day_option, units_option
from lineshaft.commands.output import deliver, page, put_back, say, show_changes, to_stdout, told_of
from lineshaft.commands.stock_file import refuse_without_stock, stock_of, stock_option, within_stock_option
from lineshaft.commands.targets import Target, targets_of
from lineshaft.exits import CannotDoError, Exit
from lineshaft.repair.line.segment import MOST_STAGES
from lineshaft.repair.proof.context import RepairContext
from lineshaft.repair.size import Sizing, Wanted, size
from lineshaft.repair.size_reasons import wanted_at, why_none
from lineshaft.stock_bill import StockBill
from lineshaft.write.sheets.size_text import size_text
from lineshaft.write.shown_units import Units, words


@click.command("size")
@click.argument("rig", metavar="RIG")
@click.argument("machine", metavar="MACHINE")
@click.option("--stages", type=click.IntRange(1, 6), default=MOST_STAGES, show_default=True, help="Most in line.")
@click.option("--write", "writes", multiple=True, metavar="json=FILE", help="The chains as JSON; `-` is stdout.")
@click.option("--apply", "chosen", type=click.IntRange(1), metavar="N", help="Put chain N of the list into RIG.")
@click.option("--diff", is_flag=True, help="Show what --apply would change, and change nothing.")
@stock_option
@within_stock_option
@units_option
@day_option
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def command(
    rig: str,
    machine: str,
    stages: int,
    writes: tuple[str, ...],
    chosen: int | None,
    diff: bool,
    stock: str | None,
    within_stock: bool,
    units: Units,
    day: date,
    debug: bool,
) -> int:
    """Chains of catalogue stages that give MACHINE in RIG what it needs or its target, cheapest first.

    Shown are the chains that are better than each one before in cost, in parts or in the machine's rate: what is
    dearer and no faster is left out. At most 8 are shown.
    """
    targets = targets_of(writes, ("json",))
    if diff and chosen is None:
        raise click.UsageError("--diff shows what --apply changes: add `--apply N`")
    if diff and to_stdout(targets):
        raise click.UsageError("--diff and --write json=- both want standard output: write the JSON to a file")
    refuse_without_stock(stock, within_stock=within_stock)
    context = open_rig(rig, day)
    number = part_number(context.rig, machine)
    there = stock_of(stock, context.rig)
    every = found = size(context, number, _wanted(context, number), stages)
    bills: tuple[StockBill, ...] = ()
    if there is not None:
        found, bills = FromStock(there, within_stock).sizing(context, found)
    if chosen is not None and chosen > len(found.found):
        takes = f"--apply takes 1 to {len(found.found)}" if found.found else "there is no chain to apply"
        raise CannotDoError(f"{takes}; got {chosen}")
    reason = "" if every.found else words(why_none(context.rig, found), units)
    if every.found and not found.found:
        reason = "each that was found takes more than the stock has: see them without --within-stock"
    for _, target in targets:
        from lineshaft.write.sheets.size_json import size_json

        deliver(size_json(context.rig, found, reason or None, bills), target)
    if not to_stdout(targets) and not diff:
        lacking = [lacking_words(bill) for bill in bills]
        click.echo(size_text(context.rig, found, reason, units, page(), lacking), nl=False)
    if chosen is not None:
        _apply(context, found, chosen, targets, diff=diff)
    return told_of(context.book.broken, Exit.CLEAN if found.found else Exit.FINDINGS)



def _wanted(context: RepairContext, number: int) -> Wanted:
    """What the machine wants. Raises CannotDoError where it wants nothing, or nothing arrives that could be geared."""
    wanted = wanted_at(context, number)
    if isinstance(wanted, str):
        raise CannotDoError(wanted)
    return wanted


def _apply(context: RepairContext, found: Sizing, chosen: int, targets: list[Target], *, diff: bool) -> None:
    """Write a chain into the rig's file, or show the lines that change."""
    sized = found.found[chosen - 1]
    source = context.rig.rig.tree.source
    if diff:
        show_changes(source.text, sized.edited_rig.text, source.shown)
        return
    if sized.edited_rig.text == source.text:
        say(f"{source.shown}: already so", targets)
        return
    put_back(source, sized.edited_rig.text)
    say(f"{source.shown}: chain {chosen} written", targets)
