"""An explanation of readings made sound: its edits proved on the file, and the build it describes judged."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal, NamedTuple

from lineshaft.audit.comparison import computed, disagree
from lineshaft.audit.deviation_edits import Expressed, expressed
from lineshaft.audit.deviations import Deviation, as_it_stands
from lineshaft.audit.diagnosis import Compared, Diagnosis, Explanation
from lineshaft.check.finding import Edit, Text
from lineshaft.check.finding_diff import against
from lineshaft.check.fingerprint import subject_of
from lineshaft.check.inspection import inspect_rig
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.repair.proof.context import RepairContext
from lineshaft.repair.proof.edited_rig import EditedRig
from lineshaft.solve.solved_rig import SolvedRig, solve_rig

READINGS = "reading-disagrees"

Comparison = Literal["new", "worse", "known"]
"""How a finding on the build stands to those on the file."""


class AsBuilt(NamedTuple):
    """An explanation with what it says of each deviation and of the build.

    ``edits`` make the file say as much of it as a file can; ``text`` is the file so edited, none where nothing can be
    said or the edits do not hold. ``whole`` says whether the file then agrees with every reading explained.
    ``findings`` are those of the build as it stands, readings aside; ``compared`` sets each against the file's.
    """

    explanation: Explanation
    said: tuple[Expressed, ...]
    edits: tuple[Edit, ...]
    text: str | None
    whole: bool
    findings: tuple[JudgedFinding, ...]
    compared: tuple[Comparison, ...]

    @property
    def by_hand(self) -> tuple[Text, ...]:
        """What the file cannot say, and what to do about it."""
        return tuple(one.by_hand for one in self.said if one.by_hand)


def as_built(context: RepairContext, diagnosis: Diagnosis, explanation: Explanation) -> AsBuilt:
    """Prove an explanation's edits and judge the build it describes."""
    rig = context.rig
    deviations = explanation.deviations
    readings = rig.rig.readings
    said = tuple(expressed(rig.parts[d.part], d, readings[d.reading].at if d.reading >= 0 else "") for d in deviations)
    edits = tuple(edit for one in said for edit in one.edits)
    left = tuple(d for d, one in zip(deviations, said, strict=True) if not one.edits)
    misread = {d.reading for d in deviations}
    explained = [
        one
        for k, one in enumerate(diagnosis.compared)
        if k not in diagnosis.unexplained and one.measured.reading not in misread
    ]
    edited_rig = context.whole_edited_rig(edits) if edits else None
    if edited_rig is not None and not _agrees(edited_rig, left, explained):
        edited_rig = None
    findings = _judged(context, deviations)
    compared = _compared(context.findings, findings)
    text = None if edited_rig is None else edited_rig.text
    if text is None:
        edits = ()
    return AsBuilt(explanation, said, edits, text, text is not None and not left, findings, compared)


def _compared(before: Sequence[JudgedFinding], after: Sequence[JudgedFinding]) -> tuple[Comparison, ...]:
    speaking = {id(finding) for finding in against(before, after)}
    known = {subject_of(finding, anywhere=True) for finding in before}
    return tuple(
        "known" if id(f) not in speaking else "worse" if subject_of(f, anywhere=True) in known else "new" for f in after
    )


def _agrees(edited_rig: EditedRig, left: Sequence[Deviation], explained: Sequence[Compared]) -> bool:
    """Whether the edited file, with what it cannot say put in, gives every number that was read."""
    if edited_rig.rig.faults or not edited_rig.rig.parts:
        return False
    build = _solved(edited_rig.rig, left)
    for one in explained:
        m = one.measured
        value = computed(build.parts, build.flows, m.part, m.outlet, m.quantity)
        if one.value is not None and (value is None or disagree(m.read, value, m.tolerance)):
            return False
    return True


def _judged(context: RepairContext, deviations: Sequence[Deviation]) -> tuple[JudgedFinding, ...]:
    """What every rule says of the build; places are those of the file as it is written now."""
    found = inspect_rig(_solved(context.rig, deviations), context.book)
    return tuple(finding for finding in found if finding.rule != READINGS)


def _solved(rig: SolvedRig, deviations: Sequence[Deviation]) -> SolvedRig:
    parts = as_it_stands(rig.train, deviations).parts
    return solve_rig(replace(rig.rig, parts=parts), rig.file, rig.policy, rig.faults, rig.written_parts)

