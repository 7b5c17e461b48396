"""``lineshaft trace``: torque, speed, power and share of limit at each part; or the chain that leads to one."""

from fractions import Fraction

import click

from lineshaft.check.finding import Measure
from lineshaft.commands.one_rig import part_number, solved_rig
from lineshaft.exits import Exit
from lineshaft.report_model.schematic import does
from lineshaft.solve.limits import worst_share
from lineshaft.solve.lubricant_accounts import accounts
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.write.shown_units import Units, duration, figures, measure, words
from lineshaft.write.table import table

_HEAD = ("part", "item", "does", "torque", "speed", "power", "of limit")
_RIGHT = frozenset({3, 4, 5, 6})
_LUBRICANT = ("name", "what", "lubricant", "charge", "supply", "use", "net", "time to dry", "charge alone")


@click.command("trace")
@click.argument("rig", metavar="RIG")
@click.argument("part", required=False, metavar="[PART]")
@click.option("--units", type=click.Choice(["si", "rpm"]), default="si", show_default=True)
@click.option("--lubricant", is_flag=True, help="What circuits and fills gain, lose, and how long they last.")
@click.option("--debug", is_flag=True, hidden=True)
def command(rig: str, part: str | None, units: Units, lubricant: bool, debug: bool) -> int:
    """Torque, speed and power that leave each part of RIG; with PART, the chain that leads there."""
    solved = solved_rig(rig)
    if lubricant:
        text = _lubricant(solved, units)
    elif part is None:
        order = range(len(solved.parts))
        rows = [_row(solved, number, units) for number in order]
        text = table(_HEAD, rows, _RIGHT)
    else:
        text = _chain(solved, part_number(solved, part), units)
    click.echo(text, nl=False)
    if solved.unsolved:
        click.echo(f"{solved.unsolved} of {solved.written_parts} parts not solved: see `lineshaft check {rig}`")
    return Exit.CLEAN


def _row(rig: SolvedRig, number: int, units: Units) -> list[str]:
    part, flows = rig.parts[number], rig.flows
    start = [part.name, part.item.name, words(does(rig, number))]
    if not flows.solved[number]:
        return [*start, "-", "-", "-", "not solved"]
    ends = part.item.kind == "driven-machine"
    torque = flows.torque_in[number] if ends else flows.torque_out[number]
    speed = flows.speed_in[number] if ends else flows.speed_out[number]
    share = worst_share(part, number, flows)
    return [
        *start,
        measure(Measure(torque, "N*m"), units),
        measure(Measure(speed, "rad/s"), units),
        measure(Measure(torque * speed, "W"), units),
        "no limit" if share is None else f"{figures(share * 100)} %",
    ]


def _lubricant(rig: SolvedRig, units: Units) -> str:
    """A row for each circuit, then for each filled part that no circuit feeds."""
    rows = []
    for account in accounts(rig):
        flows = [measure(Measure(flow, "L/s"), units) for flow in (account.supply, account.use, account.net)]
        dry = account.runs_dry_after
        lasts = "does not run dry" if dry is None else duration(dry)
        kind = "circuit" if account.part is None else "filled part"
        charge = measure(Measure(account.charge, "L"), units)
        alone = duration(account.charge / account.use) if account.use > 0 else "not used"
        rows.append([account.name, kind, account.lubricant, charge, *flows, lasts, alone])
    if not rows:
        return "no circuit and no filled part: nothing holds lubricant\n"
    return table(_LUBRICANT, rows, frozenset({3, 4, 5, 6, 7, 8}))


def _chain(rig: SolvedRig, end: int, units: Units) -> str:
    """The rows that lead to a part, with the running product of the ratios: torque gained, speed lost."""
    rows = []
    product = Fraction(1)
    for number in rig.chain(end):
        ratio = rig.parts[number].ratio
        if ratio is not None:
            product = product / ratio.value if rig.settings.increasing[number] else product * ratio.value
        file, span, _ = rig.place(number)
        where = f"line {span.start.line}" if file == rig.file else f"{file} line {span.start.line}"
        rows.append([*_row(rig, number, units), _ratio_words(product), where])
    return table((*_HEAD, "overall", "place"), rows, _RIGHT)


def _ratio_words(product: Fraction) -> str:
    if product == 1:
        return "1 : 1"
    verb = "reduces" if product > 1 else "increases"
    ratio = product if product > 1 else 1 / product
    exact = str(ratio.numerator) if ratio.denominator == 1 else f"{ratio.numerator}/{ratio.denominator}"
    return f"{verb} {exact if len(exact) <= 15 else figures(float(ratio))} : 1"
