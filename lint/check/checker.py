"""One file to its report: load, solve, run the rules. The same for every way in which files are spread over workers.

Where the program itself fails on a file, that file's report says so, and the run goes on with the others.
"""

import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from lineshaft.check.inspection import includes_of, inspect_rig, inspected
from lineshaft.check.resolved_policy import BadPolicyError, ResolvedPolicy, resolved_policy_of, two_policies
from lineshaft.check.rulebook import Rulebook
from lineshaft.exits import CannotDoError
from lineshaft.schema.loading import FileKind, Loaded, Loader
from lineshaft.schema.model.policy import Policy
from lineshaft.schema.read.policy_reader import nearest_policies
from lineshaft.schema.text.dependencies import Answers, Dependencies, DependencyRecorder, Query, UnansweredError
from lineshaft.schema.text.repository import MAX_BYTES, Repository, root_of
from lineshaft.schema.text.yaml_pass import Bounds
from lineshaft.solve.solved_rig import SolvedRig, solve_loaded
from lineshaft.write.summary import FileReport

if TYPE_CHECKING:  # a clean file has none
    from lineshaft.check.broken_rule import BrokenRule
    from lineshaft.check.judged_finding import JudgedFinding, RepairedFinding
    from lineshaft.check.kept_inspections import Kept
    from lineshaft.schema.loading import RecentTrees
    from lineshaft.schema.text.fault import Fault


def today() -> date:
    """The day it is, in UTC, so that a waiver ends everywhere at once."""
    return datetime.now(UTC).date()


class FileContext(NamedTuple):
    """Where a file stands: the root that no include leaves, and the policy that holds there, perhaps a named one."""

    root: Path
    policy: Path | None
    named: bool = False
    rival: Path | None = None  # a second policy in the same folder: then neither holds

    def repository(self, checker: "Checker") -> Repository:
        """The files of this root on the disk, as a checker reads them."""
        return Repository(self.root, checker.working, checker.max_bytes, named=self.policy if self.named else None)


class Job(NamedTuple):
    """One file to judge."""

    path: Path
    kind: FileKind
    file_context: FileContext


