"""Findings as the report shows them: words, places, and the ids that lead to the drawing and back."""

from collections.abc import Mapping
from typing import NamedTuple

from lineshaft.check.finding import Cause
from lineshaft.check.judged_finding import Repair, RepairedFinding
from lineshaft.write.drawing.marks import mark_kind, tag
from lineshaft.write.finding_words import accepted_words
from lineshaft.write.shown_units import Units, figures, hourly, sentence, words


class CauseView(NamedTuple):
    """One link of a chain of causes."""

    part: str
    part_id: str
    message: str
    place: str


class RepairView(NamedTuple):
    """A proved repair: a column of the table of repairs."""

    title: str
    effect: str
    worth: str
    bill: str
    machines: str


class FindingView(NamedTuple):
    """One finding; ``part_id`` is its part's place in the drawing, empty where it has none."""

    id: str
    tag: str
    kind: str
    rule: str
    part: str
    part_id: str
    title: str
    file: str
    place: str
    message: str
    causes: tuple[CauseView, ...]
    suggestion: str
    repairs: tuple[RepairView, ...]
    no_repair: str
    accepted: str


def finding_view(
    finding: RepairedFinding, number: int, rig: str, part_ids: Mapping[str, str], file: str, units: Units
) -> FindingView:
    """The view of finding ``number`` of a rig; ``file`` is the rig's, not named again at its own findings."""
    part = finding.home[1] or ""
    return FindingView(
        f"{rig}-finding-{number}",
        tag(finding.level, number),
        mark_kind(finding),
        finding.rule,
        part,
        part_ids.get(part, ""),
        f"{finding.rule} at {part}" if part else finding.rule,
        finding.file,
        _place(finding, file),
        sentence(finding.message, units),
        tuple(_cause(cause, part_ids, file, units) for cause in finding.because),
        sentence(finding.suggestion, units) if finding.suggestion and not finding.repairs else "",
        tuple(_repair(repair) for repair in finding.repairs),
        finding.no_repair or "",
        accepted_words(finding),
    )


def _place(what: RepairedFinding | Cause, file: str) -> str:
    line = f"line {what.span.start.line}"
    return line if what.file == file else f"{what.file} {line}"


def _cause(cause: Cause, part_ids: Mapping[str, str], file: str, units: Units) -> CauseView:
    part = cause.part or ""
    return CauseView(part, part_ids.get(part, ""), words(cause.message, units), _place(cause, file))


def _repair(repair: Repair) -> RepairView:
    bill = ", ".join(f"{count:+d} {name}" for name, count in repair.bill) or "nothing to buy"
    changes = ((one.part, hourly(one.rate_before), hourly(one.rate_after)) for one in repair.machines)
    machines = [f"{part}: {before} before, {after} after" for part, before, after in changes]
    effect = f"{repair.effect}, {repair.parts_added:+d} parts" if repair.parts_added else repair.effect
    return RepairView(repair.title, effect, figures(repair.worth), bill, "; ".join(machines) or "as before")
