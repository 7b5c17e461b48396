"""``lineshaft repair``: the proved repairs of each finding side by side, with bill and effect; apply one, or all."""

import os
from datetime import date
from functools import partial
from pathlib import Path
from typing import NamedTuple

import click

from lineshaft.check.finding import EFFECTS, Effect
from lineshaft.check.judged_finding import JudgedFinding, Repair, repaired
from lineshaft.check.shared_causes import by_cause
from lineshaft.commands.from_stock import FromStock, lacking_words
from lineshaft.commands.one_of_several import attempted
from lineshaft.commands.one_rig import checker, lines_of, rig_as_it_is
from lineshaft.commands.options import OneOf, color_option, day_option, units_option
from lineshaft.commands.output import page, put_back, say, show_changes, told_of
from lineshaft.commands.stock_file import refuse_without_stock, stock_of, stock_option, within_stock_option
from lineshaft.exits import CannotDoError, Exit
from lineshaft.repair.plan.fix_all import Reach, fix_all
from lineshaft.repair.plan.listing import grouped, is_other_use, mends_all, plans_of, repairs_of
from lineshaft.repair.plan.planner import Plan
from lineshaft.repair.proof.context import RepairContext, mends
from lineshaft.schema.loading import kind_of
from lineshaft.write.cautions import cautions_on
from lineshaft.write.escape import clean, harmless
from lineshaft.write.sheets.repair_text import INDENT, choice, head, together, without_repair
from lineshaft.write.shown_units import Units, rates

_NAMED = 5  # rigs that use a blueprint and are named; the rest is counted
_UP_TO = "How far a repair may reach: settings (and names with one meaning), other items, or other parts too."


@click.command("repair")
@click.argument("rigs", nargs=-1, required=True, metavar="RIG...")
@click.option("--apply", "chosen", metavar="N", help="Apply repair N of the list, or `best`: all that hold together.")
@click.option("--up-to", type=OneOf(EFFECTS), default="redesign", show_default=True, help=_UP_TO)
@click.option("--diff", is_flag=True, help="Show what --apply would change, and change nothing.")
@stock_option
@within_stock_option
@click.option("--quiet", is_flag=True, help="Say what is applied; of the findings that are left only how many.")
@units_option
@day_option
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def command(
    rigs: tuple[str, ...],
    chosen: str | None,
    up_to: Effect,
    diff: bool,
    stock: str | None,
    within_stock: bool,
    quiet: bool,
    units: Units,
    day: date,
    debug: bool,
) -> int:
    """The proved repairs of each finding in RIG, cheapest first; RIG may be a blueprint, then in all that uses it."""
    if diff and chosen is None:
        raise click.UsageError("--diff shows what --apply changes: add `--apply N` or `--apply best`")
    if len(rigs) > 1 and chosen not in (None, "best"):
        raise click.UsageError("a number counts over the list of one rig; for several take `--apply best`")
    refuse_without_stock(stock, within_stock=within_stock)
    wanted = _Wanted(chosen, up_to, units, diff, quiet, stock, within_stock)
    codes = [attempted(clean(rig), partial(_repaired, rig, day, wanted), _fails, debug=debug) for rig in rigs]
    return max(Exit.FAILED if code is None else code for code in codes)


def _fails(why: str) -> None:
    click.echo(f"lineshaft: {harmless(why)}", err=True)


class _Wanted(NamedTuple):
    """What was asked for: the number of a repair, `best` or nothing; how far it may reach; how it is shown."""

    chosen: str | None
    up_to: Effect
    units: Units
    diff: bool
    quiet: bool
    stock: str | None = None
    within_stock: bool = False


def _repaired(rig: str, day: date, wanted: _Wanted) -> int:
    """One rig: its repairs shown, or applied."""
    chosen, up_to, units, diff, quiet, stock, within = wanted
    context = _opened(rig, day)
    plans = plans_of(context, up_to)
    there = stock_of(stock, context.rig)
    owned = None if there is None else FromStock(there, within)
    if owned is not None:
        plans = owned.plans(context, plans)
    if chosen is None:
        _show(context, plans, units, owned)
        return _ended(context, any(_counts(made.finding) for made in plans))
    if chosen == "best":
        fixed = fix_all(context, plans, Reach(up_to) if owned is None else owned.reach(context, up_to))
        for line in together(context, fixed, quiet=quiet):
            click.echo(page().paragraph(line, "", "  "), nl=False, err=diff)
        text = fixed.context.rig.rig.tree.source.text
        failed = any(_counts(entry.finding) for entry in fixed.left)
    else:
        text, failed = _one(context, plans, chosen), False
    _deliver(context, text, rig, diff=diff, quiet=quiet)
    return _ended(context, failed)


