"""One rig before and after a change: what newly breaks and which rating is to blame, what is mended, what moves.

The change may be another edition of the catalogue, another text of the rig, or both.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import date
from functools import reduce
from pathlib import Path
from typing import NamedTuple

from lineshaft.bill_of_materials import bill
from lineshaft.changes.editions import Rating, changed_ratings, touching, undone
from lineshaft.check.finding import Placement, value_of
from lineshaft.check.finding_diff import against
from lineshaft.check.fingerprint import Subject, subject_of
from lineshaft.check.inspection import inspect_rig
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.check.level import gravity
from lineshaft.check.resolved_policy import ResolvedPolicy
from lineshaft.schema.loading import Loader
from lineshaft.schema.model.catalogue import Catalogue
from lineshaft.solve.movements import Moves, movements
from lineshaft.solve.solved_rig import SolvedRig, solve_loaded

_OF_THE_TEXT = frozenset({"edition-drift"})
"""Rules that speak of the edition itself: that it is another one is what is asked about."""
MOST_UNDONE = 60
"""Most ratings that are undone one by one for the blame of one finding."""


class Judged(NamedTuple):
    """A rig as solved and judged in one state, and how it was read."""

    rig: SolvedRig
    findings: tuple[JudgedFinding, ...]
    loader: Loader
    resolved: ResolvedPolicy
    day: date

    @property
    def known(self) -> bool:
        """Whether its catalogue could be read; where not, no rating of it can be compared or blamed."""
        return self.rig.catalogue.tree is not self.rig.rig.tree


class Broken(NamedTuple):
    """A finding that is new or worse, what it was, and the changed ratings without any one of which it would not be.

    Where no single one is to blame, ``together`` is set and ``blame`` holds those without all of which it would not be.
    """

    finding: JudgedFinding
    was: JudgedFinding | None
    blame: tuple[Rating, ...] = ()
    together: bool = False


class Side(NamedTuple):
    """One side of a comparison: a catalogue's file and edition, a revision, or (all none) the files as they are."""

    file: str | None = None
    edition: str | None = None
    revision: str | None = None

    @property
    def words(self) -> str:
        """For example `edition 3.1`, `main` or `now`."""
        return f"edition {self.edition}" if self.edition is not None else self.revision or "now"


class RigImpact(NamedTuple):
    """What a change does to one rig; ``ratings`` are those changed ones that touch it."""

    file: str
    name: str
    broken: tuple[Broken, ...]
    worse: tuple[Broken, ...]
    mended: tuple[JudgedFinding, ...]
    moves: Moves
    ratings: tuple[Rating, ...]

    @property
    def verdict(self) -> str:
        """`breaks` where an error is new, else `worse`, `mended`, `moves`, or `same`; notes alone are neither."""
        if any(found.finding.level == "error" for found in self.broken):
            return "breaks"
        if any(found.finding.level != "note" for found in (*self.broken, *self.worse)):
            return "worse"
        if any(finding.level != "note" for finding in self.mended):
            return "mended"
        return "moves" if any(self.moves) else "same"


def judged(resolved: ResolvedPolicy, loader: Loader, path: Path, day: date) -> Judged:
    """A rig read by a loader, solved and judged by its policy and rules; waived findings do not count."""
    rig = solve_loaded(loader.rig(path), resolved.policy)
    found = inspect_rig(rig, resolved.book, day)
    kept = tuple(f for f in found if not f.passes and f.rule not in _OF_THE_TEXT)
    return Judged(rig, kept, loader, resolved, day)


def impact(before: Judged, after: Judged, path: Path) -> RigImpact:
    """What lies between two states of the rig at a path; it may have stood under another one before."""
    before = before._replace(findings=_told_of(after.rig.file, before))
    old, new = before.rig.catalogue, after.rig.catalogue
    parts = (*before.rig.parts, *after.rig.parts)
    changed = changed_ratings(old, new) if before.known and after.known else ()
    ratings = touching(changed, parts, _goods(before.rig) | _goods(after.rig))
    known = {_subject(finding): finding for finding in before.findings}
    left = {_subject(finding) for finding in after.findings}
    broken: list[Broken] = []
    worse: list[Broken] = []
    for finding in against(before.findings, after.findings):
        was = known.get(_subject(finding))
        blame = _blamed(finding, was, after, path, old, ratings)
        (broken if was is None else worse).append(blame)
    return RigImpact(
        after.rig.file,
        after.rig.rig.name,
        tuple(sorted(broken, key=_worst_first)),
        tuple(sorted(worse, key=_worst_first)),
        tuple(f for f in before.findings if _subject(f) not in left and _is_judged_again(f, before.rig, after.rig)),
        movements(before.rig, after.rig),
        ratings,
    )


