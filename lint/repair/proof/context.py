"""The proof of a repair: the edited text loaded, solved and judged by every rule, and compared with what was.

While a search goes through its moves, only what an edit touches is done again: the entries it changes are read, the
lines they are on are solved and judged, rule by rule until one speaks against it. What is offered in the end is proved
once more on the whole text, by the way that every file goes.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import TypeVar

from lineshaft.check.finding import Edit, Finding
from lineshaft.check.finding_diff import BySubject
from lineshaft.check.fingerprint import subject_of
from lineshaft.check.inspection import inspect_rig
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.check.rule import Rule
from lineshaft.check.rulebook import Rulebook
from lineshaft.repair.edits.splice import OverlapError, Splice, in_line_ends_of, spliced, splices_of
from lineshaft.repair.edits.write_back import bytes_of
from lineshaft.repair.proof.edited_rig import Cut, EditedRig
from lineshaft.repair.proof.edited_tree import edited_tree, excerpt_of
from lineshaft.repair.proof.partial_rig import Layout, cut_out, layout_of, touched_lines
from lineshaft.repair.proof.served import is_served, wanted_elsewhere
from lineshaft.repair.proof.taken_readings import as_read
from lineshaft.repair.proof.uncovered import nothing_new
from lineshaft.schema.loading import Loaded, Loader, kind_of
from lineshaft.schema.model.policy import HOUSE_DEFAULTS, Policy
from lineshaft.schema.model.rig import NOTHING_PLACED
from lineshaft.schema.validation.conformity import fits
from lineshaft.solve.solved_rig import SolvedRig, solve_loaded, solve_rig

_EACH_EDITED_RIG = 25
"""What an edited rig costs beside its parts, in parts solved."""
_MOST_KEPT = 6_000
"""Parts of the edited rigs of each kind that are kept for the next who tries the same."""


_Made = tuple[EditedRig | None, int]
"""An edited rig, none where there is none, and what it cost."""
_K = TypeVar("_K")


class _Shared:
    """What edited rigs of one rig have cost so far, and what they share, once one was made."""

    __slots__ = ("_by_subject", "_known", "_layout", "near", "spent", "whole")

    def __init__(self) -> None:
        self.spent = 0
        self.near: dict[tuple[Splice, ...], _Made] = {}
        self.whole: dict[str, _Made] = {}
        self._layout: Layout | None = None
        self._known = False
        self._by_subject: BySubject[Finding] | None = None

    def layout_of(self, loaded: Loaded) -> Layout | None:
        """What they share; none where they are read whole."""
        if not self._known:
            self._layout, self._known = layout_of(loaded), True
        return self._layout

    def by_subject(self, findings: Iterable[Finding]) -> BySubject[Finding]:
        """The findings on the rig, all that edited rigs are held against."""
        if self._by_subject is None:
            self._by_subject = BySubject(findings)
        return self._by_subject


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class RepairContext:
    """A rig under repair: how it is loaded and judged (``day`` is for its waivers), and what it is like now.

    Or a blueprint, judged alone at the edge of its promises; ``users`` are the rigs and blueprints that use it.
    """

    loader: Loader
    loaded: Loaded
    rig: SolvedRig
    findings: tuple[JudgedFinding, ...]
    book: Rulebook
    policy: Policy = HOUSE_DEFAULTS
    day: date | None = None
    users: tuple["RepairContext", ...] = ()
    _shared: _Shared = field(default_factory=_Shared)

    @property
    def effort(self) -> int:
        """What edited rigs have cost so far, in parts solved; to read a part anew counts as five more."""
        return self._shared.spent

    @property
    def known(self) -> BySubject[Finding]:
        """The findings by what they are about."""
        return self._shared.by_subject(self.findings)

    def edited_rig(self, edits: Iterable[Edit]) -> EditedRig | None:
        """The rig with edits made in memory; none where they overlap, change nothing, or write into a reading or a file
        other than the rig's.

        Only what they touch is read and solved again, as far as that can be told apart.
        """
        changed = self._changed(edits)
        if changed is None:
            return None
        near = self._once(self._shared.near, changed[0], self._near_rig)
        return near or self._once(self._shared.whole, changed[1], self._whole_rig)

    def whole_edited_rig(self, edits: Iterable[Edit]) -> EditedRig | None:
        """The same with the whole edited text read, solved and judged as a file is."""
        changed = self._changed(edits)
        return None if changed is None else self._once(self._shared.whole, changed[1], self._whole_rig)

    def _once(self, kept: dict[_K, _Made], key: _K, make: Callable[[_K], _Made]) -> EditedRig | None:
        """One that is kept, or a new one; it counts for the same, so that nothing hangs on what was tried before."""
        made = kept.pop(key, None) or make(key)
        while kept and (len(kept) + 1) * len(self.rig.parts) > _MOST_KEPT:
            del kept[next(iter(kept))]
        kept[key] = made
        self._shared.spent += made[1]
        return made[0]

    def _changed(self, edits: Iterable[Edit]) -> tuple[tuple[Splice, ...], str] | None:
        """Edits as splices, and the text with them; none where they are of another file, overlap or change nothing."""
        source = self.rig.rig.tree.source
        changes = tuple(edits)
        if any(change.file != source.shown for change in changes):
            return None
        splices = splices_of(source, changes)
        try:
            text = spliced(source.text, splices)
        except OverlapError:
            return None
        return None if text == source.text else (splices, text)

    def _near_rig(self, splices: tuple[Splice, ...]) -> _Made:
        layout = self._shared.layout_of(self.loaded)
        if layout is None:
            return None, 0
        tree = edited_tree(self.rig.rig.tree, layout.sections, splices, self.loader.bounds)
        if tree is None or not fits("rig", excerpt_of(tree)):
            return None, 0
        rig, components = self.rig.rig, layout.components
        keep = touched_lines(rig, components, tree)
        piece = cut_out(rig, components, tree, layout.fitting, keep)
        if piece is None:
            return None, 0
        near = solve_rig(piece, self.rig.file, self.rig.policy)
        was = tuple(sorted(number for line in keep for number in components.parts[line]))
        edited_rig = EditedRig(tree.source.text, self.book, near, Cut(self.rig, tree, was), self.day)
        return edited_rig, _EACH_EDITED_RIG + len(near.parts)

    def _whole_rig(self, text: str) -> _Made:
        path = self.loaded.path
        loaded = _read(_laid_over(self.loader, path, bytes_of(self.rig.rig.tree.source, text)), path)
        rig = _solved(loaded, self.policy)
        is_read = as_read(self.loaded.tree, loaded.tree)
        edited_rig = EditedRig(text, self.book, rig, rig, self.day) if is_read else None
        return edited_rig, _EACH_EDITED_RIG + 6 * len(rig.parts)

    def with_text(self, text: str) -> "RepairContext":
        """The context with another text in place of the file's, read, solved and judged in whole."""
        return self._with_text(self.loaded.path, bytes_of(self.rig.rig.tree.source, self.line_ends(text)), ())

    def line_ends(self, text: str) -> str:
        """New text with the line ends of the rig's file."""
        return in_line_ends_of(self.rig.rig.tree.source, text)

    def after(self, edited_rig: EditedRig) -> "RepairContext":
        """The context with an edited rig's text in place of the file's, for the next repair on top of it."""
        path = self.loaded.path
        users = tuple(self.users_after(edited_rig))
        return self._with_text(path, bytes_of(self.rig.rig.tree.source, edited_rig.text), users)

    def users_after(self, edited_rig: EditedRig) -> Iterator["RepairContext"]:
        """Each of the users with an edited rig's text in place of the file's, solved and judged in whole."""
        for user in self.users:
            self._shared.spent += _EACH_EDITED_RIG + 6 * len(user.rig.parts)
            yield user._with_text(self.loaded.path, bytes_of(self.rig.rig.tree.source, edited_rig.text), ())

    def _with_text(self, path: Path, text: bytes, users: tuple["RepairContext", ...]) -> "RepairContext":
        loader = _laid_over(self.loader, path, text)
        return open_repair_context(loader, _read(loader, self.loaded.path), self.book, self.policy, self.day, users)


