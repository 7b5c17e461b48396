"""``lineshaft schema``: the JSON Schema of a kind of file, for editors and other tools."""

import json

import click

from lineshaft.commands.misspelt import Kinds
from lineshaft.commands.options import color_option
from lineshaft.exits import Exit
from lineshaft.schema.validation.any_kind import any_kind_schema
from lineshaft.schema.validation.schemas import schema_text

ANY = "any"
_FILES = ("rig", "blueprint", "catalogue", "policy", "stock", "snags")
KINDS = (*_FILES, ANY, "findings", "audit", "bill", "size", "design", "impact", "sweep")

_HELP = (
    f"Print the JSON Schema (draft 2020-12) of a KIND of file, or of what a command writes: {', '.join(KINDS)}. "
    "That of `any` judges each file by the kind that its first key names."
)


@click.command("schema", help=_HELP)
@click.argument("kind", type=Kinds("kind of file", KINDS), metavar="KIND")
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def command(kind: str, debug: bool) -> int:
    """Print the JSON Schema of a kind of file."""
    text = json.dumps(any_kind_schema(), indent=2, ensure_ascii=False) if kind == ANY else schema_text(kind)
    click.echo(text.rstrip("\n"))
    return Exit.CLEAN
