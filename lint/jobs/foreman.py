"""A run's files to their sheets: what the ledger knows is taken from it, the rest goes to an executor."""

import contextlib
import os
import sys
from collections.abc import Sequence
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Final, NamedTuple

from lineshaft.exits import CannotDoError
from lineshaft.jobs.executor import Executor, InProcess
from lineshaft.jobs.progress import watched
from lineshaft.judging import Bench, Job, Judged
from lineshaft.write.summary import Sheet

if TYPE_CHECKING:
    from lineshaft.ledger.ledger import Ledger

_MANY: Final = 25
"""Files from which verdicts are looked up first; of fewer only repairs, which take long to find, are remembered."""
_SHARE: Final = 750_000
"""Bytes of files that one process judges in about the time that it takes another to start."""


class Staffing(NamedTuple):
    """How the work is done: processes (none said: by cores and work) or a cluster; with a ledger; in silence.

    With ``debug`` the tracebacks of errors of the program go to standard error.
    Where the ledger is to be used, the bench needs a witness.
    """

    jobs: int | None = None
    cluster: str | None = None
    remember: bool = True
    quiet: bool = False
    debug: bool = False


def inspect_files(bench: Bench, jobs: Sequence[Job], staffing: Staffing) -> tuple[Sheet, ...]:
    """The sheets of all files in the order given; the same whatever the staffing."""
    memory = _Memory(bench, jobs, staffing)
    progress = watched(len(jobs), staffing.quiet)
    sheets: dict[int, Sheet] = {}
    try:
        for number, job in enumerate(jobs):
            known = memory.recall(job)
            if known is not None:
                sheets[number] = known
                progress.step()
        left = [number for number in range(len(jobs)) if number not in sheets]
        work = [jobs[number] for number in left]
        with closing(executor(bench, work, staffing).judge(work)) as done:
            for place, judged in done:
                sheets[left[place]] = judged.sheet
                if judged.traces and staffing.debug:
                    from lineshaft.write.escape import harmless

                    progress.clear()
                    sys.stderr.write(harmless("".join(judged.traces)))
                memory.keep(work[place], judged)
                progress.step()
    finally:
        progress.clear()
        memory.close()
    return tuple(sheets[number] for number in range(len(jobs)))


def executor(bench: Bench, jobs: Sequence[Job], staffing: Staffing) -> Executor:
    """Who is to judge these files; modules for more than this process are loaded only where they are needed."""
    if not jobs:
        return InProcess(bench)
    if staffing.cluster is not None:
        from lineshaft.jobs.cluster import Cluster

        return Cluster(bench, staffing.cluster)
    count = min(_worth_it(jobs) if staffing.jobs is None else staffing.jobs, len(jobs))
    if count == 1:
        return InProcess(bench)
    from lineshaft.jobs.workers import Workers

    return Workers(bench, count)


def _worth_it(jobs: Sequence[Job]) -> int:
    """How many processes are worth starting: at most one a core, each with work for longer than its start takes."""
    if len(jobs) < 2:
        return 1
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return max(1, min(cores, sum(_size(job.path) for job in jobs) // _SHARE))


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0


class _Memory:
    """The ledger of a run, opened when something is to be looked up or written down.

    A few files are judged sooner than that; among them only those with findings are looked up, for their repairs.
    """

    def __init__(self, bench: Bench, jobs: Sequence[Job], staffing: Staffing) -> None:
        self.bench = bench
        self.ledger: Ledger | None = None
        few = len(jobs) < _MANY and staffing.cluster is None and (staffing.jobs or _worth_it(jobs)) == 1
        self.plain = replace(bench, repairs=False) if few else None
        self.file: Path | None = None
        if staffing.remember and jobs and (bench.repairs or not few):
            from lineshaft.ledger.cache_folder import ledger_file

            self.file = ledger_file({bench.working, *(job.ground.root for job in jobs)})

    def opened(self) -> "Ledger | None":
        """The ledger, opened when it is first asked; it takes longer to load than a small rig to judge."""
        if self.ledger is None and self.file is not None:
            from lineshaft.ledger.ledger import Ledger
            from lineshaft.ledger.store import Store

            self.ledger = Ledger(self.bench, Store(self.file))
        return self.ledger

    def recall(self, job: Job) -> Sheet | None:
        if self.file is None:
            return None
        if self.plain is not None:
            sheet = self.plain.judged(job).sheet
            if not sheet.findings:
                return sheet
        try:
            ledger = self.opened()
            return None if ledger is None else ledger.recall(job)
        except CannotDoError:
            raise
        except Exception:  # a memory that fails is none: the file is judged
            return None

    def keep(self, job: Job, judged: Judged) -> None:
        with contextlib.suppress(Exception):
            ledger = self.opened()
            if ledger is not None:
                ledger.keep(job, judged)

    def close(self) -> None:
        if self.ledger is not None:
            self.ledger.close()