def _laid_over(loader: Loader, path: Path, text: bytes) -> Loader:
    return loader.with_repository(loader.repository.with_texts({path: text}))


def _read(loader: Loader, path: Path) -> Loaded:
    return loader.blueprint_alone(path) if kind_of(path) == "blueprint" else loader.rig(path)


def _solved(loaded: Loaded, policy: Policy) -> SolvedRig:
    """A rig solved; a blueprint at the edge of its promises."""
    if kind_of(loaded.path) != "blueprint":
        return solve_loaded(loaded, policy)
    from lineshaft.solve.promise_edge import solve_at_edge

    return solve_at_edge(loaded, policy)


def open_repair_context(
    loader: Loader,
    loaded: Loaded,
    book: Rulebook,
    policy: Policy = HOUSE_DEFAULTS,
    day: date | None = None,
    users: tuple[RepairContext, ...] = (),
) -> RepairContext:
    """A context for a loaded rig, or for a blueprint that was loaded alone."""
    rig = _solved(loaded, policy)
    return RepairContext(loader, loaded, rig, inspect_rig(rig, book, day), book, policy, day, users)


def mends(context: RepairContext, finding: Finding, edited_rig: EditedRig, *, only_name: bool = False) -> bool:
    """Whether an edited rig is rid of ``finding`` and of what that is about, and has no finding that is new or worse.

    Its own rule is asked first, then the others, until one speaks against it. With ``only_name`` a misspelt name was
    put right, and what that name had hidden is not new.
    """
    if context.rig.rig.placed is not NOTHING_PLACED:
        # Which use of a blueprint a finding in its file is about, only a look at the whole rig tells.
        about = subject_of(finding, anywhere=True)
        return not edited_rig.about(about) and no_worse(context, edited_rig, finding if only_name else None)
    if is_left_in(context, finding, edited_rig):
        return False
    after = _one_by_one(context.book, edited_rig)
    if not nothing_new(context.rig, context.known, after, finding if only_name else None):
        return False
    wanted = wanted_elsewhere(context.book.rule(finding.rule), context.rig, finding)
    return not wanted or is_served(wanted, edited_rig.rig)


