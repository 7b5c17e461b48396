"""``lineshaft rules``: the rules that are registered, a line each."""

import click

from lineshaft.check.rulebook import open_rulebook
from lineshaft.exits import Exit


@click.command("rules")
@click.option("--debug", is_flag=True, hidden=True)
def command(debug: bool) -> int:
    """List the rules: id, level, and when each fires."""
    book = open_rulebook()
    width = max((len(rule.id) for rule in book.rules), default=0)
    for rule in book.rules:
        first = rule.page.strip().split("\n")[0]
        click.echo(f"{rule.id:<{width}}  {rule.level:<7}  {first}")
    for broken in book.broken:
        click.echo(f"{broken.id:<{width}}  {broken.reason}", err=True)
    return Exit.FAILED if book.broken else Exit.CLEAN
