"""``lineshaft draw``: one rig as a schematic, an SVG file."""

import sys
from datetime import date

import click

from lineshaft.check.rulebook import open_rulebook
from lineshaft.commands.one_rig import checker, solved_rig
from lineshaft.commands.options import color_option, day_option, units_option
from lineshaft.commands.output import deliver, told_of
from lineshaft.exits import CannotDoError, Exit
from lineshaft.report_model.schematic import schematic
from lineshaft.write.drawing.page import svg_page
from lineshaft.write.shown_units import Units


@click.command("draw")
@click.argument("rig", metavar="RIG")
@click.option("-o", "--output", "target", default="-", metavar="FILE.svg", help="Default: stdout.")
@units_option
@day_option
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def command(rig: str, target: str, units: Units, day: date, debug: bool) -> int:
    """Draw RIG from its prime movers to its machines: loads, shares of limits, findings. An SVG file."""
    if target == "-" and sys.stdout.isatty():
        raise CannotDoError("a drawing is no text for a terminal: name a file with -o, for example -o rig.svg")
    solved = solved_rig(rig)
    judging = checker(open_rulebook(), day)
    findings = judging.report(solved.rig.tree.source.path, "rig").findings
    deliver(svg_page(schematic(solved), findings, units), target)
    return told_of(judging.broken_rules(), Exit.CLEAN)
