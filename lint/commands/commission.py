"""``lineshaft commission``: the rig's list judged step by step, or a safe list proposed, simulated first."""

from datetime import date
from pathlib import Path
from typing import NamedTuple

import click

from lineshaft import __version__
from lineshaft.check.checker import Checker
from lineshaft.check.judged_finding import RepairedFinding
from lineshaft.check.rulebook import open_rulebook
from lineshaft.commands.one_rig import checker, lines_of, solved_rig
from lineshaft.commands.options import color_option, day_option, units_option
from lineshaft.commands.output import page, put_back, say, show_changes, told_of
from lineshaft.exits import CannotDoError, Exit
from lineshaft.repair.edits.commissioning_block import block_splice
from lineshaft.repair.edits.splice import spliced
from lineshaft.repair.edits.write_back import bytes_of
from lineshaft.report_model.checklist import check_steps, why_impassable
from lineshaft.schema.model.rig import Step
from lineshaft.schema.quantities.quantity import litres_text
from lineshaft.solve.limits import over, worst_share
from lineshaft.solve.safe_list import Impassable, ListedStep, SafeList, safe_list, with_steps
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.write.cautions import cautions_on
from lineshaft.write.checklist_words import steps_table
from lineshaft.write.page import Page
from lineshaft.write.sheet import inspection_sheet
from lineshaft.write.shown_units import Units, words
from lineshaft.write.summary import FileReport, Run

_ABOUT_LISTS = frozenset(
    {
        "torque-over-limit",  # the declared rig is the last state of a list
        "speed-over-limit",
        "direction-before-commissioning",
        "commissioning-overload",
        "commissioning-incomplete",
        "lubricant-missing",
        "lubricant-loop",
    }
)


@click.command("commission")
@click.argument("rig", metavar="RIG")
@click.option("--apply", is_flag=True, help="Put the safe list into RIG; every other byte stays.")
@click.option("--diff", is_flag=True, help="Show what --apply would change, and change nothing.")
@click.option("--write", is_flag=True, hidden=True)
@units_option
@day_option
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def command(rig: str, apply: bool, diff: bool, write: bool, units: Units, day: date, debug: bool) -> int:
    """Judge RIG's commissioning list step by step; where there is none, or it fails, propose a safe one.

    Where no order is safe, the steps are shown with the first state that is over a limit, and nothing is written.
    """
    if write:
        click.echo("notice: --write is called --apply; from 0.3 on it takes FORMAT=FILE, as everywhere", err=True)
    if diff and not (apply or write):
        raise click.UsageError("--diff shows what --apply changes: add --apply")
    judging = checker(open_rulebook(), day)
    return told_of(judging.book.broken, _commissioned(rig, judging, _Wanted(apply or write, diff, units)))


class _Wanted(NamedTuple):
    """Whether the safe list goes into the file, or is shown as lines that change; in which units all is told."""

    apply: bool
    diff: bool
    units: Units


def _commissioned(rig: str, judging: Checker, wanted: _Wanted) -> Exit:
    units = wanted.units
    solved = solved_rig(rig)
    has_list = solved.rig.has_commissioning
    against = _against(solved, judging)
    on = page()
    click.echo(cautions_on(on) if solved.policy.cautions else "", nl=False)
    if has_list:
        _heading(f"{solved.file}: the list as written, judged step by step", on)
        click.echo(steps_table(check_steps(solved.train), units, on), nl=False)
        if not against and not solved.unsolved and not _over_a_limit(solved):
            say("The list holds: no state is over a limit, and it ends as the rig declares.")
            return Exit.CLEAN
        click.echo("The list does not hold.")
        report = FileReport(solved.file, solved.rig.name, solved.written_parts, solved.unsolved, against)
        run = Run(__version__, (report,), units=units)
        click.echo(f"\n{inspection_sheet(run, lambda them: lines_of(them, judging), on, onward=False)}", nl=False)
    proposed = safe_list(solved.train, solved.flows)
    if isinstance(proposed, Impassable):
        _say_why_none(solved, proposed, units)
        return Exit.FINDINGS
    brought = len(proposed.train.rig.steps) - len(proposed.steps)
    behind = f", behind {brought} that its blueprints bring" if brought else ""
    _heading(f"{solved.file}: a safe list of {len(proposed.steps)} steps{behind}, simulated", on)
    click.echo(steps_table(check_steps(proposed.train), units, on, checklist=True), nl=False)
    say("Before coupling, run each prime mover alone once and look which way it turns.")
    if wanted.apply:
        _deliver(solved, proposed, diff=wanted.diff)
        return Exit.CLEAN
    return Exit.FINDINGS if has_list else Exit.CLEAN


def _say_why_none(rig: SolvedRig, found: Impassable, units: Units) -> None:
    """The steps in the order that is the safest, up to the state that cannot be passed; and why it cannot."""
    if found.steps and found.number is not None:
        _heading(f"{rig.file}: the steps up to the state that no order avoids, simulated", page())
        listed = with_steps(rig.train, found.steps[: found.number])
        click.echo(steps_table(check_steps(listed), units, page()), nl=False)
    click.echo()
    say(f"No safe order exists: {words(why_impassable(rig, found), units)}")


def _heading(text: str, on: Page) -> None:
    click.echo("\n" + "\n".join(on.ink(line, "strong") for line in on.lines(text, "", "  ")))



def _against(rig: SolvedRig, judging: Checker) -> tuple[RepairedFinding, ...]:
    """What the rules say against the list: a fill that is too much counts, an overfull tank is another matter."""
    found = judging.findings(rig)
    return tuple(
        f
        for f in found
        if f.rule in _ABOUT_LISTS or (f.rule == "lubricant-overfill" and f.route[:1] == ("commissioning",))
    )


def _over_a_limit(rig: SolvedRig) -> bool:
    """Whether a part is over a limit in any state, that of the rig as declared among them, whatever rules are off."""
    shares = (worst_share(part, number, rig.flows) for number, part in enumerate(rig.parts))
    declared = any(share is not None and over(share, 1.0) for share in shares)
    return declared or any(step.over for step in check_steps(rig.train))


def _deliver(rig: SolvedRig, proposed: SafeList, *, diff: bool) -> None:
    """Splice the list into the rig's file, once the result has been read again and found to say the same.

    Or show the lines that change.
    """
    tree = rig.rig.tree
    source = tree.source
    text = spliced(source.text, (block_splice(tree, proposed.steps, rig.parts),))
    path = Path(source.path)
    edited_rig = checker()
    loader = edited_rig.loader(path)
    loader = loader.with_repository(loader.repository.with_texts({path: bytes_of(source, text)}))
    loaded = loader.rig(path)
    again = loaded.tree.data if loaded.tree is not None else None
    if not isinstance(again, dict) or not isinstance(tree.data, dict) or loaded.rig is None:
        raise CannotDoError(f"the list does not fit into {rig.file} as it is written; add it by hand")
    kept = {key: value for key, value in again.items() if key != "commissioning"}
    steps = [_said(step) for step in loaded.rig.steps if step.tree is loaded.tree]
    wanted = [_said(step) for step in proposed.steps]
    if kept != {key: value for key, value in tree.data.items() if key != "commissioning"} or steps != wanted:
        raise CannotDoError(f"the list does not fit into {rig.file} as it is written; add it by hand")
    if diff:
        show_changes(source.text, text, rig.file)
        return
    put_back(source, text)
    say(f"Written to {rig.file}.")


def _said(step: Step | ListedStep) -> tuple[str, int, str | None, str]:
    return step.kind, step.part, step.to, litres_text(step.amount)
