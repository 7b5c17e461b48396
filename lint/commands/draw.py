"""``lineshaft draw``: one rig or blueprint as a schematic, an SVG file."""

import sys
from datetime import date
from pathlib import PurePath

import click

from lineshaft.check.rulebook import open_rulebook
from lineshaft.check.shared_causes import by_cause
from lineshaft.commands.one_rig import checker, part_number, solved_rig
from lineshaft.commands.options import color_option, day_option, units_option
from lineshaft.commands.output import deliver, told_of
from lineshaft.exits import CannotDoError, Exit
from lineshaft.report_model.checklist import checklist
from lineshaft.report_model.excerpt import paths_to
from lineshaft.report_model.fold import folded, parts_at_fault
from lineshaft.report_model.schematic import schematic
from lineshaft.schema.loading import kind_of
from lineshaft.write.drawing.film_page import film_page
from lineshaft.write.drawing.page import svg_page
from lineshaft.write.shown_units import Units


@click.command("draw")
@click.argument("rig", metavar="RIG")
@click.option("-o", "--output", "target", default="-", metavar="FILE.svg", help="Default: stdout.")
@click.option("--only", "part", metavar="PART", help="Draw the paths to this part alone.")
@click.option("--film", is_flag=True, help="Draw the start-up instead, one small drawing a step.")
@click.option("--whole", is_flag=True, help="Draw every part of a large rig; else what is alike is drawn once.")
@units_option
@day_option
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def command(
    rig: str, target: str, part: str | None, film: bool, whole: bool, units: Units, day: date, debug: bool
) -> int:
    """Draw RIG, or a blueprint, from prime movers to machines: loads, limits, findings and their causes. An SVG file.

    Where the start-up takes a part over a limit, the step that does so is drawn. A browser prints it or makes a PDF.
    """
    if target == "-" and sys.stdout.isatty():
        raise CannotDoError("a drawing is no text for a terminal: name a file with -o, for example -o rig.svg")
    if target != "-" and PurePath(target).suffix.lower() != ".svg":
        said = f"a drawing is an SVG file: write -o {PurePath(target).with_suffix('.svg')}; browsers print it to PDF"
        raise CannotDoError(said)
    solved = solved_rig(rig, blueprints=True)
    judging = checker(open_rulebook(), day)
    path = solved.rig.tree.source.path
    every = judging.report(path, kind_of(path) or "rig").findings
    findings = by_cause(every)
    shown = schematic(solved)
    if part is not None:
        part_number(solved, part)
        shown = paths_to(shown, part)
    elif not whole:
        shown = folded(shown, parts_at_fault(every))
    if film:
        deliver(film_page(shown, checklist(solved), findings, units, day), target)
    else:
        deliver(svg_page(shown, findings, units, day), target)
    return told_of(judging.broken_rules(), Exit.CLEAN)