def is_left_in(context: RepairContext, finding: Finding, edited_rig: EditedRig) -> bool:
    """Whether a finding is still there in an edited rig.

    Its own rule is asked; all of them where blueprints stand, and for one that comes after all, as on waivers.
    """
    own = context.book.rule(finding.rule)
    if own is None or own.review is not None or context.rig.rig.placed is not NOTHING_PLACED:
        return is_left(context, finding, edited_rig.about(subject_of(finding, anywhere=True)))
    return is_left(context, finding, edited_rig.told(own, _judged_by(own, context, finding, edited_rig)))


def is_left(context: RepairContext, finding: Finding, after: Iterable[Finding]) -> bool:
    """Whether a finding is still there, itself or as one of as many about the same part as before."""
    about = subject_of(finding, anywhere=True)
    alike = len(context.known.about(about))
    for found in after:
        if subject_of(found, anywhere=True) == about:
            alike -= 1
            if alike == 0 or subject_of(found) == subject_of(finding):
                return True
    return False


def _judged_by(rule: Rule, context: RepairContext, finding: Finding, edited_rig: EditedRig) -> SolvedRig:
    """The rig that tells whether a finding is left: where the edits do not touch its part at all, only the whole."""
    near, number = edited_rig.near, context.rig.rig.index.get(finding.part or "")
    touched = finding.part in near.rig.index or (edited_rig.was is not None and number in edited_rig.was)
    return near if rule.local and touched else edited_rig.rig


def _one_by_one(book: Rulebook, edited_rig: EditedRig) -> Iterator[Finding]:
    """The findings of all rules, those that look at the touched lines first."""
    for rule in sorted(book.rules, key=lambda rule: not rule.local):
        yield from edited_rig.told(rule, edited_rig.near if rule.local else edited_rig.rig)


def no_worse(context: RepairContext, edited_rig: EditedRig, misspelt: Finding | None = None) -> bool:
    """Whether no finding of an edited rig is new, or worse than before; nor one of what uses an edited blueprint.

    ``misspelt`` is the finding on a name that was put right: what it had hidden is not new.
    """
    if not nothing_new(context.rig, context.known, edited_rig.findings, misspelt):
        return False
    pairs = zip(context.users, context.users_after(edited_rig), strict=True)
    return all(nothing_new(user.rig, user.known, after.findings, misspelt) for user, after in pairs)
