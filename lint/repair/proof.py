"""The proof of a repair: the edited text loaded, solved and judged by every rule, and compared with what was."""

from collections.abc import Iterable
from dataclasses import dataclass

from lineshaft.judge.finding import Edit, Finding, value_of
from lineshaft.judge.inspection import inspect_rig
from lineshaft.judge.rulebook import Rulebook
from lineshaft.repair.splice import OverlapError, spliced, splices_of
from lineshaft.repair.write_back import bytes_of
from lineshaft.schema.loading import Loaded, Loader
from lineshaft.schema.policy import HOUSE_DEFAULTS, Policy
from lineshaft.solve.limits import EQUAL
from lineshaft.solve.solved_rig import SolvedRig, solve_loaded

_WORSE_WHEN_MORE = ("times_limit", "times_needed")
_WORSE_WHEN_LESS = ("margin", "torque", "speed", "power", "runs_dry_after")
_OF_THE_BUILD_AS_IT_STANDS = "reading-disagrees"
"""A repair changes the build, so readings taken before it say nothing against it."""


@dataclass(frozen=True, slots=True)
class Trial:
    """An edited rig: its text, the solved rig and all findings on it."""

    text: str
    rig: SolvedRig
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Workshop:
    """A rig under repair: how it is loaded and judged, and what it is like now."""

    loader: Loader
    loaded: Loaded
    rig: SolvedRig
    findings: tuple[Finding, ...]
    book: Rulebook
    policy: Policy = HOUSE_DEFAULTS

    def trial(self, edits: Iterable[Edit]) -> Trial | None:
        """The rig with edits made in memory; none where they overlap, change nothing or reach into another file."""
        source = self.rig.rig.tree.source
        changes = tuple(edits)
        if any(change.file != source.shown for change in changes):
            return None
        try:
            text = spliced(source.text, splices_of(source, changes))
        except OverlapError:
            return None
        if text == source.text:
            return None
        path = self.loaded.path
        repository = self.loader.repository.with_texts({path: bytes_of(source, text)})
        rig = solve_loaded(self.loader.with_repository(repository).rig(path), self.policy)
        return Trial(text, rig, inspect_rig(rig, self.book))

    def after(self, trial: Trial) -> "Workshop":
        """The workshop with a trial's text in place of the file's, for the next repair on top of it."""
        source = self.rig.rig.tree.source
        repository = self.loader.repository.with_texts({self.loaded.path: bytes_of(source, trial.text)})
        loader = self.loader.with_repository(repository)
        loaded = loader.rig(self.loaded.path)
        return Workshop(loader, loaded, trial.rig, trial.findings, self.book, self.policy)


def open_workshop(
    loader: Loader, loaded: Loaded, book: Rulebook, policy: Policy = HOUSE_DEFAULTS
) -> Workshop:
    """A workshop for a loaded rig."""
    rig = solve_loaded(loaded, policy)
    return Workshop(loader, loaded, rig, inspect_rig(rig, book), book, policy)


def mends(workshop: Workshop, finding: Finding, trial: Trial) -> bool:
    """Whether a trial is rid of ``finding`` and has no finding that is new or worse."""
    return all(_same(f) != _same(finding) for f in trial.findings) and no_worse(workshop.findings, trial)


def no_worse(before: Iterable[Finding], trial: Trial) -> bool:
    """Whether no finding of a trial is new, or worse than before."""
    known = {_same(finding): finding for finding in before}
    for finding in trial.findings:
        if finding.rule == _OF_THE_BUILD_AS_IT_STANDS:
            continue
        was = known.get(_same(finding))
        if was is None or _worse(was, finding):
            return False
    return True


def _same(finding: Finding) -> tuple[str, str, str]:
    return finding.rule, finding.file, finding.part or "/".join(str(s) for s in finding.route if isinstance(s, str))


def _worse(was: Finding, now: Finding) -> bool:
    ranks = ("note", "warning", "error")
    if ranks.index(now.level) > ranks.index(was.level):
        return True
    for names, sign in ((_WORSE_WHEN_MORE, 1), (_WORSE_WHEN_LESS, -1)):
        for name in names:
            old, new = value_of(was, name), value_of(now, name)
            if old is not None and new is not None and sign * (new - old) > EQUAL * abs(old):
                return True
    return False
