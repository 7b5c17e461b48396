"""One file to its sheet: load, solve, run the rules. The same for every way in which files are spread over workers.

Where the program itself fails on a file, that file's sheet says so, and the run goes on with the others.
"""

import os
from dataclasses import dataclass, field, fields
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, NamedTuple

from lineshaft.exits import CannotDoError
from lineshaft.judge.failures import internal_error
from lineshaft.judge.finding import Finding
from lineshaft.judge.inspection import inspect_rig, place_order
from lineshaft.judge.registry import BrokenRule
from lineshaft.judge.rulebook import Rulebook
from lineshaft.schema.faults import Fault
from lineshaft.schema.loading import FileKind, Loaded, Loader
from lineshaft.schema.policy import Policy
from lineshaft.schema.policy_reader import nearest_policy
from lineshaft.schema.repository import MAX_BYTES, Repository, root_of
from lineshaft.schema.witness import Answers, Evidence, Question, UnansweredError, Witness
from lineshaft.schema.yaml_pass import Bounds
from lineshaft.site import Site, site_of
from lineshaft.solve.solved_rig import SolvedRig, solve_loaded
from lineshaft.write.summary import Sheet


def today() -> date:
    """The day it is, in UTC, so that a waiver ends everywhere at once."""
    return datetime.now(UTC).date()


class Ground(NamedTuple):
    """Where a file stands: the root that no include leaves, and the policy that holds there."""

    root: Path
    policy: Path | None


class Job(NamedTuple):
    """One file to judge."""

    path: Path
    kind: FileKind
    ground: Ground


class Judged(NamedTuple):
    """A file's sheet, what its verdict hangs on where that is noted, and the tracebacks of errors of the program."""

    sheet: Sheet
    evidence: Evidence = ()
    traces: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Bench:
    """What judging needs beside the file: working folder, bounds, rules, a named policy, the day, and sites.

    With ``repairs`` each finding on a rig brings the best that were proved. ``witness`` notes what each verdict hangs
    on; ``answers`` stand in place of the disk.
    """

    working: Path
    book: Rulebook
    max_bytes: int = MAX_BYTES
    bounds: Bounds = field(default_factory=Bounds)
    policy_file: Path | None = None
    day: date = field(default_factory=today)
    repairs: bool = False
    witness: Witness | None = None
    answers: Answers | None = None
    _grounds: dict[Path, Ground] = field(default_factory=dict)
    _sites: dict[Ground, Site] = field(default_factory=dict)
    _site_evidence: dict[Ground, Evidence] = field(default_factory=dict)

    def settings(self) -> dict[str, Any]:
        """The fields that another bench needs to judge alike; its rules it has to open itself."""
        own = ("book", "witness", "answers")
        return {f.name: getattr(self, f.name) for f in fields(self) if f.name[0] != "_" and f.name not in own}

    def ground(self, path: Path) -> Ground:
        """Where a file stands: its root, and the nearest policy above it or the one that was named."""
        folder = path.parent
        found = self._grounds.get(folder)
        if found is None:
            root = root_of(folder)
            if not (root / ".git").exists():
                root = self.working if folder.is_relative_to(self.working) else folder
            found = self._grounds[folder] = Ground(root, self.policy_file or nearest_policy(folder, root))
        return found

    def site(self, path: Path) -> Site:
        """The site that a file belongs to. Raises CannotDoError where its policy cannot be used."""
        ground = self.ground(path)
        found = self._sites.get(ground)
        if found is None:
            if self.witness is not None:
                self.witness.start()
            repository = Repository(
                ground.root, self.working, self.max_bytes, witness=self.witness, answers=self.answers
            )
            found = self._sites[ground] = site_of(Loader(repository, self.bounds), ground.policy, self.book)
            if self.witness is not None:
                self._site_evidence[ground] = self.witness.evidence()
        return found

    def broken_rules(self) -> list[BrokenRule]:
        """What should have judged and cannot run, by the policies of all files so far; without files, by none."""
        books = [site.book for site in self._sites.values()] or [self.book]
        return sorted({broken for book in books for broken in book.broken})

    def job(self, path: Path, kind: FileKind) -> Job:
        """The job of judging a file."""
        return Job(path, kind, self.ground(path))

    def judged(self, job: Job) -> Judged:
        """The sheet of one file, with its evidence where that is noted; its ground is taken from the job.

        An error of the program is told on it. Raises CannotDoError where the policy cannot be used, and
        UnansweredError where there is no answer for something that is read.
        """
        self._grounds[job.path.parent] = job.ground
        traces: list[str] = []
        try:
            self.site(job.path)
            if self.witness is None:
                return Judged(self._sheet(job.path, job.kind, traces), (), tuple(traces))
            self.witness.start()
            for question, _ in self._site_evidence[job.ground]:
                self.witness.again(question)
            sheet = self._sheet(job.path, job.kind, traces)
            return Judged(sheet, self.witness.evidence(), tuple(traces))
        except (CannotDoError, UnansweredError):
            raise
        except Exception as error:
            return self.failed(job, "this file could not be judged", error)

    def failed(self, job: Job, what: str, error: BaseException | None = None) -> Judged:
        """What is told of a file that the program failed on."""
        shown = Repository(job.ground.root, self.working).shown(job.path)
        traces = () if error is None else (trace_of(error),)
        return Judged(Sheet(shown, "", 0, 0, (internal_error(shown, what, error),)), (), traces)

    def loader(self, path: Path) -> Loader:
        """The loader of the site that a file belongs to."""
        return self.site(path).loader

    def solved(self, path: Path, policy: Policy | None = None) -> SolvedRig:
        """The solved rig at a path, with its faults, under its site's policy or another."""
        site = self.site(path)
        return solve_loaded(site.loader.rig(path), site.policy if policy is None else policy)

    def sheet(self, path: Path, kind: FileKind) -> Sheet:
        """The sheet of one file."""
        return self._sheet(path, kind, [])

    def _sheet(self, path: Path, kind: FileKind, traces: list[str]) -> Sheet:
        """The same; the tracebacks of what is told of on it are added to ``traces``."""
        if kind == "rig":
            rig, findings = self._rig(path, traces)
            return Sheet(rig.file, rig.rig.name, rig.written_parts, rig.unsolved, findings)
        if kind == "blueprint":
            return self._blueprint_sheet(path)
        faults = self._faults(path, kind)
        shown = self.loader(path).repository.shown(path)
        loaded = Loaded(path, shown, None, faults, 0, False)
        return Sheet(shown, "", 0, 0, self.findings(solve_loaded(loaded)) if faults else ())

    def _blueprint_sheet(self, path: Path) -> Sheet:
        """The sheet of a blueprint judged alone; what feeds it in its inlets' place is no part of it."""
        from lineshaft.solve.promise_edge import solve_at_edge

        site = self.site(path)
        rig = solve_at_edge(site.loader.blueprint_alone(self._real(path)), site.policy)
        parts = rig.written_parts - len(rig.rig.placed.edges)
        findings = inspect_rig(rig, site.book)
        if self.repairs and findings:
            from lineshaft.repair.offered import left_to_repair

            findings = left_to_repair(findings)
        return Sheet(rig.file, rig.rig.name, parts, rig.unsolved, findings)

    def _rig(self, path: Path, traces: list[str]) -> tuple[SolvedRig, tuple[Finding, ...]]:
        site = self.site(path)
        loaded = site.loader.rig(path)
        rig = solve_loaded(loaded, site.policy)
        if rig.rig.waivers and self.witness is not None:
            self.witness.note(Question("day"), self.day.isoformat())
        findings = inspect_rig(rig, site.book, self.day)
        if self.repairs and rig.parts and any(not finding.passes for finding in findings):
            from lineshaft.repair.offered import with_repairs  # not on the path of a clean check
            from lineshaft.repair.proof import Workshop

            workshop = Workshop(site.loader, loaded, rig, findings, site.book, site.policy, self.day)
            try:
                findings = with_repairs(workshop)
            except UnansweredError:
                raise
            except Exception as error:
                traces.append(trace_of(error))
                findings = (internal_error(rig.file, "no repairs could be looked for", error), *findings)
        return rig, findings

    def findings(self, rig: SolvedRig) -> tuple[Finding, ...]:
        """All findings on one solved rig."""
        return inspect_rig(rig, self.book)

    def _real(self, path: Path) -> Path:
        # realpath never raises, unlike resolve(); with answers in place of the disk there are no links to follow.
        return Path(os.path.realpath(path)) if self.answers is None else path

    def _faults(self, path: Path, kind: FileKind) -> tuple[Fault, ...]:
        loader = self.loader(path)
        if kind == "catalogue":
            return loader.catalogue(self._real(path))[1]
        tree = loader.tree(path, kind)
        if isinstance(tree, tuple):
            return tree
        if kind == "snags":
            from lineshaft.schema.snags import read_snags

            return read_snags(tree, loader.repository.root)[1]
        return ()


