"""Findings as the report shows them: words, places, and the ids that lead to the drawing and back."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from lineshaft.check.finding import Cause
from lineshaft.check.judged_finding import Repair, RepairedFinding
from lineshaft.write.drawing.marks import mark_kind, tag
from lineshaft.write.finding_words import accepted_words
from lineshaft.write.html_report.repairs import PictureView, bill_words, effect_words, machine_words
from lineshaft.write.shown_units import Units, figures, sentence, words


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
    pictured: tuple[PictureView, ...]
    no_repair: str
    accepted: str


def finding_view(
    finding: RepairedFinding,
    number: int,
    rig: str,
    part_ids: Mapping[str, str],
    file: str,
    units: Units,
    pictured: Sequence[PictureView] = (),
) -> FindingView:
    """The view of finding ``number`` of a rig; ``file`` is the rig's, not named again at its own findings."""
    part, own = finding.home[1] or "", f"{rig}-finding-{number}"
    shown = tuple(one for one in pictured if any(mended.id == own for mended in one.mends))
    return FindingView(
        own,
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
        () if shown else tuple(_repair(repair) for repair in finding.repairs),
        shown,
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
    bill, machines = bill_words(repair), machine_words(repair)
    return RepairView(repair.title, effect_words(repair), figures(repair.worth), bill, machines)
