"""``lineshaft explain RULE``: the rule's page, and a sample that breaks it beside one that holds."""

import re
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import click

from lineshaft.check.broken_rule import BrokenRule
from lineshaft.check.registry import Registered, complete_registry
from lineshaft.check.rule import Rule
from lineshaft.check.rule_pages import rule_address
from lineshaft.check.rulebook import load_rule
from lineshaft.commands.options import color_option
from lineshaft.commands.output import page
from lineshaft.exits import CannotDoError
from lineshaft.write.page import Page

_SAMPLES = (("breaks", "This breaks it"), ("holds", "Its twin holds"))


@click.command("explain")
@click.argument("rule")
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def command(rule: str, debug: bool) -> None:
    """Explain one rule: what it checks, why, how to repair, with a sample that breaks it and one that holds."""
    found = _load(_entry(rule))
    on = page()
    click.echo(on.ink(f"{found.id} ({found.level})", "strong") + "\n")
    click.echo("\n".join(_paragraphs(found.page, on)), nl=False)
    for which, heading in _SAMPLES:
        text = sample(rule, which)
        if text is not None:
            click.echo(f"\n{on.ink(f'{heading}:', 'strong')}\n")
            click.echo("\n".join(f"    {line}".rstrip() for line in text.splitlines()))
    address = rule_address(found.id)
    if address:
        click.echo(f"\nWith its repair: {address}")


def _paragraphs(text: str, on: Page) -> Iterator[str]:
    """The paragraphs of a page in lines that fit; an entry of a list begins a line, set in as it is."""
    for paragraph in re.split(r"\n[ \t]*\n", text.strip()):
        told = ""
        for entry in re.split(r"\n(?=[ \t]*[-*] )", paragraph):
            first = re.match(r"[ \t]*(?:[-*] )?", entry)
            lead = first[0] if first is not None else ""
            told += on.paragraph(" ".join(entry[len(lead) :].split()), lead, " " * len(lead))
        yield told


def sample(rule: str, which: str) -> str | None:
    """The text of a rule's sample, `breaks` or `holds`; none where there is none (a third party's rule)."""
    try:
        folder = Path(import_module("lineshaft.twins").__path__[0], rule)
    except ImportError:
        return None
    found = sorted(folder.glob(f"{which}.*.yaml"))
    return found[0].read_text("utf-8") if found else None


def _entry(name: str) -> Registered:
    """The rule's entry point. Raises CannotDoError with the nearest name where there is none."""
    from lineshaft.schema.text.nearest import likely

    known = complete_registry()
    entries = {entry.id: entry for entry in known.rules}
    found = entries.get(name)
    for refused in known.refused:
        if found is None and refused.id == name:
            raise CannotDoError(f"the rule {refused.id} {refused.reason}")
    if found is None:
        near = likely(name, entries)
        hint = f"did you mean {' or '.join(near)}?" if near else "`lineshaft rules` lists them all"
        raise CannotDoError(f"there is no rule {name!r}; {hint}")
    return found


def _load(entry: Registered) -> Rule:
    rule = load_rule(entry)
    if isinstance(rule, BrokenRule):
        raise CannotDoError(f"the rule {rule.id} {rule.reason}")
    return rule
