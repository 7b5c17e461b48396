"""Files judged again and again while somebody writes them, with unsaved texts in place of the disk's.

The verdict on a file is the one that a check of the same bytes gives. What was read of catalogues, blueprints and
policies is kept from one verdict to the next, for as long as their texts and all that the disk was asked stay the same.
"""

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from lineshaft.check.checker import Checker, FileContext, today
from lineshaft.check.finding import Edit
from lineshaft.check.inspection import Inspected, inspected
from lineshaft.check.judged_finding import JudgedFinding, RepairedFinding, repaired
from lineshaft.check.resolved_policy import BadPolicyError, ResolvedPolicy
from lineshaft.check.rulebook import open_rulebook
from lineshaft.schema.loading import FileKind, kind_of
from lineshaft.schema.text.dependencies import DependencyRecorder, Query, digest
from lineshaft.schema.text.repository import Repository
from lineshaft.schema.text.tree import Tree

if TYPE_CHECKING:  # only where repairs are asked for
    from lineshaft.repair.proof.context import RepairContext


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
            return self._judged(checker, path, kind, texts.get(path))
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
        return Checker(self.working, self._book, day=day, recorder=self._recorder, texts=texts)

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


def repair_context(judgement: Judgement) -> "RepairContext | None":
    """A judged rig ready to be changed in memory; none of other kinds, and where nothing could be solved."""
    from lineshaft.repair.proof.context import RepairContext

    found, resolved = judgement.inspected, judgement.resolved
    if judgement.kind != "rig" or found is None or resolved is None or not found.rig.parts:
        return None
    policy, _, loader, book = resolved
    return RepairContext(loader, found.loaded, found.rig, found.findings, book, policy, judgement.day)


def repairs_of(judgement: Judgement, finding: JudgedFinding, most: int) -> RepairedFinding:
    """A finding on a rig with at most so many repairs, each proved on the whole text; or with the reason for none."""
    from lineshaft.repair.plan.fix_budget import EFFORT_OF_CHECK, offers

    context = repair_context(judgement)
    if context is None:
        return repaired(finding)
    made = offers(context, [finding], EFFORT_OF_CHECK, most)[0]
    return repaired(finding, made.repairs, made.no_repair)


def with_settings_mended(judgement: Judgement) -> str | None:
    """A rig's text with all repairs made that hold together and change settings and misspelt names only.

    None where there is no such repair.
    """
    from lineshaft.repair.plan.fix_all import fix_all
    from lineshaft.repair.plan.fix_budget import offers

    context = repair_context(judgement)
    if context is None:
        return None
    wanted = [finding for finding in context.findings if not finding.passes]
    fixed = fix_all(context, offers(context, wanted, up_to="setting"), "setting")
    return fixed.context.rig.rig.tree.source.text if fixed.applied else None


def safe_start_up(judgement: Judgement) -> Edit | None:
    """The edit that puts a safe commissioning list into a rig, proved: nothing that is found with it is new or worse.

    None where no order is safe, and where the file has such a list already.
    """
    from lineshaft.repair.edits.commissioning_block import block_splice
    from lineshaft.repair.proof.context import no_worse
    from lineshaft.schema.text.span import Span
    from lineshaft.solve.safe_list import Impassable, safe_list

    context = repair_context(judgement)
    proposed = None if context is None else safe_list(context.rig.train, context.rig.flows)
    if context is None or proposed is None or isinstance(proposed, Impassable):
        return None
    tree = context.rig.rig.tree
    splice = block_splice(tree, proposed.steps, context.rig.parts)
    span: Span = tree.source.span(splice.start, splice.end)
    edit = Edit(context.rig.file, span, splice.text)
    edited = context.whole_edited_rig((edit,))
    return edit if edited is not None and no_worse(context, edited) else None
