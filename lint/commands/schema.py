"""``lineshaft schema``: the JSON Schema of a kind of file, for editors and other tools."""

import click

from lineshaft.commands.misspelt import Kinds
from lineshaft.commands.options import color_option
from lineshaft.exits import Exit
from lineshaft.schema.validation.schemas import schema_text

_FILES = ("rig", "blueprint", "catalogue", "policy", "stock", "snags")
KINDS = (*_FILES, "findings", "audit", "bill", "size", "impact", "sweep")

_HELP = f"Print the JSON Schema (draft 2020-12) of a KIND of file, or of what a command writes: {', '.join(KINDS)}."


@click.command("schema", help=_HELP)
@click.argument("kind", type=Kinds("kind of file", KINDS), metavar="KIND")
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def command(kind: str, debug: bool) -> int:
    """Print the JSON Schema of a kind of file."""
    click.echo(schema_text(kind).rstrip("\n"))
    return Exit.CLEAN
