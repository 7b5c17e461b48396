"""``lineshaft rules``: the rules that are registered, a line each; ``lineshaft rules test``: their twins, judged."""

from pathlib import Path

import click

from lineshaft.check.rulebook import open_rulebook
from lineshaft.commands.options import color_option
from lineshaft.commands.output import page, say, told_of
from lineshaft.exits import CannotDoError, Exit


@click.group("rules", invoke_without_command=True)
@click.option("--debug", is_flag=True, hidden=True)
@color_option
@click.pass_context
def command(ctx: click.Context, debug: bool) -> int:
    """List the rules: id, level, and when each fires."""
    if ctx.invoked_subcommand is not None:
        return Exit.CLEAN
    book = open_rulebook()
    on = page()
    width = max((len(rule.id) for rule in book.rules), default=0)
    for rule in book.rules:
        first = rule.page.strip().split("\n")[0]
        start, level = f"{rule.id:<{width}}  ", f"{rule.level:<7}"
        told = on.paragraph(first, f"{start}{level}  ", " " * (width + 11))
        click.echo(f"{start}{on.ink(level, rule.level)}{told.removeprefix(start + level)}", nl=False)
    return told_of(book.broken, Exit.CLEAN)


@command.command("test")
@click.argument("folder", metavar="DIR")
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def test(folder: str, debug: bool) -> int:
    """Judge the twins in DIR: ID/breaks.*.yaml, which the rule ID finds something in, and ID/holds.*.yaml.

    Of every distribution that has a rule among them, all rules are to have twins.
    """
    from lineshaft.check.twins import judged_twins

    if not Path(folder).is_dir():
        raise CannotDoError(f"{folder!r} is not a folder that exists")
    book = open_rulebook()
    outcomes = judged_twins(Path(folder).resolve(), book)
    if not outcomes:
        raise CannotDoError(f"no folder in {folder!r} is named like a rule; `lineshaft rules` lists them all")
    on = page()
    width = max(len(outcome.rule) for outcome in outcomes)
    for outcome in outcomes:
        said = "; ".join(outcome.faults) or "breaks and holds"
        click.echo(on.paragraph(said, f"{outcome.rule:<{width}}  ", " " * (width + 2)), nl=False)
    wrong = sum(bool(outcome.faults) for outcome in outcomes)
    say(f"Tried {len(outcomes)} rule{'s' if len(outcomes) != 1 else ''}: {wrong or 'none'} without sound twins.")
    return told_of(book.broken, Exit.FINDINGS if wrong else Exit.CLEAN)
