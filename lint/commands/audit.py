"""``lineshaft audit``: readings against computed values, and the fewest deviations that explain what disagrees."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import click

from lineshaft.audit.as_built import as_built
from lineshaft.audit.coverage import coverage
from lineshaft.audit.diagnosis import diagnose
from lineshaft.audit.next_reading import next_reading
from lineshaft.check.rulebook import open_rulebook
from lineshaft.commands.one_rig import checker, solved_rig
from lineshaft.commands.options import color_option, day_option, units_option
from lineshaft.commands.output import deliver, page, put_back, say, show_changes, to_stdout, told_of
from lineshaft.commands.targets import Target, targets_of
from lineshaft.exits import CannotDoError, Exit
from lineshaft.repair.proof.context import RepairContext, open_repair_context
from lineshaft.schema.loading import kind_of
from lineshaft.schema.text.repository import MAX_BYTES
from lineshaft.write.sheets.audit_json import Audit, audit_json
from lineshaft.write.sheets.audit_text import audit_sheet
from lineshaft.write.sheets.reading_sheet import SHEETS
from lineshaft.write.shown_units import Units, words

_MOST_FAULTS = 40
_WRITE = "json; with --sheet csv or markdown. `-` is stdout; repeatable."


@click.command("audit")
@click.argument("rig", metavar="RIG")
@click.option("--apply", "chosen", metavar="N", help="Make the file say what explanation N says of the build.")
@click.option("--diff", is_flag=True, help="Show what --apply would change, and change nothing.")
@click.option("--sheet", is_flag=True, help="The readings to take, to print; `--write csv=FILE` to fill in.")
@click.option("--readings", "filled", metavar="FILE.csv", help="A sheet that was filled in, on top of RIG's readings.")
@click.option("--most", type=click.IntRange(1, 60), default=8, show_default=True, help="Explanations to show.")
@click.option("--write", "writes", multiple=True, metavar="FORMAT=FILE", help=_WRITE)
@units_option
@day_option
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def command(
    rig: str,
    chosen: str | None,
    diff: bool,
    sheet: bool,
    filled: str | None,
    most: int,
    writes: tuple[str, ...],
    units: Units,
    day: date,
    debug: bool,
) -> int:
    """Compare the readings in RIG with what is computed, and explain what disagrees by the fewest deviations.

    Of as many deviations the more ordinary come first: a stage the other way round, an open or engaged clutch, a part
    not coupled, a prime mover that stands, another ratio, other shares, a lower head, torque lost, less torque or speed
    than stated, shares that have to be estimated; then what all prime movers have in common, which counts as one. Then
    those closer to what was read. One reading that is wrong itself comes after one deviation and before two.

    Exit codes: 0 every reading agrees, 1 one disagrees, 2 it cannot be told, as of a reading where nothing is computed.
    """
    targets = targets_of(writes, SHEETS if sheet else ("json",))
    if sheet and (chosen is not None or diff):
        raise click.UsageError("--sheet lists what to read, and nothing is applied: leave out --apply and --diff")
    if diff and chosen is None:
        raise click.UsageError("--diff goes with --apply N")
    if diff and to_stdout(targets):
        raise click.UsageError("--diff and --write json=- both want standard output: write the JSON to a file")
    context = _context(rig, day)
    if filled is not None:
        context = _with_readings(context, filled)
    if sheet:
        for name, target in targets or [Target("markdown", "-")]:
            deliver(SHEETS[name](context.rig, units), target)
        return told_of(context.book.broken, Exit.CLEAN)
    audit = _audit(context, most)
    for _, target in targets:
        deliver(audit_json(audit), target)
    if chosen is not None:
        return told_of(context.book.broken, _apply(audit, context, chosen, diff, targets))
    if not to_stdout(targets):
        click.echo(audit_sheet(audit, units, page()), nl=False)
    untold = any(one.value is None for one in audit.diagnosis.compared)
    return told_of(
        context.book.broken, Exit.FINDINGS if audit.diagnosis.wrong else Exit.FAILED if untold else Exit.CLEAN
    )



def _with_readings(context: RepairContext, name: str) -> RepairContext:
    """The rig with readings from a spreadsheet. Raises CannotDoError, by rows, where they cannot be taken."""
    from lineshaft.starters.reading_rows import readings_from_rows

    try:
        with Path(name).open("rb") as file:
            raw = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise CannotDoError(f"cannot read {name}: {error.strerror}") from error
    if len(raw) > MAX_BYTES:
        raise CannotDoError(f"{name} has more than {MAX_BYTES:,} bytes")
    found = readings_from_rows(raw, context.rig)
    if found.faults:
        lines = [f"{name}{f' row {fault.row}' if fault.row else ''}: {fault.message}" for fault in found.faults]
        more = [f"and {len(lines) - _MOST_FAULTS} more"] if len(lines) > _MOST_FAULTS else []
        raise CannotDoError("\n".join([*lines[:_MOST_FAULTS], *more]))
    rig = context.rig
    train = rig.train._replace(rig=replace(rig.rig, readings=found.readings))
    return replace(context, rig=replace(rig, train=train))


def _context(name: str, day: date) -> RepairContext:
    path = Path(name)
    if not path.is_file() or kind_of(path) != "rig":
        raise CannotDoError(f"{name!r} is not a rig file (*.rig.yaml) that exists")
    real = path.parent.resolve() / path.name
    resolved = checker(open_rulebook()).resolved(real)
    context = open_repair_context(resolved.loader, resolved.loader.rig(real), resolved.book, resolved.policy, day)
    if not context.rig.parts:
        solved_rig(name)  # says why it cannot be solved
    return context


def _audit(context: RepairContext, most: int) -> Audit:
    rig = context.rig
    found = diagnose(rig)
    builds = tuple(as_built(context, found, explanation) for explanation in found.explanations[:most])
    taken = [one.measured for one in found.compared]
    further = next_reading(rig, found.explanations, taken)
    return Audit(rig, found, builds, further, coverage(rig.train, found.compared))


def _apply(audit: Audit, context: RepairContext, chosen: str, diff: bool, targets: list[Target]) -> int:
    count = len(audit.builds)
    if not chosen.isascii() or not chosen.isdigit() or not 1 <= int(chosen) <= count:
        offers = f"takes 1 to {count}" if count else "has nothing to choose from: no explanation was found"
        raise CannotDoError(f"--apply {offers}; got {chosen!r}")
    build = audit.builds[int(chosen) - 1]
    by_hand = [words(text) for text in build.by_hand]
    if build.text is None:
        raise CannotDoError("; ".join(by_hand) or "that explanation cannot be written into this file; edit it by hand")
    source = context.rig.rig.tree.source
    if diff:
        show_changes(source.text, build.text, audit.rig.file)
        return Exit.CLEAN
    put_back(source, build.text)
    say(f"{audit.rig.file}: written", targets)
    for text in by_hand:
        say(f"by hand: {text}", targets)
    return Exit.CLEAN
