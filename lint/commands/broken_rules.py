"""Rules that cannot run are named by every command that judges, and what the others said is not taken for all."""

from collections.abc import Iterable

import click

from lineshaft.check.registry import BrokenRule
from lineshaft.exits import Exit
from lineshaft.write.escape import harmless, visible


def told_of(broken: Iterable[BrokenRule], code: int) -> int:
    """Exit code 2 where rules are broken, each named on stderr; else the code as it is."""
    for rule in broken:
        click.echo(harmless(visible(f"lineshaft: the rule {rule.id} {rule.reason}")), err=True)
        code = Exit.FAILED
    return code
