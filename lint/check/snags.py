"""Findings against a snag list: which of them are recorded, which are new or worse, and which snags got better or went.

A snag covers one finding at most: of its rule, about its part and setting, in its file, no worse than recorded. What
stands in a blueprint is recorded for each use, in the file that places it and by the part's name there. Where
the file is gone, a file that is not in the list stands for it if the rig has the same name and some of the same
findings.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Literal, NamedTuple

from lineshaft.check.finding import Text, times
from lineshaft.check.fingerprint import subject_of
from lineshaft.check.judged_finding import JudgedFinding, RepairedFinding, Snagged
from lineshaft.check.severity_measure import SeverityMeasure, better, rank, severity_measure, worse
from lineshaft.schema.model.rig import UNWAIVABLE
from lineshaft.schema.read.snags import Snag

Outcome = Literal["kept", "better", "worse", "gone", "unseen"]
_Subject = tuple[str, str | None, str]


class JudgedFile(NamedTuple):
    """What was found in one file; ``settled`` where all of it could be judged, so that what is not found is gone."""

    path: Path
    name: str
    settled: bool
    findings: tuple[RepairedFinding, ...]


class Entry(NamedTuple):
    """A snag and what became of it, where it is now, and how bad."""

    snag: Snag
    outcome: Outcome
    file: Path
    now: SeverityMeasure | None = None


class Comparison(NamedTuple):
    """Each snag's entry, in order; and the findings that are recorded, or worse than that, as they are to be shown."""

    entries: tuple[Entry, ...]
    shown: Mapping[RepairedFinding, RepairedFinding]


def _subject(finding: JudgedFinding) -> _Subject:
    """What a finding is about within the file that was judged."""
    return subject_of(finding)[1:]


def may_be_snag(finding: JudgedFinding) -> bool:
    """Whether a finding can be recorded: neither waived nor one that stands in the way of judging at all."""
    return finding.waived is None and finding.rule not in UNWAIVABLE


def compare(
    snags: Sequence[Snag], files: Iterable[JudgedFile], there: Callable[[Path], bool]
) -> Comparison:
    """A snag list against what was found; ``there`` says of a file that was not judged whether it exists."""
    judged = {file.path: file for file in files}
    listed: dict[Path, list[Snag]] = {}
    for snag in snags:
        listed.setdefault(snag.file, []).append(snag)
    moved = _moved(listed, judged, there)
    shown: dict[RepairedFinding, RepairedFinding] = {}
    entries: dict[int, Entry] = {}
    for path, its in listed.items():
        file = judged.get(moved.get(path, path))
        if file is None:
            outcome: Outcome = "unseen" if there(path) else "gone"
            entries.update((id(snag), Entry(snag, outcome, path)) for snag in its)
        else:
            entries.update((id(entry.snag), entry) for entry in _in_file(its, file, shown))
    return Comparison(tuple(entries[id(snag)] for snag in snags), shown)


def _in_file(snags: Iterable[Snag], file: JudgedFile, shown: dict[RepairedFinding, RepairedFinding]) -> Iterator[Entry]:
    """The entries of one file's snags; what its findings are to be shown as is added to ``shown``."""
    found: dict[_Subject, list[RepairedFinding]] = {}
    for finding in file.findings:
        if may_be_snag(finding):
            found.setdefault(_subject(finding), []).append(finding)
    recorded: dict[_Subject, list[Snag]] = {}
    for snag in snags:
        recorded.setdefault((snag.rule, snag.part, snag.at), []).append(snag)
    for subject, its in recorded.items():
        yield from _alike(its, found.get(subject, []), file, shown)


def _alike(
    snags: list[Snag], findings: list[RepairedFinding], file: JudgedFile, shown: dict[RepairedFinding, RepairedFinding]
) -> Iterator[Entry]:
    """Snags and findings of one subject: the least bad finding takes the least bad snag that covers it, and so on."""
    left = sorted(snags, key=_rank_of)
    beyond = []
    for finding in sorted(findings, key=lambda finding: rank(severity_measure(finding))):
        now = severity_measure(finding)
        snag = next((snag for snag in left if not worse(now, snag.of, snag.value)), None)
        if snag is None:
            beyond.append(finding)
            continue
        _take(left, snag)
        shown[finding] = replace(finding, snag=Snagged(snag.of, snag.value))
        yield Entry(snag, "better" if better(now, snag.of, snag.value) else "kept", file.path, now)
    for finding, snag in zip(beyond, tuple(left), strict=False):
        _take(left, snag)
        shown[finding] = replace(finding, message=(*finding.message, *_was(snag)))
        yield Entry(snag, "worse", file.path, severity_measure(finding))
    yield from (Entry(snag, "gone" if file.settled else "unseen", file.path) for snag in left)


def _take(snags: list[Snag], snag: Snag) -> None:
    """Take out that very snag: another may read the same."""
    del snags[next(at for at, other in enumerate(snags) if other is snag)]


def _rank_of(snag: Snag) -> float:
    return rank(None if snag.of is None or snag.value is None else SeverityMeasure(snag.of, snag.value))


def _was(snag: Snag) -> Text:
    if snag.of is None or snag.value is None:
        return ("; worse than the snag that was recorded",)
    return (f"; worse than the snag that was recorded with {snag.of.replace('_', ' ')[:40]} of ", times(snag.value))


def _moved(
    listed: Mapping[Path, list[Snag]], judged: Mapping[Path, JudgedFile], there: Callable[[Path], bool]
) -> dict[Path, Path]:
    """For files that are not there any more the files that stand for them now, each for one at most."""
    lost = [path for path in listed if path not in judged and not there(path)]
    new: dict[str, list[tuple[Path, Counter[_Subject]]]] = {}
    for path, file in judged.items():
        if lost and path not in listed and file.findings:
            new.setdefault(file.name, []).append((path, Counter(map(_subject, file.findings))))
    pairs = []
    for path in lost:
        wanted = Counter((snag.rule, snag.part, snag.at) for snag in listed[path])
        name = listed[path][0].rig
        # A name tells rigs apart; where there is none, most of what was found has to be the same.
        least = 1 if name else wanted.total() // 2 + 1
        for candidate, found in new.get(name, ()):
            alike = (wanted & found).total()
            if alike >= least:
                pairs.append((-alike, path, candidate))
    moved: dict[Path, Path] = {}
    taken: set[Path] = set()
    for _, old, now in sorted(pairs):
        if old not in moved and now not in taken:
            moved[old] = now
            taken.add(now)
    return moved
