"""A Dask cluster: batches go out, reports come back. Workers need the same lineshaft and rules, and no file of ours."""

import contextlib
import logging
from collections.abc import Generator, Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any, Final

from lineshaft.check.checker import Checker, Job
from lineshaft.exits import CannotDoError
from lineshaft.run.batch import Batch, Outcome, Packer, VersionMismatch, judge_batch
from lineshaft.run.executor import Numbered

if TYPE_CHECKING:
    from distributed import Client, Future

_AT_ONCE: Final = 50  # files in a batch
_AHEAD: Final = 2  # batches under way for each thread of the cluster
_ANSWER_WAIT: Final = 10  # seconds for the scheduler to answer
_WORKER_WAIT: Final = 10  # seconds for a worker to be there
_TRIES: Final = 3  # at a scheduler that answers otherwise than its client expects


class Cluster:
    """Judges files on the cluster whose scheduler has an address such as ``tcp://10.0.0.7:8786``."""

    def __init__(self, checker: Checker, address: str) -> None:
        self.checker, self.address = checker, address

    def judge(self, jobs: Sequence[Job]) -> Generator[Numbered, None, None]:
        """As they are done. Raises CannotDoError where the cluster cannot be had, or fails."""
        with _connected(self.address) as client:
            threads = sum(client.nthreads().values())
            batches = self._batches(jobs)
            under_way: dict[Future[Any], Batch] = {}
            from distributed import as_completed

            done = as_completed(loop=client.loop)
            for batch in batches:
                future = client.submit(judge_batch, batch, pure=False)
                under_way[future] = batch
                done.add(future)
                if len(under_way) >= threads * _AHEAD:
                    yield from self._results(next(done), under_way)
            for future in done:
                yield from self._results(future, under_way)

    def _batches(self, jobs: Sequence[Job]) -> Iterator[Batch]:
        """Neighbours of one place go together, since they share what they name."""
        for file_context, some in groupby(enumerate(jobs), key=lambda numbered: numbered[1].file_context):
            packer = Packer(self.checker, file_context)
            files = list(some)
            for start in range(0, len(files), _AT_ONCE):
                yield packer.packed(files[start : start + _AT_ONCE])

    def _results(self, future: "Future[Any]", under_way: "dict[Future[Any], Batch]") -> Iterator[Numbered]:
        batch = under_way[future]
        try:
            found: list[Outcome] | VersionMismatch = future.result()
        except Exception as error:
            # Whoever waited at a worker that died is suspect, so all that was under way is named.
            suspects = list(under_way.values()) if type(error).__name__ == "KilledWorker" else [batch]
            raise CannotDoError(self._failure(error, suspects)) from error
        del under_way[future]
        future.release()
        if isinstance(found, VersionMismatch):
            theirs, ours = ", ".join(found.code), ", ".join(batch.code)
            raise CannotDoError(f"a worker of the cluster has {theirs}; here is {ours}: install the same")
        jobs = {number: job for number, job, *_ in batch.files}
        for number, outcome in found:
            if isinstance(outcome, BaseException):
                raise outcome
            yield number, outcome if outcome is not None else self.checker.judged(jobs[number])

    def _failure(self, error: Exception, suspects: Sequence[Batch]) -> str:
        jobs = {number: job for batch in suspects for number, job, *_ in batch.files}
        first, last = (self._shown(jobs[choose(jobs)]) for choose in (min, max))
        files = first if first == last else f"files from {first} to {last}"
        if isinstance(error, ModuleNotFoundError):
            return f"the cluster's workers cannot load {error.name}; install lineshaft and its rules there too"
        if type(error).__name__ == "KilledWorker":
            return f"workers of the cluster died while they judged {files}; with --jobs 1 they are judged here"
        return f"the cluster at {self.address} failed ({type(error).__name__}) while it judged {files}"

    def _shown(self, job: Job) -> str:
        return self.checker.loader(job.path).repository.shown(job.path)


@contextlib.contextmanager
def _connected(address: str) -> "Iterator[Client]":
    try:
        import distributed  # noqa: F401  (whether it is there)
    except ImportError:
        raise CannotDoError("--dask needs Dask: pip install 'lineshaft[dask]'") from None
    for name in [name for name in logging.root.manager.loggerDict if name.partition(".")[0] == "distributed"]:
        logging.getLogger(name).setLevel(logging.CRITICAL)  # what fails is said once, and by us; each has its own level
    client = _client(address)
    try:
        try:
            client.wait_for_workers(1, timeout=_WORKER_WAIT)
        except Exception as error:
            lack = f"the Dask scheduler has no workers at {address!r} within {_WORKER_WAIT} s"
            raise CannotDoError(f"{lack} ({type(error).__name__})") from error
        yield client
    finally:
        client.close(timeout=2)


def _client(address: str) -> "Client":
    """Asked again where a loaded scheduler sends its first two messages as one, which its client does not expect."""
    from distributed import Client
    from distributed.comm.addressing import resolve_address

    # A client that fails at the address itself would be closed when it is collected, and that waits ten seconds.
    try:
        resolve_address(address)
    except ValueError as error:
        message = f"{address!r} is no address of a Dask scheduler ({error}): write tcp://HOST:PORT"
        raise CannotDoError(message) from error
    except OSError as error:
        raise CannotDoError(f"no Dask scheduler answers at {address!r} ({error.strerror})") from error
    tries = 0
    while True:
        tries += 1
        try:
            return Client(address, timeout=_ANSWER_WAIT, set_as_default=False)
        except Exception as error:
            if isinstance(error, AssertionError) and tries < _TRIES:
                continue
            lack = f"no Dask scheduler answers at {address!r} within {_ANSWER_WAIT} s"
            raise CannotDoError(f"{lack} ({type(error).__name__})") from error
