"""What a worker elsewhere needs to judge a batch of files, packed here and unpacked there.

What a text seems to name is sent along with it, found by its look and not by parsing. Where a worker lacks something
after all it says so, and the file is judged at home: a guess can cost time, never a verdict.
"""

import re
from collections.abc import Iterator, Sequence
from functools import lru_cache
from threading import Lock
from typing import Any, Final, NamedTuple

from lineshaft.jobs.failure import portable
from lineshaft.judge.rulebook import open_rulebook
from lineshaft.judging import Bench, Ground, Job, Judged
from lineshaft.ledger.code_identity import rule_versions
from lineshaft.schema.repository import Repository
from lineshaft.schema.witness import Answer, Question, UnansweredError, Witness

_BETWEEN: Final = re.compile(rb"[\s\"'{}\[\],]+")
_MOST_NAMES: Final = 500  # a text that seems to name more is left to be judged at home
_DEPTH: Final = 10  # blueprints nest to 8

Recorded = tuple[tuple[Question, Answer], ...]


class Parcel(NamedTuple):
    """A bench's settings, whether evidence is noted, what code packed it, answers for all, files with their bytes."""

    settings: tuple[tuple[str, Any], ...]
    noting: bool
    code: tuple[str, ...]
    shared: Recorded
    files: tuple[tuple[int, Job, Question, Answer], ...]


class Misfit(NamedTuple):
    """The code that a worker has instead of what the parcel was packed by."""

    code: tuple[str, ...]


Outcome = tuple[int, Judged | BaseException | None]
"""A file's number with its sheet, the error that judging it raised, or none where it has to be judged at home."""


class Packer:
    """Packs files of one ground; what several of them name is read once."""

    def __init__(self, bench: Bench, ground: Ground) -> None:
        self.bench, self.ground = bench, ground
        self.repository = Repository(ground.root, bench.working, bench.max_bytes)
        self.settings = tuple(bench.settings().items())
        self._known: dict[Question, Answer] = {}

    def packed(self, files: Sequence[tuple[int, Job]]) -> Parcel:
        """A parcel of these files."""
        shared: dict[Question, Answer] = {}
        own = []
        if self.ground.policy is not None:
            policy = Question("bytes", self.repository.within(self.ground.policy))
            shared[policy] = self._answer(policy)
            self._add_named(policy, shared[policy], shared, _DEPTH)
        for number, job in files:
            question = Question("bytes", self.repository.within(job.path))
            raw = self.repository.read(job.path)
            own.append((number, job, question, raw))
            self._add_named(question, raw, shared, _DEPTH)
        noting = self.bench.witness is not None
        return Parcel(self.settings, noting, rule_versions(), tuple(shared.items()), tuple(own))

    def _add_named(self, of: Question, text: Answer, shared: dict[Question, Answer], depth: int) -> None:
        folder = of.at.rpartition("/")[0] or "."
        for name in _names_in(text) if depth else ():
            include = Question("include", folder, name)
            if include in shared:
                continue
            target = shared[include] = self._answer(include)
            if isinstance(target, str):
                content = Question("bytes", target)
                shared[content] = self._answer(content)
                self._add_named(content, shared[content], shared, depth - 1)

    def _answer(self, question: Question) -> Answer:
        found = self._known.get(question)
        if found is None:
            found = self._known[question] = self.repository.answer(question)
        return found


def _names_in(text: Answer) -> tuple[str, ...]:
    if not isinstance(text, bytes):
        return ()
    words = {word for word in _BETWEEN.split(text) if word.endswith((b".yaml", b".yml")) and len(word) < 500}
    if len(words) > _MOST_NAMES:
        return ()
    return tuple(sorted(word.decode("utf-8", "replace") for word in words))


def judge_parcel(parcel: Parcel) -> list[Outcome] | Misfit:
    """Runs in the worker: every file of a parcel judged from the parcel alone."""
    if rule_versions() != parcel.code:
        return Misfit(rule_versions())
    station = _station(parcel.settings, parcel.noting, parcel.shared)
    with station.lock:  # a worker may have several threads
        return list(_outcomes(station, parcel))


class _Station(NamedTuple):
    bench: Bench
    answers: dict[Question, Answer]
    lock: Any


@lru_cache(maxsize=4)
def _station(settings: tuple[tuple[str, Any], ...], noting: bool, shared: Recorded) -> _Station:
    """A bench for parcels that share their answers, so that a catalogue is read once and not once a parcel."""
    answers = dict(shared)
    witness = Witness() if noting else None
    bench = Bench(book=open_rulebook(), witness=witness, answers=answers, **dict(settings))
    return _Station(bench, answers, Lock())


def _outcomes(station: _Station, parcel: Parcel) -> Iterator[Outcome]:
    for number, job, question, raw in parcel.files:
        here = station.answers.get(question)
        station.answers[question] = raw
        try:
            yield number, station.bench.judged(job)
        except UnansweredError:
            yield number, None
        except Exception as error:
            yield number, portable(error)
        finally:
            if here is None:
                del station.answers[question]
            else:
                station.answers[question] = here
