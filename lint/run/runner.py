"""A run's files to their reports: what the result cache knows is taken from it, the rest goes to an executor."""

import contextlib
import os
import sys
from collections.abc import Generator, Iterable, Sequence
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Final, NamedTuple

from lineshaft.check.checker import Checker, Job, Judged
from lineshaft.check.effort import EFFORT_OF_CHECK, allotted
from lineshaft.exits import CannotDoError
from lineshaft.run.executor import Executor, InProcess
from lineshaft.run.progress import Progress, watched
from lineshaft.write.summary import FileReport

if TYPE_CHECKING:
    from lineshaft.run.result_cache import ResultCache

_MANY: Final = 25
"""Files from which verdicts are looked up first; of fewer only repairs, which take long to find, are remembered."""
_SHARE: Final = 750_000
"""Bytes of files that one process judges in about the time that it takes another to start."""


class JobOptions(NamedTuple):
    """How the work is done: processes (none said: by cores and work) or a cluster; with a result cache; in silence.

    With ``debug`` the tracebacks of errors of the program go to standard error.
    Where the result cache is to be used, the checker needs a recorder.
    """

    jobs: int | None = None
    cluster: str | None = None
    remember: bool = True
    quiet: bool = False
    debug: bool = False


def inspect_files(
    checker: Checker, jobs: Sequence[Job], job_options: JobOptions
) -> Generator[FileReport, None, None]:
    """The reports of all files in the order given, each as soon as it and all before it are there.

    They are the same however the files are spread. Where so many rigs may be faulty that the effort of a run is not
    enough for each, all are judged without repairs first, which tells how many share it.
    """
    if not checker.repairs or not _shared(jobs):
        yield from _inspected(checker, jobs, job_options, "judged")
        return
    plain = replace(checker, repairs=False)
    reports = tuple(_inspected(plain, jobs, job_options._replace(debug=False), "judged"))
    faulty = [any(not finding.passes for finding in report.findings) for report in reports]
    again = [job for job, so in zip(jobs, faulty, strict=True) if so]
    searching = replace(checker, effort=allotted(sum(job.kind == "rig" for job in again)))
    with closing(_inspected(searching, again, job_options, "looked for repairs in")) as searched:
        for report, so in zip(reports, faulty, strict=True):
            yield next(searched) if so else report


def _shared(jobs: Sequence[Job]) -> bool:
    """Whether so many rigs might all be faulty that each gets less than one alone."""
    return allotted(sum(job.kind == "rig" for job in jobs)) < EFFORT_OF_CHECK


def _inspected(
    checker: Checker, jobs: Sequence[Job], job_options: JobOptions, what: str
) -> Generator[FileReport, None, None]:
    """The same by one checker; ``what`` is done to the files, in words."""
    early: dict[int, FileReport] = {}
    at = 0
    with (
        watched(what, [job.path for job in jobs], checker.working, quiet=job_options.quiet) as progress,
        closing(_reports(checker, jobs, job_options, progress)) as done,
    ):
        for number, report in done:
            early[number] = report
            progress.step(number)
            while at in early:
                next_one = early.pop(at)
                at += 1
                if next_one.findings:  # of which something is written
                    with progress.aside():
                        yield next_one
                else:
                    yield next_one


def _reports(
    checker: Checker, jobs: Sequence[Job], job_options: JobOptions, progress: Progress
) -> Generator[tuple[int, FileReport], None, None]:
    """Each file's number and report: what is remembered as it is found, the rest as it is judged."""
    with closing(_Memory(checker, jobs, job_options)) as memory:
        for numbers in memory.looked_up_together(len(jobs)):
            left = []
            for number in numbers:
                known = memory.get(jobs[number])
                if known is None:
                    left.append(number)
                else:
                    yield number, known
            work = [jobs[number] for number in left]
            with closing(executor(checker, work, job_options).judge(work)) as done:
                for place, judged in done:
                    if judged.traces and job_options.debug:
                        from lineshaft.write.escape import harmless

                        progress.clear()
                        sys.stderr.write(harmless("".join(judged.traces)))
                    memory.put(work[place], judged)
                    yield left[place], judged.report


def executor(checker: Checker, jobs: Sequence[Job], job_options: JobOptions) -> Executor:
    """Who is to judge these files; modules for more than this process are loaded only where they are needed."""
    if not jobs:
        return InProcess(checker)
    if job_options.cluster is not None:
        from lineshaft.run.dask import Cluster

        return Cluster(checker, job_options.cluster)
    count = min(_worth_it(jobs) if job_options.jobs is None else job_options.jobs, len(jobs))
    if count == 1:
        return InProcess(checker)
    from lineshaft.run.processes import Workers

    return Workers(checker, count)


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
    """The result cache of a run, opened when something is to be looked up or written down.

    A few files are judged sooner than that; among them only those with findings are looked up, for their repairs.
    """

    def __init__(self, checker: Checker, jobs: Sequence[Job], job_options: JobOptions) -> None:
        self.checker = checker
        self.cache: ResultCache | None = None
        few = len(jobs) < _MANY and job_options.cluster is None and (job_options.jobs or _worth_it(jobs)) == 1
        self.plain = replace(checker, repairs=False) if few else None
        self.file: Path | None = None
        if job_options.remember and jobs and (checker.repairs or not few):
            from lineshaft.run.cache_folder import cache_file

            self.file = cache_file({checker.working, *(job.file_context.root for job in jobs)})

    def opened(self) -> "ResultCache | None":
        """The result cache, opened when it is first asked; it takes longer to load than a small rig to judge."""
        if self.cache is None and self.file is not None:
            from lineshaft.run.cache_store import Store
            from lineshaft.run.result_cache import ResultCache

            self.cache = ResultCache(self.checker, Store(self.file))
        return self.cache

    def looked_up_together(self, total: int) -> Iterable[Iterable[int]]:
        """The numbers of the files that are looked up before one of them is judged: all; of a few each by itself."""
        return ((number,) for number in range(total)) if self.plain is not None else (range(total),)

    def get(self, job: Job) -> FileReport | None:
        if self.file is None:
            return None
        if self.plain is not None:
            report = self.plain.judged(job).report
            if not report.findings:
                return report
        try:
            cache = self.opened()
            return None if cache is None else cache.get(job)
        except CannotDoError:
            raise
        except Exception:  # a memory that fails is none: the file is judged
            return None

    def put(self, job: Job, judged: Judged) -> None:
        with contextlib.suppress(Exception):
            cache = self.opened()
            if cache is not None:
                cache.put(job, judged)

    def close(self) -> None:
        if self.cache is not None:
            self.cache.close()
