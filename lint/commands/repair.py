"""``lineshaft repair``: the proved repairs of each finding side by side, with bill and effect; apply one, or all."""

import os
from collections.abc import Mapping
from datetime import date
from functools import partial
from pathlib import Path
from typing import NamedTuple

import click

from lineshaft.check.finding import EFFECTS, Effect
from lineshaft.check.judged_finding import JudgedFinding, Repair, repaired
from lineshaft.check.shared_causes import by_cause
from lineshaft.check.shared_findings import each_once
from lineshaft.commands.from_stock import FromStock, lacking_words
from lineshaft.commands.one_of_several import attempted
from lineshaft.commands.one_rig import checker, lines_of, rig_as_it_is
from lineshaft.commands.options import OneOf, color_option, day_option, units_option
from lineshaft.commands.output import page, put_back, say, show_changes, told_of
from lineshaft.commands.stock_file import refuse_without_stock, stock_of, stock_option, within_stock_option
from lineshaft.exits import CannotDoError, Exit
from lineshaft.repair.plan.fix_all import FixedRig, fix_all
from lineshaft.repair.plan.listing import grouped, is_other_use, mends_all, plans_of, repairs_of
from lineshaft.repair.plan.planner import Plan
from lineshaft.repair.proof.context import RepairContext, mends
from lineshaft.schema.loading import kind_of
from lineshaft.write.cautions import cautions_on
from lineshaft.write.escape import clean, harmless
from lineshaft.write.finding_words import costs, headline, uses_words
from lineshaft.write.page import Page
from lineshaft.write.shown_units import Units, rates, sentence
from lineshaft.write.source_view import marked_line, placed_rule

_NAMED = 5  # rigs that use a blueprint and are named; the rest is counted
_UP_TO = "How far a repair may reach: settings (and names with one meaning), other items, or other parts too."
_IN = " " * 6


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
        fixed = fix_all(context, plans, up_to)
        _tell(context, fixed, quiet=quiet, to_stderr=diff)
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
        lines = [line for finding in heads for line in _head(finding, units, on, sources)]
        made = told[-1]
        if made.no_repair:
            why = f"no proved repair: {made.no_repair}{_users(context, made.finding)}"
            lines += on.lines(why, _IN)
        for finding, repair in repairs_of(group):
            number += 1
            lines += _choice(context, number, repair, None if mends_all(group, repair) else finding)
            if owned is not None:
                lines += on.lines(f"to get: {lacking_words(owned.bill(context, repair))}", _IN, f"{_IN}  ")
        click.echo("\n".join([*lines, ""]))
    if not plans:
        say(f"{context.rig.file}: nothing to repair")
    if number and context.policy.cautions:
        click.echo(cautions_on(on), nl=False)


def _head(finding: JudgedFinding, units: Units, on: Page, sources: Mapping[tuple[str, int], str]) -> list[str]:
    """What is wrong in a sentence, its place and rule, the line itself, and where a blueprint's fault shows."""
    level = finding.level.upper()
    lines = on.lines(f"{level}  {sentence(headline(finding), units)}", "", _IN)
    lines[0] = lines[0].replace(level, on.ink(level, finding.level), 1)
    lines += placed_rule(finding, on, _IN)
    line = sources.get((finding.file, finding.span.start.line))
    lines += marked_line(line, finding.span, finding.level, on, f"{_IN}  ")
    where = uses_words(finding) if finding.uses else ""
    return [*lines, *(on.lines(where, _IN) if where else [])]


def _choice(context: RepairContext, number: int, repair: Repair, only: JudgedFinding | None) -> list[str]:
    """A repair under its number: what it is, what it adds to the bill, what it does to machines.

    ``only`` is the one finding of a group that it mends, where it does not mend all.
    """
    parts = f", {_counted(repair.parts_added)}" if repair.parts_added else ""
    title = repair.title if only is None else f"{repair.title} (mends {only.rule} {only.home[1] or ''})"
    on = page()
    lines = on.lines(f"{title} ({repair.effect})", f"{number:>4}  ", _IN)
    for text in (f"{costs(repair.worth)}{parts}: {_bill(repair)}", f"machines: {_rates(context, repair)}"):
        lines += on.lines(text, _IN, f"{_IN}  ")
    return lines


def _counted(parts: int) -> str:
    return f"{abs(parts)} part{'s' if abs(parts) != 1 else ''} {'more' if parts > 0 else 'less'}"


def _named(finding: JudgedFinding) -> str:
    part = f" part {finding.part}" if finding.part else ""
    return f"{finding.rule}{part} at line {finding.span.start.line}"


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


def _bill(repair: Repair) -> str:
    return ", ".join(f"{count:+d} {name}" for name, count in repair.bill) or "nothing to buy"


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


def _tell(context: RepairContext, fixed: FixedRig, *, quiet: bool, to_stderr: bool) -> None:
    """What is applied together, what is left out and why; or how much is left out, which another command tells."""
    lines = [f"applied: {repair.title} ({_named(finding)})" for finding, repair in fixed.applied]
    notes = each_once(f for f in fixed.context.findings if not f.passes and f.level == "note")
    if not quiet:
        lines += [f"left out: {_named(entry.finding)}: {entry.reason}" for entry in fixed.left]
        lines += [f"left out: {_named(note)}: a note, to be applied by its number" for note in notes]
    elif left := len(fixed.left):
        file = context.rig.file
        some, them = ("finding is", "it") if left == 1 else ("findings are", "them")
        lines.append(f"{file}: {left} {some} left; `lineshaft repair {file}` shows what mends {them}")
    for line in lines:
        click.echo(page().paragraph(line, "", "  "), nl=False, err=to_stderr)


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
