"""Files judged again and again while somebody writes them, with unsaved texts in place of the disk's.

The verdict on a file is the one that a check of the same bytes gives. What was read of catalogues, blueprints and
policies is kept from one verdict to the next, for as long as their texts and all that the disk was asked stay the same.
"""

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from lineshaft.check.checker import Checker, FileContext, today
from lineshaft.check.inspection import Inspected, inspected
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.check.resolved_policy import BadPolicyError, ResolvedPolicy
from lineshaft.check.rulebook import open_rulebook
from lineshaft.schema.loading import FileKind, kind_of
from lineshaft.schema.text.dependencies import DependencyRecorder, Query, digest
from lineshaft.schema.text.recent_readings import RecentReadings
from lineshaft.schema.text.repository import Repository
from lineshaft.schema.text.tree import Tree

if TYPE_CHECKING:
    from lineshaft.schema.loading import RecentTrees


class Judgement(NamedTuple):
    """The verdict on one file: how it is shown, what was found, and the rig (or blueprint alone) that it is about.

    ``inspected`` is none of other kinds, where a policy cannot be used or leaves the file out, and where the program
    failed; ``resolved`` is none where no policy can be used. ``tree`` is what was read of a catalogue; ``day`` is that
    of the waivers.
    """

    path: Path
    kind: FileKind
    file: str
    findings: tuple[JudgedFinding, ...]
    resolved: ResolvedPolicy | None = None
    inspected: Inspected | None = None
    tree: Tree | None = None
    left_out: bool = False
    day: date | None = None


class OpenFiles:
    """Judges files as somebody writes them; one at a time, and on one thread.

    ``working`` is the folder that files are shown from.
    """

    def __init__(self, working: Path) -> None:
        self.working = working
        self._book = open_rulebook()
        self._contexts: dict[Path, FileContext] = {}
        self._asked: dict[tuple[Path, Query], str] = {}
        self._recorder = DependencyRecorder()
        self._texts: dict[Path, bytes] = {}
        self._keep = True
        self._trees: RecentTrees = RecentReadings()
        self._checker = self._fresh({}, today())

    def judge(self, path: Path, texts: Mapping[Path, bytes], day: date | None = None) -> Judgement:
        """The verdict on the file at ``path``, with ``texts`` in place of what the disk has at their paths.

        Raises ValueError where the path is not named like a file that is judged.
        """
        kind = kind_of(path)
        if kind is None:
            raise ValueError(f"{path.name!r} is not named like a file that is judged, *.rig.yaml for instance")
        checker = self._checker_for(path, texts, day or today())
        try:
            found = self._judged(checker, path, kind, texts.get(path))
            # Others go on with it beside the next verdict.
            apart = None if found.resolved is None else found.resolved._replace(loader=found.resolved.loader.apart())
            return found._replace(resolved=apart)
        except BadPolicyError as error:
            self._keep = False
            return Judgement(path, kind, self._shown(path), checker.policy_report(error).findings)
        except Exception as error:
            self._keep = False
            failed = checker.failed(checker.job(path, kind), "this file could not be judged", error)
            return Judgement(path, kind, self._shown(path), failed.report.findings)

    def _judged(self, checker: Checker, path: Path, kind: FileKind, text: bytes | None) -> Judgement:
        self._recorder.start()
        resolved = checker.resolved(path)
        self._note(checker, path)
        shown = resolved.loader.repository.shown(path)
        if resolved.excludes(path):
            return Judgement(path, kind, shown, (), resolved, left_out=True)
        self._recorder.start()
        try:
            if kind == "rig" or kind == "blueprint":
                if kind == "rig" and text is not None:
                    resolved = resolved._replace(loader=resolved.loader.with_text_of(path, text))
                policy, _, loader, book = resolved
                found = inspected(loader, path, kind, policy, book, checker.day)
                return Judgement(path, kind, shown, found.findings, resolved, found, day=checker.day)
            findings = checker.report(path, kind).findings
            tree = resolved.loader.tree(path, kind)
            return Judgement(path, kind, shown, findings, resolved, tree=tree if isinstance(tree, Tree) else None)
        finally:
            self._note(checker, path)

    def _note(self, checker: Checker, path: Path) -> None:
        """Keep what the disk was asked since the recorder was started."""
        root = checker.file_context(path).root
        self._asked.update({(root, query): found for query, found in self._recorder.dependencies()})

    def _shown(self, path: Path) -> str:
        return Repository(path.parent, self.working).shown(path)

    def _checker_for(self, path: Path, texts: Mapping[Path, bytes], day: date) -> Checker:
        """The checker there is, where all that it has read still holds; else a fresh one."""
        shared = {place: text for place, text in texts.items() if kind_of(place) != "rig"}
        if not self._keep or shared != self._texts or day != self._checker.day or not self._holds(path):
            self._checker = self._fresh(shared, day)
            self._contexts[path.parent] = self._checker.file_context(path)
        return self._checker

    def _fresh(self, texts: dict[Path, bytes], day: date) -> Checker:
        self._texts, self._asked, self._contexts = texts, {}, {}
        self._recorder, self._keep = DependencyRecorder(), True
        return Checker(self.working, self._book, day=day, recorder=self._recorder, texts=texts, trees=self._trees)

    def _holds(self, path: Path) -> bool:
        """Whether the disk answers as it did, and the folder has the root and policy that it had."""
        now = Checker(self.working, self._book).file_context(path)
        if self._contexts.setdefault(path.parent, now) != now:
            return False
        repositories = {root: Repository(root, self.working) for root, _ in self._asked}
        return all(
            digest(repositories[root].answer(query)) == known
            for (root, query), known in self._asked.items()
            if kind_of(Path(query.at)) != "rig"  # a rig is read each time
        )
