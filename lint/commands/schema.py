"""``lineshaft schema``: the JSON Schema of a kind of file, for editors and other tools."""

import click

from lineshaft.exits import Exit
from lineshaft.schema.validation.schemas import schema_text

KINDS = ("rig", "blueprint", "catalogue", "policy", "snags", "findings", "audit", "bill", "size", "impact", "sweep")


@click.command("schema")
@click.argument("kind", type=click.Choice(KINDS))
@click.option("--debug", is_flag=True, hidden=True)
def command(kind: str, debug: bool) -> int:
    """Print the JSON Schema (draft 2020-12) of a KIND of file."""
    click.echo(schema_text(kind).rstrip("\n"))
    return Exit.CLEAN