def _ended(context: RepairContext, failed: bool) -> int:
    return told_of(context.book.broken, Exit.FINDINGS if failed else Exit.CLEAN)


def _opened(name: str, day: date) -> RepairContext:
    """A rig, or a blueprint with all that uses it."""
    if kind_of(Path(name)) != "blueprint":
        return rig_as_it_is(name, day)
    from lineshaft.commands.shared_blueprint import blueprint_in_use

    return blueprint_in_use(name, day)


def _counts(finding: JudgedFinding) -> bool:
    return finding.level == "error"


def _show(context: RepairContext, plans: list[Plan], units: Units, owned: FromStock | None) -> None:
    number = 0
    if context.rig.rig.placed.alone and plans:
        from lineshaft.commands.shared_blueprint import users_in_words

        say(users_in_words(context))
        click.echo()
    on, sources = page(), lines_of((made.finding for made in plans), checker())
    for group in grouped(plans):
        told = [made for made in group if not is_other_use(made.finding)]
        heads = by_cause(repaired(made.finding) for made in told)
        lines = [line for finding in heads for line in head(finding, units, on, sources)]
        made = told[-1]
        if made.no_repair:
            why = f"no proved repair: {made.no_repair}{_users(context, made.finding)}"
            lines += on.lines(why, INDENT)
        lines += without_repair(group, on)
        for finding, repair in repairs_of(group):
            number += 1
            lines += choice(number, repair, None if mends_all(group, repair) else finding, _rates(context, repair), on)
            if owned is not None:
                lines += on.lines(f"to get: {lacking_words(owned.bill(context, repair))}", INDENT, f"{INDENT}  ")
        click.echo("\n".join([*lines, ""]))
    if not plans:
        say(f"{context.rig.file}: nothing to repair")
    if number and context.policy.cautions:
        click.echo(cautions_on(on), nl=False)


def _users(context: RepairContext, finding: JudgedFinding) -> str:
    """Which rigs a change of the blueprint would touch that a finding stands in; nothing for a finding in the rig."""
    if finding.placement is None:
        return ""
    from lineshaft.run.dependents import users_of

    repository = context.loader.repository
    changed = Path(os.path.normpath(repository.working / finding.file))
    used = users_of(checker(), {changed: "blueprint"})
    rigs = [repository.shown(path) for path, kind in used.items() if kind == "rig"]
    more = f" and {len(rigs) - _NAMED} more" if len(rigs) > _NAMED else ""
    return f" (used by {', '.join(rigs[:_NAMED])}{more})"


def _rates(context: RepairContext, repair: Repair) -> str:
    """What a repair does to machines: those of the rig, or of all rigs that use the blueprint."""
    if context.rig.rig.placed.alone:
        from lineshaft.commands.shared_blueprint import touched

        return touched(context, repair)
    return "; ".join(rates(change) for change in repair.machines) or "as before"


def _one(context: RepairContext, plans: list[Plan], chosen: str) -> str:
    """The text with one repair of the list made."""
    numbered = [pair for group in grouped(plans) for pair in repairs_of(group)]
    if not chosen.isascii() or not chosen.isdigit() or not 1 <= int(chosen) <= len(numbered):
        several = f"1 to {len(numbered)}" if numbered else "no number, for nothing is offered,"
        raise CannotDoError(f"--apply takes {several} or best; got {chosen!r}")
    finding, repair = numbered[int(chosen) - 1]
    edited_rig = context.whole_edited_rig(repair.edits)
    if edited_rig is None or not mends(context, finding, edited_rig, only_name=repair.only_name):
        raise CannotDoError("that repair no longer fits the file")
    return edited_rig.text


def _deliver(context: RepairContext, text: str, name: str, *, diff: bool, quiet: bool) -> None:
    """Write the changed text into the rig's file, or show the lines that change."""
    source = context.rig.rig.tree.source
    if diff:
        show_changes(source.text, text, name)
        return
    if text == source.text:
        if not quiet:
            say(f"{name}: nothing to change")
        return
    put_back(source, text)
    say(f"{name}: written")