def _is_judged_again(finding: JudgedFinding, before: SolvedRig, after: SolvedRig) -> bool:
    """Whether a finding that is not there any more could be: what was solved and is not now, is only not seen."""
    part = finding.home[1]
    if part is None or part not in before.rig.index:
        return all(after.flows.solved) or not all(before.flows.solved)
    now = after.rig.index.get(part)
    return now is None or bool(after.flows.solved[now]) or not before.flows.solved[before.rig.index[part]]


def _told_of(file: str, before: Judged) -> tuple[JudgedFinding, ...]:
    """Findings as if the rig's file had always had its name of now, so that they are known again."""
    was = before.rig.file
    if was == file:
        return before.findings
    return tuple(
        replace(
            finding,
            file=file if finding.file == was else finding.file,
            placement=finding.placement and _placed_in(file, finding.placement),
        )
        for finding in before.findings
    )


def _placed_in(file: str, placement: Placement) -> Placement:
    first, *others = placement.lines
    return Placement(file, placement.part, (first._replace(file=file), *others))


def _goods(rig: SolvedRig) -> frozenset[str]:
    """The names of all goods that a rig is made of, components too."""
    found = bill(rig.parts, rig.catalogue)
    return frozenset((*(name for name, _ in found.raw), *(name for name, _, _ in found.making)))


def _blamed(
    finding: JudgedFinding,
    was: JudgedFinding | None,
    after: Judged,
    path: Path,
    old: Catalogue,
    ratings: tuple[Rating, ...],
) -> Broken:
    """The ratings that, undone alone, take the finding away (or make it no worse than it was); else those together.

    None where it is there with all of them undone too: then something else has changed.
    """
    known = () if was is None else (was,)

    def mends(some: Sequence[Rating]) -> bool:
        found = against(known, _without(some, after, path, old))
        return all(_subject(other) != _subject(finding) for other in found)

    blame = tuple(rating for rating in ratings[:MOST_UNDONE] if mends([rating]))
    if blame or not ratings or not mends(ratings):
        return Broken(finding, was, blame)
    blame = _needed(ratings, mends)
    return Broken(finding, was, blame, len(blame) > 1)


def _needed(ratings: Sequence[Rating], mends: Callable[[Sequence[Rating]], bool]) -> tuple[Rating, ...]:
    """Of ratings that mend when all are undone those that it takes: halves are left out, then quarters, at last one."""
    kept, size, tries = list(ratings), len(ratings) // 2, 0
    while size:
        at = 0
        while at < len(kept) and tries < MOST_UNDONE:
            fewer = kept[:at] + kept[at + size :]
            tries += 1
            if fewer and mends(fewer):
                kept = fewer
            else:
                at += size
        size //= 2
    return tuple(kept)


def _without(ratings: Iterable[Rating], after: Judged, path: Path, old: Catalogue) -> Iterable[JudgedFinding]:
    """The findings by the new edition with some ratings as they were."""
    new = after.rig.catalogue
    known = reduce(lambda catalogue, rating: undone(catalogue, old, rating), ratings, new)
    loader = after.loader.with_read_catalogue(new.tree.source.path, known)
    return judged(after.resolved, loader, path, after.day).findings


def _subject(finding: JudgedFinding) -> Subject:
    return subject_of(finding, anywhere=True)


def _worst_first(broken: Broken) -> tuple[int, float]:
    return -gravity(broken.finding.level), -(value_of(broken.finding, "times_limit") or 0.0)


class Comparison(NamedTuple):
    """Two sides, the ratings that differ between catalogues that were named, and what lies between for each rig."""

    old: Side
    new: Side
    ratings: tuple[Rating, ...]
    rigs: tuple[RigImpact, ...]
    notices: tuple[str, ...] = ()
    failures: tuple[str, ...] = ()
    """What could not be compared or judged in whole, and why; the verdict is not whole then."""


def worst_first(impacts: Iterable[RigImpact]) -> list[RigImpact]:
    """Rigs that break first, the worst of them first; then those that get worse, are mended, move; then by file."""
    order = ("breaks", "worse", "mended", "moves", "same")
    return sorted(impacts, key=lambda one: (order.index(one.verdict), *_severity(one), one.file))


def _severity(one: RigImpact) -> tuple[float, float]:
    found = (*one.broken, *one.worse)
    worst = min(map(_worst_first, found), default=(1, 0.0))
    moved = max((abs((m.share.new or 0.0) - (m.share.old or 0.0)) for m in one.moves.parts), default=0.0)
    return worst[0] + worst[1] / 1e9, -moved
