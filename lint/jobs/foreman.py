"""A run's files to their sheets: what the ledger knows is taken from it, the rest goes to an executor."""

import os
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Final, NamedTuple

from lineshaft.jobs.executor import Executor, InProcess
from lineshaft.jobs.progress import watched
from lineshaft.judging import Bench, Job, Judged
from lineshaft.write.summary import Sheet

if TYPE_CHECKING:
    from lineshaft.ledger.ledger import Ledger

_MANY: Final = 25
"""Files from which a clean run is worth writing down; a sheet with findings, and perhaps repairs, always is."""
_SHARE: Final = 750_000
"""Bytes of files that one process judges in about the time that it takes another to start."""


class Staffing(NamedTuple):
    """How the work is done: processes (none said: by cores and work) or a cluster; with a ledger; in silence.

    Where the ledger is to be used, the bench needs a witness.
    """

    jobs: int | None = None
    cluster: str | None = None
    remember: bool = True
    quiet: bool = False


def inspect_files(bench: Bench, jobs: Sequence[Job], staffing: Staffing) -> tuple[Sheet, ...]:
    """The sheets of all files in the order given; the same whatever the staffing."""
    memory = _Memory(bench, jobs, staffing.remember)
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
    if len(jobs) == 1:
        return 1
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return max(1, min(cores, sum(_size(job.path) for job in jobs) // _SHARE))


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0


class _Memory:
    """The ledger of a run: opened where it is there, or once there is something worth writing down."""

    def __init__(self, bench: Bench, jobs: Sequence[Job], wanted: bool) -> None:
        self.bench, self.many = bench, len(jobs) >= _MANY
        self.ledger: Ledger | None = None
        self.file: Path | None = None
        if wanted and jobs:
            from lineshaft.ledger.cache_folder import ledger_file

            self.file = ledger_file({bench.working, *(job.ground.root for job in jobs)})
        if self.file is not None and (self.many or self.file.exists()):
            self.open()

    def open(self) -> None:
        """Open the ledger, which takes longer to load than a small rig to judge."""
        from lineshaft.ledger.ledger import Ledger
        from lineshaft.ledger.store import Store

        if self.file is not None:
            self.ledger = Ledger(self.bench, Store(self.file))

    def recall(self, job: Job) -> Sheet | None:
        return None if self.ledger is None else self.ledger.recall(job)

    def keep(self, job: Job, judged: Judged) -> None:
        if not (self.many or judged.sheet.findings):
            return
        if self.ledger is None:
            self.open()
        if self.ledger is not None:
            self.ledger.keep(job, judged)

    def close(self) -> None:
        if self.ledger is not None:
            self.ledger.close()
