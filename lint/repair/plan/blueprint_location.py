"""A rig's finding that stands in the file of a blueprint it uses: where it is mended, in words."""

from dataclasses import replace
from pathlib import Path

from lineshaft.check.finding import Finding
from lineshaft.check.fingerprint import Subject, subject_of
from lineshaft.check.inspection import inspect_rig
from lineshaft.repair.proof.context import RepairContext
from lineshaft.solve.promise_edge import solve_at_edge
from lineshaft.solve.solved_rig import SolvedRig


def repaired_by(file: str) -> str:
    """Who mends a blueprint."""
    return f"`lineshaft repair {file}` looks for what holds in all that uses it"


def comes_from_its_use(context: RepairContext, finding: Finding) -> bool:
    """Whether a finding comes from what the rig does with a blueprint: alone, at what it promises, it has it not.

    Nothing is read but what the rig itself hangs on.
    """
    path = next((p.tree.source.path for p in context.rig.parts if p.tree.source.shown == finding.file), None)
    if path is None:
        return False
    return subject_of(replace(finding, placement=None), anywhere=True) not in _alone(context, path)


def where_mended(finding: Finding, *, from_its_use: bool, tried: str) -> str:
    """Where to mend it, and what was tried: in the blueprint, or else in what the rig does with it."""
    if not from_its_use:
        return f"it stands in {finding.file}, a shared one: {repaired_by(finding.file)}"
    return (
        f"{finding.file} does not have it when judged alone at what it promises: it comes from what feeds it here,"
        f" from what is given `with` it, or from the start-up; {tried}; change that, or let it promise less"
    )


def _alone(context: RepairContext, path: Path) -> frozenset[Subject]:
    """What is wrong with a blueprint of a rig at the edge of its promises."""
    known = context.rig.once(_BlueprintsAlone).subjects
    if path not in known:
        rig = solve_at_edge(context.loader.blueprint_alone(path), context.policy)
        known[path] = frozenset(subject_of(each, anywhere=True) for each in inspect_rig(rig, context.book))
    return known[path]


class _BlueprintsAlone:
    """What is wrong with a rig's blueprints alone, by their files, as far as it was asked for."""

    def __init__(self, _: SolvedRig) -> None:
        self.subjects: dict[Path, frozenset[Subject]] = {}
