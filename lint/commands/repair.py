"""``lineshaft repair``: the proved repairs of each finding, with bill and effect; apply one."""

import difflib
from pathlib import Path

import click

from lineshaft.commands.one_rig import bench
from lineshaft.exits import CannotDoError, Exit
from lineshaft.judge.finding import Finding, Repair
from lineshaft.judge.rulebook import open_rulebook
from lineshaft.judge.waivers import waived
from lineshaft.judging import today
from lineshaft.repair.planner import Plan, plan
from lineshaft.repair.proof import Workshop, no_worse, open_workshop
from lineshaft.repair.write_back import RefusedError, write_back
from lineshaft.schema.loading import kind_of
from lineshaft.write.escape import harmless, visible
from lineshaft.write.shown_units import figures, words
from lineshaft.write.table import table

_HEAD = ("no.", "repair", "effect", "worth", "bill", "machines, units an hour")


@click.command("repair")
@click.argument("rig", metavar="RIG")
@click.option("--apply", "chosen", metavar="N", help="Apply repair N of the list, or `best`.")
@click.option("--diff", is_flag=True, help="Show what --apply would change, and change nothing.")
@click.option("--debug", is_flag=True, hidden=True)
def command(rig: str, chosen: str | None, diff: bool, debug: bool) -> int:
    """The proved repairs of each finding in RIG, cheapest first."""
    workshop = _workshop(rig)
    plans = [plan(workshop, finding) for finding in _open(workshop)]
    if chosen is None:
        _show(workshop, plans)
        return Exit.FINDINGS if any(p.finding.level == "error" for p in plans) else Exit.CLEAN
    numbered = [repair for p in plans for repair in p.repairs]
    text = _best(workshop, plans) if chosen == "best" else _one(workshop, numbered, chosen)
    source = workshop.rig.rig.tree.source
    if diff:
        lines = difflib.unified_diff(source.text.splitlines(), text.splitlines(), rig, rig, lineterm="")
        click.echo("\n".join(harmless(visible(line)) for line in lines))
        return Exit.CLEAN
    try:
        write_back(source, text)
    except RefusedError as refused:
        raise CannotDoError(str(refused)) from refused
    click.echo(f"{harmless(visible(rig))}: written")
    return Exit.CLEAN


def _workshop(name: str) -> Workshop:
    path = Path(name)
    if not path.is_file() or kind_of(path) != "rig":
        raise CannotDoError(f"{name!r} is not a rig file (*.rig.yaml) that exists")
    book = open_rulebook()
    real = path.parent.resolve() / path.name
    loader = bench().loader(real)
    return open_workshop(loader, loader.rig(real), book)


def _open(workshop: Workshop) -> list[Finding]:
    """What there is to mend: neither notes nor what is waived today."""
    findings = waived(workshop.rig, workshop.findings, today())
    return [finding for finding in findings if finding.level != "note" and finding.waived is None]


def _show(workshop: Workshop, plans: list[Plan]) -> None:
    number = 0
    for made in plans:
        finding = made.finding
        part = f" part {finding.part}" if finding.part else ""
        head = f"{finding.level.upper()}  {finding.rule}{part} at line {finding.span.start.line}: "
        click.echo(harmless(visible(head + words(finding.message))))
        if made.no_repair:
            click.echo(f"  no proved repair: {harmless(visible(made.no_repair))}\n")
            continue
        rows = []
        for repair in made.repairs:
            number += 1
            worth = figures(repair.worth)
            rows.append([str(number), repair.title, repair.effect, worth, _bill(repair), _rates(repair)])
        click.echo(table(_HEAD, rows, frozenset({0, 3})))
    if not plans:
        click.echo(f"{workshop.rig.file}: nothing to repair")


def _bill(repair: Repair) -> str:
    return ", ".join(f"{count:+d} {name}" for name, count in repair.bill) or "nothing"


def _rates(repair: Repair) -> str:
    changes = []
    for change in repair.machines:
        before = "rest" if change.rate_before is None else figures(change.rate_before)
        after = "rest" if change.rate_after is None else figures(change.rate_after)
        changes.append(f"{change.part} {before} -> {after}")
    return "; ".join(changes) or "as before"


def _one(workshop: Workshop, repairs: list[Repair], chosen: str) -> str:
    if not chosen.isascii() or not chosen.isdigit() or not 1 <= int(chosen) <= len(repairs):
        raise CannotDoError(f"--apply takes 1 to {len(repairs)} or best; got {chosen!r}")
    trial = workshop.trial(repairs[int(chosen) - 1].edits)
    if trial is None:
        raise CannotDoError("that repair no longer fits the file")
    return trial.text


def _best(workshop: Workshop, plans: list[Plan]) -> str:
    """Repairs one finding after another, cheapest first, on the text as changed so far; proved at each step.

    Positions move with each change, so every finding is planned anew on the changed rig.
    """
    here = workshop
    left: set[tuple[str, str | None]] = set()
    text = workshop.rig.rig.tree.source.text
    for _ in range(2 * len(plans) + 1):
        open_findings = [f for f in _open(here) if (f.rule, f.part) not in left]
        if not open_findings:
            break
        made = plan(here, open_findings[0])
        trial = here.trial(made.repairs[0].edits) if made.repairs else None
        if trial is None or not no_worse(here.findings, trial):
            left.add((open_findings[0].rule, open_findings[0].part))
            click.echo(harmless(visible(f"left out: {open_findings[0].rule} ({made.no_repair or 'no repair holds'})")))
            continue
        click.echo(harmless(visible(f"applied: {made.repairs[0].title}")))
        text = trial.text
        here = here.after(trial)
    return text
