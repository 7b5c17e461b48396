"""``lineshaft items``: what a catalogue offers, kind by kind."""

import click

from lineshaft.commands.catalogues import catalogues_of
from lineshaft.commands.misspelt import Kinds
from lineshaft.commands.one_rig import checker
from lineshaft.commands.options import color_option, units_option
from lineshaft.commands.output import page
from lineshaft.exits import Exit
from lineshaft.write.sheets.item_list import HEADINGS, item_list
from lineshaft.write.shown_units import Units


@click.command("items")
@click.argument("path", metavar="[PATH]", default=".")
@click.option("--kind", type=Kinds("kind of item", HEADINGS), metavar="KIND", help=f"One of {', '.join(HEADINGS)}.")
@units_option
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def command(path: str, kind: str | None, units: Units, debug: bool) -> int:
    """What the catalogue offers: kinds, ratios, grades, limits, needs, makings.

    PATH is a catalogue, a file that uses one, or a folder (default: the working folder) with a policy or catalogues.
    """
    found = catalogues_of(checker(), path)
    on = page()
    click.echo("\n".join(item_list(catalogue, kind, units, on) for catalogue in found), nl=False)
    return Exit.CLEAN