def trace_of(error: BaseException) -> str:
    """An error's traceback, for who looks with --debug."""
    import traceback  # only where something went wrong

    return "".join(traceback.format_exception(error))


def each_finding_once(sheets: tuple[Sheet, ...]) -> tuple[Sheet, ...]:
    """The sheets with each finding in a blueprint's file on one of them: the blueprint's own, else the first."""
    if not any(finding.uses for sheet in sheets for finding in sheet.findings):
        return sheets
    from lineshaft.judge.placing_lines import each_once

    shared = {finding.fingerprint for sheet in sheets for finding in sheet.findings if finding.uses}
    own = {sheet.file: number for number, sheet in enumerate(sheets)}
    gathered = [(n, f) for n, sheet in enumerate(sheets) for f in sheet.findings if f.fingerprint in shared]
    kept: dict[int, list[Finding]] = {}
    homes: dict[tuple[str, bool], int] = {}
    for number, finding in gathered:
        homes.setdefault((finding.fingerprint, finding.passes), own.get(finding.file, number))
    for finding in each_once([finding for _, finding in gathered]):
        kept.setdefault(homes[finding.fingerprint, finding.passes], []).append(finding)
    return tuple(
        sheet._replace(findings=tuple(_in_order(sheet, shared, kept.get(number, []))))
        for number, sheet in enumerate(sheets)
    )


def _in_order(sheet: Sheet, shared: set[str], gathered: list[Finding]) -> list[Finding]:
    others = [finding for finding in sheet.findings if finding.fingerprint not in shared]
    return sorted([*others, *gathered], key=place_order) if gathered else others
