"""``lineshaft trace``: torque, speed, power and share of limit at each part; or the chain that leads to one."""

import click

from lineshaft.commands.one_rig import part_number, solved_rig
from lineshaft.commands.options import color_option, units_option
from lineshaft.commands.output import deliver, page, to_stdout
from lineshaft.commands.targets import targets_of
from lineshaft.exits import Exit
from lineshaft.write.sheets.trace_text import chain_text, lubricant_text, trace_csv, trace_text
from lineshaft.write.shown_units import Units


@click.command("trace")
@click.argument("rig", metavar="RIG")
@click.argument("part", required=False, metavar="[PART]")
@click.option("--write", "writes", multiple=True, metavar="csv=FILE", help="Each part in SI; `-` is stdout.")
@units_option
@click.option("--lubricant", is_flag=True, help="What circuits and fills gain, lose, and how long they last.")
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def command(
    rig: str, part: str | None, writes: tuple[str, ...], units: Units, lubricant: bool, debug: bool
) -> int:
    """What arrives at and leaves each part of RIG, and the limit that counts; with PART, the chain that leads there."""
    targets = targets_of(writes, ("csv",))
    solved = solved_rig(rig)
    for _, target in targets:
        deliver(trace_csv(solved), target)
    if to_stdout(targets):
        return Exit.CLEAN
    if lubricant:
        text = lubricant_text(solved, units, page())
    elif part is None:
        text = trace_text(solved, units, page())
    else:
        text = chain_text(solved, part_number(solved, part), units, page())
    click.echo(text, nl=False)
    if solved.unsolved:
        click.echo(f"{solved.unsolved} of {solved.written_parts} parts not solved: see `lineshaft check {rig}`")
    return Exit.CLEAN