class Judged(NamedTuple):
    """A file's report, what its verdict hangs on where that is noted, and the tracebacks of errors of the program."""

    report: FileReport
    dependencies: Dependencies = ()
    traces: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Checker:
    """What judging needs beside the file: working folder, bounds, rules, a named policy, the day.

    With ``repairs`` each finding on a rig brings the best that were proved, looked for in ``effort`` steps a file where
    many are judged. ``recorder`` notes what each verdict hangs on; ``answers`` stand in place of the disk, ``texts`` in
    place of some of its files; ``trees`` are those of texts that are judged again and again. What is judged without
    repairs is ``kept`` for who looks for them next.
    """

    working: Path
    book: Rulebook
    max_bytes: int = MAX_BYTES
    bounds: Bounds = field(default_factory=Bounds)
    policy_file: Path | None = None
    day: date = field(default_factory=today)
    repairs: bool = False
    effort: int | None = None
    recorder: DependencyRecorder | None = None
    answers: Answers | None = None
    texts: Mapping[Path, bytes] = field(default_factory=dict)
    trees: "RecentTrees | None" = None
    kept: "dict[Path, Kept] | None" = None
    _file_contexts: dict[Path, FileContext] = field(default_factory=dict)
    _resolved_policies: dict[FileContext, ResolvedPolicy] = field(default_factory=dict)
    _bad_policies: dict[FileContext, BadPolicyError] = field(default_factory=dict)
    _policy_dependencies: dict[FileContext, Dependencies] = field(default_factory=dict)

    def settings(self) -> dict[str, Any]:
        """The fields that another checker needs to judge alike; its rules it has to open itself."""
        own = ("book", "recorder", "answers", "texts", "trees", "kept")
        return {f.name: getattr(self, f.name) for f in fields(self) if f.name[0] != "_" and f.name not in own}

    def file_context(self, path: Path) -> FileContext:
        """Where a file stands: its root, and the nearest policy above it or the one that was named."""
        folder = path.parent
        found = self._file_contexts.get(folder)
        if found is None:
            root = root_of(folder)
            if not (root / ".git").exists():
                root = self.working if folder.is_relative_to(self.working) else folder
            policies = nearest_policies(folder, root) if self.policy_file is None else (self.policy_file,)
            policy, rival = (*policies, None, None)[:2]
            found = self._file_contexts[folder] = FileContext(root, policy, self.policy_file is not None, rival)
        return found

    def resolved(self, path: Path) -> ResolvedPolicy:
        """The policy that holds for a file. Raises BadPolicyError where its policy cannot be used."""
        file_context = self.file_context(path)
        if file_context in self._bad_policies:
            raise self._bad_policies[file_context]
        found = self._resolved_policies.get(file_context)
        if found is None:
            if self.recorder is not None:
                self.recorder.start()
            recorded = replace(file_context.repository(self), recorder=self.recorder, answers=self.answers)
            loader = Loader(recorded.with_texts(self.texts), self.bounds, trees=self.trees)
            try:
                if file_context.policy is not None and file_context.rival is not None:
                    raise two_policies(loader, file_context.policy, file_context.rival)
                found = resolved_policy_of(loader, file_context.policy, self.book)
            except BadPolicyError as error:
                self._bad_policies[file_context] = error
                raise
            self._resolved_policies[file_context] = found
            if self.recorder is not None:
                self._policy_dependencies[file_context] = self.recorder.dependencies()
        return found

    def plain_loader(self, path: Path) -> Loader:
        """A loader for a file that no policy bears upon, such as a snag list."""
        return Loader(self.file_context(path).repository(self).with_texts(self.texts), self.bounds)

    def policy_report(self, error: BadPolicyError) -> FileReport:
        """What is wrong with a policy that cannot be used, as the report of its file."""
        shown = Repository(error.file.parent, self.working).shown(error.file)
        loaded = Loaded(error.file, shown, None, error.faults, 0, False)
        return FileReport(shown, "", 0, 0, self.findings(solve_loaded(loaded)))

    def broken_rules(self) -> "list[BrokenRule]":
        """What should have judged and cannot run, by the policies of all files so far; without files, by none."""
        books = [resolved.book for resolved in self._resolved_policies.values()] or [self.book]
        return sorted({broken for book in books for broken in book.broken})

    def files_of(self, reports: Iterable[FileReport]) -> frozenset[Path]:
        """The files that sheets hang on: their own, what these place and draw on, and the policies that held."""
        names = (name for report in reports for name in (report.file, *report.includes))
        files = {Path(os.path.normpath(self.working / name)) for name in names}
        return frozenset(files | {place.policy for place in self._file_contexts.values() if place.policy is not None})

    def job(self, path: Path, kind: FileKind) -> Job:
        """The job of judging a file."""
        return Job(path, kind, self.file_context(path))

    def judged(self, job: Job) -> Judged:
        """The report of one file, with its dependencies where that is noted; its place is taken from the job.

        An error of the program is told on it. Raises CannotDoError where the policy cannot be used, and
        UnansweredError where there is no answer for something that is read.
        """
        self._file_contexts[job.path.parent] = job.file_context
        traces: list[str] = []
        try:
            self.resolved(job.path)
            if self.recorder is None:
                return Judged(self._report(job.path, job.kind, traces), (), tuple(traces))
            self.recorder.start()
            for query, _ in self._policy_dependencies[job.file_context]:
                self.recorder.again(query)
            report = self._report(job.path, job.kind, traces)
            return Judged(report, self.recorder.dependencies(), tuple(traces))
        except (CannotDoError, UnansweredError):
            raise
        except Exception as error:
            return self.failed(job, "this file could not be judged", error)

    def failed(self, job: Job, what: str, error: BaseException | None = None) -> Judged:
        """What is told of a file that the program failed on."""
        from lineshaft.check.failures import internal_error

        shown = Repository(job.file_context.root, self.working).shown(job.path)
        traces = () if error is None else (trace_of(error),)
        return Judged(FileReport(shown, "", 0, 0, (internal_error(shown, what, error),), (), job.kind), (), traces)

    def loader(self, path: Path) -> Loader:
        """The loader of the policy that holds for a file."""
        return self.resolved(path).loader

    def solved(self, path: Path, policy: Policy | None = None) -> SolvedRig:
        """The solved rig at a path, with its faults, under its policy or another."""
        resolved = self.resolved(path)
        return solve_loaded(resolved.loader.rig(path), resolved.policy if policy is None else policy)

    def report(self, path: Path, kind: FileKind) -> FileReport:
        """The report of one file."""
        return self._report(path, kind, [])

    def _report(self, path: Path, kind: FileKind, traces: list[str]) -> FileReport:
        """The same; the tracebacks of what is told of on it are added to ``traces``."""
        if kind == "rig":
            return self._rig_report(path, traces)
        if kind == "blueprint":
            return self._blueprint_report(path)
        faults = self._faults(path, kind)
        shown = self.loader(path).repository.shown(path)
        loaded = Loaded(path, shown, None, faults, 0, False)
        found = self.findings(solve_loaded(loaded)) if faults else ()
        return FileReport(shown, "", 0, 0, found, (), kind)

    def alone(self, path: Path) -> tuple[Loaded, SolvedRig]:
        """A blueprint judged alone, as loaded and as solved: fed what its inlets promise to stand."""
        from lineshaft.solve.promise_edge import solve_alone  # where a blueprint is judged

        resolved = self.resolved(path)
        return solve_alone(resolved.loader, path, resolved.policy)

    def _blueprint_report(self, path: Path) -> FileReport:
        """The report of a blueprint judged alone; what feeds it in its inlets' place is no part of it."""
        resolved = self.resolved(path)
        loaded, rig, found = inspected(resolved.loader, path, "blueprint", resolved.policy, resolved.book)
        parts = rig.written_parts - len(rig.rig.placed.edges)
        if self.repairs and found:
            from lineshaft.repair.plan.fix_budget import left_to_repair
            findings = left_to_repair(found)
        else:
            findings = _without_repairs(found)
        return FileReport(rig.file, rig.rig.name, parts, rig.unsolved, findings, includes_of(loaded), "blueprint")

    def _rig_report(self, path: Path, traces: list[str]) -> FileReport:
        resolved = self.resolved(path)
        kept = self.kept.pop(path, None) if self.kept and self.repairs else None
        given = (resolved.policy, resolved.book, self.day)
        judged = inspected(resolved.loader, path, "rig", *given) if kept is None else kept.noted(self.recorder)
        loaded, rig, found = judged
        if rig.rig.waivers and self.recorder is not None:
            self.recorder.note(Query("day"), self.day.isoformat())
        findings = _without_repairs(found)
        mendable = bool(rig.parts) and any(not finding.passes for finding in found)
        if mendable and not self.repairs and self.kept is not None:
            from lineshaft.check.kept_inspections import keep

            keep(self.kept, path, judged, self.recorder)
        if mendable and self.repairs:
            from lineshaft.repair.plan.fix_budget import with_repairs  # not on the path of a clean check
            from lineshaft.repair.proof.context import RepairContext

            context = RepairContext(resolved.loader, loaded, rig, found, resolved.book, resolved.policy, self.day)
            try:
                findings = with_repairs(context, self.effort)
            except UnansweredError:
                raise
            except Exception as error:
                from lineshaft.check.failures import internal_error

                traces.append(trace_of(error))
                findings = (internal_error(rig.file, "no repairs could be looked for", error), *findings)
        return FileReport(rig.file, rig.rig.name, rig.written_parts, rig.unsolved, findings, includes_of(loaded))

    def findings(self, rig: SolvedRig) -> "tuple[RepairedFinding, ...]":
        """All findings on one solved rig, for which nobody looks for repairs."""
        return _without_repairs(inspect_rig(rig, self.book))

    def _faults(self, path: Path, kind: FileKind) -> tuple["Fault", ...]:
        loader = self.loader(path)
        if kind == "catalogue":
            return loader.catalogue(loader.repository.real(path))[1]
        if kind == "stock":
            return loader.stock(path)[2]
        tree = loader.tree(path, kind)
        if isinstance(tree, tuple):
            return tree
        if kind == "snags":
            from lineshaft.schema.read.snags import read_snags

            return read_snags(tree, loader.repository.root)[1]
        return ()


def _without_repairs(findings: "tuple[JudgedFinding, ...]") -> "tuple[RepairedFinding, ...]":
    """The findings as they are shown where nobody looks for repairs."""
    if not findings:
        return ()
    from lineshaft.check.judged_finding import repaired

    return tuple(map(repaired, findings))


def trace_of(error: BaseException) -> str:
    """An error's traceback, for who looks with --debug."""
    import traceback  # only where something went wrong

    return "".join(traceback.format_exception(error))
