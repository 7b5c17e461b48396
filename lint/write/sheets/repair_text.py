"""The repairs of findings as text: what is wrong, each repair under its number, and what is made of them together."""

from collections.abc import Mapping, Sequence

from lineshaft.check.judged_finding import JudgedFinding, Repair
from lineshaft.check.shared_findings import each_once
from lineshaft.repair.plan.fix_all import FixedRig
from lineshaft.repair.plan.listing import is_other_use
from lineshaft.repair.plan.planner import Plan
from lineshaft.repair.proof.context import RepairContext
from lineshaft.write.finding_words import costs, headline, uses_words
from lineshaft.write.page import Page
from lineshaft.write.shown_units import Units, sentence
from lineshaft.write.source_view import marked_line, placed_rule

_NAMED = 5  # uses of a blueprint that are named; the rest is counted
INDENT = " " * 6
"""What stands before all that belongs to a finding."""


def head(finding: JudgedFinding, units: Units, on: Page, sources: Mapping[tuple[str, int], str]) -> list[str]:
    """What is wrong in a sentence, its place and rule, the line itself, and where a blueprint's fault shows."""
    level = finding.level.upper()
    lines = on.lines(f"{level}  {sentence(headline(finding), units)}", "", INDENT)
    lines[0] = lines[0].replace(level, on.ink(level, finding.level), 1)
    lines += placed_rule(finding, on, INDENT)
    line = sources.get((finding.file, finding.span.start.line))
    lines += marked_line(line, finding.span, finding.level, on, f"{INDENT}  ")
    where = uses_words(finding) if finding.uses else ""
    return [*lines, *(on.lines(where, INDENT) if where else [])]


def choice(number: int, repair: Repair, only: JudgedFinding | None, machines: str, on: Page) -> list[str]:
    """A repair under its number: what it is, what it adds to the bill, what it does to machines.

    ``only`` is the one finding of a group that it mends, where it does not mend all; ``machines`` in words.
    """
    parts = f", {_counted(repair.parts_added)}" if repair.parts_added else ""
    title = repair.title if only is None else f"{repair.title} (mends {only.rule} {only.home[1] or ''})"
    lines = on.lines(f"{title} ({repair.effect})", f"{number:>4}  ", INDENT)
    for text in (f"{costs(repair.worth)}{parts}: {_bill(repair)}", f"machines: {machines}"):
        lines += on.lines(text, INDENT, f"{INDENT}  ")
    return lines


def without_repair(group: Sequence[Plan], on: Page) -> list[str]:
    """The uses of a blueprint that another is told for and that nothing was found for, where it was for some."""
    none = [made for made in group if is_other_use(made.finding) and not made.repairs]
    if not none or not any(made.repairs for made in group):
        return []
    names = [made.finding.home[1] or "" for made in none]
    more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
    return on.lines(f"no proved repair for {', '.join(names[:_NAMED])}{more}: {none[0].no_repair}", INDENT)


def together(context: RepairContext, fixed: FixedRig, *, quiet: bool) -> list[str]:
    """What is applied together, what is left out and why; or how much is left out, which another command tells."""
    lines = [f"applied: {repair.title} ({_named(finding)})" for finding, repair in fixed.applied]
    notes = each_once(f for f in fixed.context.findings if not f.passes and f.level == "note")
    if not quiet:
        lines += [f"left out: {_named(entry.finding)}: {entry.reason}" for entry in fixed.left]
        lines += [f"left out: {_named(note)}: a note, to be applied by its number" for note in notes]
    elif left := len(fixed.left):
        file = context.rig.file
        some, them = ("finding is", "it") if left == 1 else ("findings are", "them")
        lines.append(f"{file}: {left} {some} left; `lineshaft repair {file}` shows what mends {them}")
    return lines


def _counted(parts: int) -> str:
    return f"{abs(parts)} part{'s' if abs(parts) != 1 else ''} {'more' if parts > 0 else 'less'}"


def _bill(repair: Repair) -> str:
    return ", ".join(f"{count:+d} {name}" for name, count in repair.bill) or "nothing to buy"


def _named(finding: JudgedFinding) -> str:
    part = f" part {finding.part}" if finding.part else ""
    return f"{finding.rule}{part} at line {finding.span.start.line}"
