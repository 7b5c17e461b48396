"""``lineshaft design``: from prime movers and machines to whole rigs that hold, each proved."""

from datetime import date

import click

from lineshaft.commands.one_rig import part_number, rig_as_it_is
from lineshaft.commands.options import color_option, day_option, units_option
from lineshaft.commands.output import deliver, page, put_back, say, show_changes, to_stdout, told_of
from lineshaft.commands.stock_file import refuse_without_stock, stock_of, stock_option, within_stock_option
from lineshaft.commands.targets import Target, targets_of
from lineshaft.design.asked import Asked
from lineshaft.design.plan import Designs, designs_of, rewritten
from lineshaft.design.wish import Obstacle, Wish, cleared, wish_of
from lineshaft.exits import CannotDoError, Exit
from lineshaft.repair.proof.context import RepairContext
from lineshaft.write.escape import clean
from lineshaft.write.sheets.design_text import design_text
from lineshaft.write.shown_units import Units, words


@click.command("design")
@click.argument("rig", metavar="RIG")
@click.option("--most-cost", type=click.FloatRange(0), metavar="N", help="Leave out what costs more.")
@click.option("--most-parts", type=click.IntRange(0), metavar="N", help="Leave out what adds more parts.")
@stock_option
@within_stock_option
@click.option("--anew", is_flag=True, help="Take out first all that stands between prime movers and machines.")
@click.option("--explain", "machine", metavar="MACHINE", help="Why MACHINE cannot be served, and what would do.")
@click.option("--write", "writes", multiple=True, metavar="FORMAT=FILE", help="json or svg; `-` is stdout; repeatable.")
@click.option("--apply", "chosen", type=click.IntRange(1), metavar="N", help="Write design N of the list into RIG.")
@click.option("--diff", is_flag=True, help="Show what --apply would change, and change nothing.")
@units_option
@day_option
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def command(
    rig: str,
    most_cost: float | None,
    most_parts: int | None,
    stock: str | None,
    within_stock: bool,
    anew: bool,
    machine: str | None,
    writes: tuple[str, ...],
    chosen: int | None,
    diff: bool,
    units: Units,
    day: date,
    debug: bool,
) -> int:
    """Whole designs for the machines of RIG that nothing drives, from the power that is free in it.

    RIG has its prime movers and its machines, the most important first; what is connected already stays. Shown are at
    most 8 designs that no other beats in cost, in parts and in every machine's rate, each written out, solved, started
    and judged by every rule. Exit code 0: there are some; 1: there is none; 2: it could not be looked for.
    """
    targets = targets_of(writes, ("json", "svg"))
    if diff and chosen is None:
        raise click.UsageError("--diff shows what --apply changes: add `--apply N`")
    if diff and to_stdout(targets):
        raise click.UsageError("--diff and --write json=- both want standard output: write the JSON to a file")
    refuse_without_stock(stock, within_stock=within_stock)
    there = rig_as_it_is(rig, day)
    context = _cleared(rig, there) if anew else there
    wish = wish_of(context.rig)
    if not isinstance(wish, Wish):
        raise CannotDoError(_told(rig, wish))
    if machine is not None:
        return _explain(context, wish, machine, units)
    found = designs_of(context, wish, Asked(most_cost, most_parts, stock_of(stock, context.rig), within_stock))
    if anew:
        found = rewritten(found, there.rig.rig.tree.source)
    if chosen is not None and chosen > len(found.shown):
        if not found.shown:
            raise CannotDoError(f"there is no design to apply: {words(found.reason)}")
        raise CannotDoError(f"--apply takes 1 to {len(found.shown)}; got {chosen}")
    for name, target in targets:
        deliver(_document(name, context, found, units), target)
    if not to_stdout(targets) and not diff:
        click.echo(design_text(context.rig, found, units, page()), nl=False)
    if chosen is not None:
        _apply(there, found, chosen, targets, diff=diff)
    return told_of(context.book.broken, Exit.CLEAN if found.shown else Exit.FINDINGS)


def _cleared(name: str, there: RepairContext) -> RepairContext:
    """The rig without what stands between. Raises CannotDoError where it is no rig for that, or it cannot be done."""
    found = wish_of(there.rig)
    if not isinstance(found, Wish) and any(one.hinders_anew for one in found):
        raise CannotDoError(_told(name, found))
    context = cleared(there)
    if context is None:
        raise CannotDoError(f"what stands between cannot be taken out of {name} as it is written; do it by hand")
    return context


def _explain(context: RepairContext, wish: Wish, name: str, units: Units) -> int:
    from lineshaft.design.explaining import explained

    number = part_number(context.rig, name)
    machine = next((one for one in wish.machines if one.part == number), None)
    if machine is None:
        raise CannotDoError(f"{name} is no machine that nothing drives: there is nothing to explain")
    found = explained(context, wish, machine)
    for line in found.lines:
        said = clean(words(line, units))
        click.echo(f"{said[0].upper() if said.startswith(('on ', 'a ')) else said[0]}{said[1:]}.")
    return Exit.CLEAN if found.served else Exit.FINDINGS


def _document(name: str, context: RepairContext, found: Designs, units: Units) -> bytes:
    if name == "json":
        from lineshaft.write.sheets.design_json import design_json

        return design_json(context.rig, found)
    from lineshaft.write.sheets.design_svg import design_svg

    return design_svg(context.rig, found, units)


def _told(name: str, obstacles: tuple[Obstacle, ...]) -> str:
    lines = [
        f"  {one.file}:{one.span.start.line}:{one.span.start.column}: {words(one.message)}" for one in obstacles[:10]
    ]
    more = [f"  and {len(obstacles) - 10} more"] if len(obstacles) > 10 else []
    return "\n".join([f"{name} is no wish that a design can be made for:", *map(clean, lines), *more])


def _apply(context: RepairContext, found: Designs, chosen: int, targets: list[Target], *, diff: bool) -> None:
    """Write a design into the rig's file, or show the lines that change."""
    proposal = found.shown[chosen - 1].proposal
    source = context.rig.rig.tree.source
    if diff:
        show_changes(source.text, proposal.text, source.shown)
        return
    put_back(source, proposal.text)
    say(f"{source.shown}: design {chosen} written", targets)
