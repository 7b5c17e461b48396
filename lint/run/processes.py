"""Several processes of this machine: each has a checker of its own and is given the next few files when it is done.

They are started afresh and not forked, alike on every system. Each file's report comes back by itself, so when a worker
dies it is known which file it was at: that is told of the file, and another process goes on with the rest.
"""

import contextlib
import os
import signal
import time
from collections.abc import Generator, Iterator, Sequence
from multiprocessing import connection, get_context, parent_process, resource_tracker
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from multiprocessing.reduction import ForkingPickler
from threading import Thread
from typing import Any, Final

from lineshaft.check.checker import Checker, Job, Judged
from lineshaft.run.executor import Numbered, portable
from lineshaft.run.stretches import Shares
from lineshaft.schema.text.windows import files_ahead

_MOST_AT_ONCE: Final = 32
_MOST_SENT: Final = 32_000  # characters of paths
_PAUSE: Final = 0.01  # seconds between two looks: one that wakes for each report takes the workers' cores from them
_PARTING: Final = 5.0  # seconds that a worker has to leave by itself
_MOST_DEATHS: Final = 20  # of one run; where more die, it is not the files

Batch = list[tuple[int, Job]]


class Workers:
    """Judges files in so many processes."""

    def __init__(self, checker: Checker, count: int) -> None:
        self.checker, self.count = checker, count
        self.deaths = 0

    def judge(self, jobs: Sequence[Job]) -> Generator[Numbered, None, None]:
        """As they are done; of a file at which a worker died, that."""
        count = min(self.count, len(jobs))
        shares = Shares(len(jobs), count, _at_once(jobs))
        crew = [_Worker(self.checker, number) for number in range(count)]
        try:
            for worker in crew:
                worker.start()
            for worker in crew:
                worker.give([(number, jobs[number]) for number in shares.next_few(worker.number)])
            while busy := {worker.link: worker for worker in crew if worker.batch}:
                for link in connection.wait(list(busy)):
                    worker = busy[link]  # type: ignore[index]
                    yield from worker.done()
                    self.deaths += worker.deaths
                    worker.deaths = 0
                    if self.deaths > _MOST_DEATHS:
                        yield from self._given_up(crew, shares, jobs)
                        return
                    if len(worker.batch) <= files_ahead():
                        worker.give([(number, jobs[number]) for number in shares.next_few(worker.number)])
                time.sleep(_PAUSE)
            for worker in crew:
                worker.dismiss()
        finally:
            for worker in crew:
                worker.end()

    def _given_up(self, crew: Sequence["_Worker"], shares: Shares, jobs: Sequence[Job]) -> Iterator[Numbered]:
        """What is told of the files that are left where workers die one after the other."""
        left = [number for worker in crew for number, _ in worker.batch]
        for worker in crew:
            while some := shares.next_few(worker.number):
                left += some
        why = f"not judged, since {self.deaths} worker processes died before; with --jobs 1 files are judged without"
        for number in left:
            yield number, self.checker.failed(jobs[number], why)


def _at_once(jobs: Sequence[Job]) -> int:
    """Files in a batch: few where paths are long, so that sending a batch never has to wait for its reader."""
    longest = max(len(str(job.path)) for job in jobs)
    return max(1, min(_MOST_AT_ONCE, _MOST_SENT // longest))


class _Worker:
    """One process and the files it was given, in the order in which it judges them."""

    def __init__(self, checker: Checker, number: int) -> None:
        self.checker, self.number = checker, number
        self.batch: Batch = []
        self.link: Connection
        self.process: BaseProcess | None = None
        self.deaths = 0

    def start(self) -> None:
        context = get_context("spawn")
        self.link, theirs = context.Pipe()
        terms = self.checker.settings(), self.checker.recorder is not None
        self.process = context.Process(target=_work, args=(theirs, *terms), daemon=True)
        with _undisturbed():
            self.process.start()
        theirs.close()

    def give(self, batch: Batch) -> None:
        self.batch += batch
        if batch:
            if self.process is None:
                self.start()
            with contextlib.suppress(OSError):  # it is dead: what waits for its answer will say so
                self.link.send(batch)

    def done(self) -> Iterator[Numbered]:
        """All that is there: at least one report; of a file at which the worker died, that, as the last."""
        yield self._take()
        while self.batch and self.process is not None and self.link.poll():
            yield self._take()
        if self.process is None and self.batch:
            left, self.batch = self.batch, []
            self.give(left)

    def _take(self) -> Numbered:
        number, job = self.batch[0]
        try:
            found = self.link.recv()
        except (EOFError, OSError):
            found = self.checker.failed(job, self._obituary())
        except Exception as error:  # a plugin's class that only the worker knows
            found = self.checker.failed(job, "what a worker process found cannot be read here", error)
        del self.batch[0]
        if isinstance(found, BaseException):
            raise found
        return number, found

    def _obituary(self) -> str:
        """How it died; it is let go."""
        assert self.process is not None
        self.process.join(_PARTING)
        code = self.process.exitcode
        self.end()
        self.link.close()
        self.process = None
        self.deaths += 1
        how = f"was ended by signal {-code}" if code is not None and code < 0 else f"ended with code {code}"
        return f"the worker process that judged this file {how}; with --jobs 1 files are judged without workers"

    def dismiss(self) -> None:
        if self.process is not None:
            self.link.close()
            self.process.join(_PARTING)

    def end(self) -> None:
        if self.process is not None and self.process.pid is not None and self.process.is_alive():
            self.process.terminate()
            self.process.join(_PARTING)


def _work(link: Connection, settings: dict[str, Any], noting: bool) -> None:
    """A worker's whole life: it judges what it is given until the other side lets go."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the one that was started by hand ends the others
    Thread(target=_end_with_parent, daemon=True).start()
    from lineshaft.check.rulebook import open_rulebook
    from lineshaft.schema.text.dependencies import DependencyRecorder

    checker = Checker(book=open_rulebook(), recorder=DependencyRecorder() if noting else None, **settings)
    with contextlib.suppress(EOFError, OSError):
        while True:
            for _, job in link.recv():
                _send(link, checker, job)


def _end_with_parent() -> None:
    """However the one that was started by hand ends, by a kill too, nobody is left at work with its streams open."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _send(link: Connection, checker: Checker, job: Job) -> None:
    try:
        outcome: Judged | Exception = checker.judged(job)
    except Exception as error:
        outcome = portable(error)
    try:
        packed = ForkingPickler.dumps(outcome)
    except Exception as error:  # a plugin's value that cannot be sent
        packed = ForkingPickler.dumps(checker.failed(job, "what was found cannot be handed over", error))
    link.send_bytes(packed)


@contextlib.contextmanager
def _undisturbed() -> Iterator[None]:
    """While workers start: an interrupt waits, in them for good; the working folder is not on their import path."""
    before = os.environ.get("PYTHONSAFEPATH")
    os.environ["PYTHONSAFEPATH"] = "1"
    masks = hasattr(signal, "pthread_sigmask")
    if masks:
        resource_tracker.ensure_running()  # where a worker's start begins it, it lets interrupts through again
    old = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT}) if masks else set()
    try:
        yield
    finally:
        if before is None:
            del os.environ["PYTHONSAFEPATH"]
        else:
            os.environ["PYTHONSAFEPATH"] = before
        if masks:
            signal.pthread_sigmask(signal.SIG_SETMASK, old)
