"""What a worker elsewhere needs to judge a batch of files, packed here and unpacked there.

What a text seems to name is sent along with it, found by its look and not by parsing. Where a worker lacks something
after all it says so, and the file is judged at home: a guess can cost time, never a verdict.
"""

import re
from collections.abc import Iterator, Sequence
from functools import lru_cache
from threading import Lock
from typing import Any, Final, NamedTuple

from lineshaft.check.checker import Checker, FileContext, Job, Judged
from lineshaft.check.rulebook import open_rulebook
from lineshaft.run.code_identity import rule_versions
from lineshaft.run.executor import portable
from lineshaft.schema.text.dependencies import Answer, DependencyRecorder, Query, UnansweredError

_BETWEEN: Final = re.compile(rb"[\s\"'{}\[\],]+")
_MOST_NAMES: Final = 500  # a text that seems to name more is left to be judged at home
_DEPTH: Final = 10  # blueprints nest to 8

Recorded = tuple[tuple[Query, Answer], ...]


class Batch(NamedTuple):
    """A checker's settings, whether dependencies are noted, what code packed it, answers, files with their bytes."""

    settings: tuple[tuple[str, Any], ...]
    noting: bool
    code: tuple[str, ...]
    shared: Recorded
    files: tuple[tuple[int, Job, Query, Answer], ...]


class VersionMismatch(NamedTuple):
    """The code that a worker has instead of what the batch was packed by."""

    code: tuple[str, ...]


Outcome = tuple[int, Judged | BaseException | None]
"""A file's number with its report, the error that judging it raised, or none where it has to be judged at home."""


class Packer:
    """Packs files of one place; what several of them name is read once."""

    def __init__(self, checker: Checker, file_context: FileContext) -> None:
        self.checker, self.file_context = checker, file_context
        self.repository = file_context.repository(checker)
        self.settings = tuple(checker.settings().items())
        self._known: dict[Query, Answer] = {}

    def packed(self, files: Sequence[tuple[int, Job]]) -> Batch:
        """A batch of these files."""
        shared: dict[Query, Answer] = {}
        own = []
        if self.file_context.policy is not None:
            policy = Query("bytes", self.repository.within(self.file_context.policy))
            shared[policy] = self._answer(policy)
            self._add_named(policy, shared[policy], shared, _DEPTH)
        for number, job in files:
            query = Query("bytes", self.repository.within(job.path))
            raw = self.repository.read(job.path)
            own.append((number, job, query, raw))
            self._add_named(query, raw, shared, _DEPTH)
        noting = self.checker.recorder is not None
        return Batch(self.settings, noting, rule_versions(), tuple(shared.items()), tuple(own))

    def _add_named(self, of: Query, text: Answer, shared: dict[Query, Answer], depth: int) -> None:
        folder = of.at.rpartition("/")[0] or "."
        for name in _names_in(text) if depth else ():
            include = Query("include", folder, name)
            if include in shared:
                continue
            target = shared[include] = self._answer(include)
            if isinstance(target, str):
                content = Query("bytes", target)
                shared[content] = self._answer(content)
                self._add_named(content, shared[content], shared, depth - 1)

    def _answer(self, query: Query) -> Answer:
        found = self._known.get(query)
        if found is None:
            found = self._known[query] = self.repository.answer(query)
        return found


def _names_in(text: Answer) -> tuple[str, ...]:
    if not isinstance(text, bytes):
        return ()
    words = {word for word in _BETWEEN.split(text) if word.endswith((b".yaml", b".yml")) and len(word) < 500}
    if len(words) > _MOST_NAMES:
        return ()
    return tuple(sorted(word.decode("utf-8", "replace") for word in words))


def judge_batch(batch: Batch) -> list[Outcome] | VersionMismatch:
    """Runs in the worker: every file of a batch judged from the batch alone."""
    if rule_versions() != batch.code:
        return VersionMismatch(rule_versions())
    worker_context = _worker_context(batch.settings, batch.noting, batch.shared)
    with worker_context.lock:  # a worker may have several threads
        return list(_outcomes(worker_context, batch))


class _WorkerContext(NamedTuple):
    checker: Checker
    answers: dict[Query, Answer]
    lock: Any


@lru_cache(maxsize=4)
def _worker_context(settings: tuple[tuple[str, Any], ...], noting: bool, shared: Recorded) -> _WorkerContext:
    """A checker for batches that share their answers, so that a catalogue is read once and not once a batch."""
    answers = dict(shared)
    recorder = DependencyRecorder() if noting else None
    checker = Checker(book=open_rulebook(), recorder=recorder, answers=answers, **dict(settings))
    return _WorkerContext(checker, answers, Lock())


def _outcomes(worker_context: _WorkerContext, batch: Batch) -> Iterator[Outcome]:
    for number, job, query, raw in batch.files:
        here = worker_context.answers.get(query)
        worker_context.answers[query] = raw
        try:
            yield number, worker_context.checker.judged(job)
        except UnansweredError:
            yield number, None
        except Exception as error:
            yield number, portable(error)
        finally:
            if here is None:
                del worker_context.answers[query]
            else:
                worker_context.answers[query] = here
