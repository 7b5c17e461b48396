"""An edited rig as a proof looks at it: the lines that the edits touch at once, the whole where that is asked for."""

from collections.abc import Iterable, Iterator
from datetime import date
from typing import NamedTuple

from lineshaft.check.finding import Finding
from lineshaft.check.finding_diff import BySubject
from lineshaft.check.fingerprint import Subject
from lineshaft.check.inspection import inspect_rig, stream_of
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.check.rule import Rule
from lineshaft.check.rulebook import Rulebook
from lineshaft.repair.proof.edited_tree import EditedTree
from lineshaft.repair.proof.rejoined_rig import rejoined
from lineshaft.solve.solved_rig import SolvedRig


class EditedRig:
    """An edited rig: its text, and, worked out when asked for, the solved rig and all findings on it.

    ``near`` is the solved rig cut down to the lines that the edits touch; the whole one where it was read whole.
    ``was`` are the numbers of the parts on these lines before; none where they are all.
    """

    __slots__ = ("_book", "_by_subject", "_day", "_findings", "_joined", "_told", "_whole", "near", "text", "was")

    def __init__(
        self, text: str, book: Rulebook, near: SolvedRig, whole: "SolvedRig | Cut", day: date | None = None
    ) -> None:
        self.text, self.near = text, near
        self.was = whole.was if isinstance(whole, Cut) else None
        self._book, self._day, self._whole = book, day, whole
        self._joined: SolvedRig | None = None
        self._findings: tuple[JudgedFinding, ...] | None = None
        self._by_subject: BySubject[JudgedFinding] | None = None
        self._told: dict[tuple[str, bool], _Told] = {}

    @property
    def rig(self) -> SolvedRig:
        """The whole rig, solved; where it was not read whole, what the edits do not touch stands where it was."""
        if self._joined is None:
            self._joined = self._rejoined(places=False)
        return self._joined

    def _rejoined(self, *, places: bool) -> SolvedRig:
        whole = self._whole
        return rejoined(whole.rig, self.near, whole.tree, places=places) if isinstance(whole, Cut) else whole

    @property
    def findings(self) -> tuple[JudgedFinding, ...]:
        """Every finding on the whole rig, as a check of the edited file would give them."""
        if self._findings is None:
            rig = self._rejoined(places=True)
            self._findings = inspect_rig(rig, self._book, self._day, self.told if rig is self.near else None)
        return self._findings

    def told(self, rule: Rule, rig: SolvedRig) -> Iterable[Finding]:
        """What a rule finds on the whole rig, or on that near; it is asked once, and as far as somebody looks."""
        key = rule.id, rig is self.near
        found = self._told.get(key)
        if found is None:
            found = self._told[key] = _Told(stream_of(rule, rig))
        return found

    def about(self, subject: Subject) -> tuple[JudgedFinding, ...]:
        """Those of the findings that are about a subject."""
        if self._by_subject is None:
            self._by_subject = BySubject(self.findings)
        return self._by_subject.about(subject)


class _Told:
    """Findings that are made as they are asked for, and kept for who asks again."""

    __slots__ = ("_found", "_onward")

    def __init__(self, onward: Iterator[Finding]) -> None:
        self._found: list[Finding] = []
        self._onward = onward

    def __iter__(self) -> Iterator[Finding]:
        at = 0
        while True:
            if at == len(self._found):
                finding = next(self._onward, None)
                if finding is None:
                    return
                self._found.append(finding)
            yield self._found[at]
            at += 1


class Cut(NamedTuple):
    """What the whole of an edited rig is joined from, beside the lines touched: the rig before, and the edited tree."""

    rig: SolvedRig
    tree: EditedTree
    was: tuple[int, ...]
