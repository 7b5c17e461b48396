"""Verdicts of earlier runs: the same code, settings, file and answers of the disk give the same sheet.

A verdict is found under a digest of the code, the settings, where the file stands and what it holds. It counts only
if every other question it hung on (catalogues, blueprints, policies, files that were not there) is answered today as
it was then. Nothing is parsed to find that out: files are hashed, each once a run.
"""

import hashlib
import json
import os
from collections.abc import Iterable
from dataclasses import dataclass, field

from lineshaft.judge.failures import unfinished
from lineshaft.judging import Bench, Ground, Job, Judged
from lineshaft.ledger.code_identity import code_identity
from lineshaft.ledger.sheet_record import UnfitError, sheet_of, written
from lineshaft.ledger.store import Row, Store
from lineshaft.schema.repository import Repository
from lineshaft.schema.witness import Question, digest
from lineshaft.write.summary import Sheet

_NOT_IN_TERMS = ("working", "policy_file", "day")  # these count through the places they lead to, and as a question


class _Disk:
    """What one root's disk answers in this run, as digests, each question asked once."""

    def __init__(self, ground: Ground, bench: Bench, identity: str) -> None:
        self.repository = Repository(ground.root, bench.working, bench.max_bytes)
        self.day = bench.day.isoformat()
        self.known: dict[Question, str] = {}
        self.holding: dict[str, bool] = {}
        policy = "" if ground.policy is None else self.repository.within(ground.policy)
        here = os.path.relpath(bench.working, ground.root)
        settings = {name: value for name, value in bench.settings().items() if name not in _NOT_IN_TERMS}
        terms = "\0".join((identity, repr(sorted(settings.items())), policy, here))
        self.terms = hashlib.blake2b(terms.encode("utf-8", "surrogatepass"), digest_size=32)

    def answer(self, question: Question) -> str:
        """The digest of what the disk answers."""
        found = self.known.get(question)
        if found is None:
            found = self.known[question] = self.asked(question)
        return found

    def asked(self, question: Question) -> str:
        """The same, asked anew."""
        if question.kind == "day":
            return digest(self.day)
        return digest(self.repository.answer(question))

    def holds(self, evidence: str) -> bool:
        """Whether every question in a row's evidence is answered as it was."""
        found = self.holding.get(evidence)
        if found is None:
            found = self.holding[evidence] = all(
                self.answer(Question(kind, at, name)) == answer for kind, at, name, answer in json.loads(evidence)
            )
        return found

    def key(self, job: Job, own: Question, answer: str) -> bytes:
        """The digest under which a file's verdict stands."""
        made = self.terms.copy()
        made.update(f"{job.kind}\0{own.at}\0{answer}".encode("utf-8", "surrogatepass"))
        return made.digest()


@dataclass(slots=True)
class Ledger:
    """Verdicts written down before, and those to write down now."""

    bench: Bench
    store: Store
    identity: str = field(default_factory=code_identity)
    _disks: dict[Ground, _Disk] = field(default_factory=dict)

    def recall(self, job: Job) -> Sheet | None:
        """The sheet that judging the file would give; none where that is not certain."""
        disk = self._disk(job.ground)
        own = Question("bytes", disk.repository.within(job.path))
        row = self.store.row(disk.key(job, own, disk.asked(own)))
        try:
            return sheet_of(row.sheet) if row is not None and disk.holds(row.evidence) else None
        except (UnfitError, ValueError, TypeError):
            return None

    def keep(self, job: Job, judged: Judged) -> None:
        """Write a verdict down, under what was read when it was made; not one that the program failed on."""
        if unfinished(judged.sheet.findings):
            return
        disk = self._disk(job.ground)
        own = Question("bytes", disk.repository.within(job.path))
        answers = dict(judged.evidence)
        answer = answers.pop(own, None)
        if answer is None:
            return
        try:
            row = Row(_evidence(answers.items()), written(judged.sheet))
        except UnfitError:
            return
        self.store.put(disk.key(job, own, answer), row)

    def close(self) -> None:
        """Let go of the file, with all written."""
        self.store.close()

    def _disk(self, ground: Ground) -> _Disk:
        found = self._disks.get(ground)
        if found is None:
            found = self._disks[ground] = _Disk(ground, self.bench, self.identity)
        return found


def _evidence(answers: Iterable[tuple[Question, str]]) -> str:
    return json.dumps([[*question, answer] for question, answer in answers], separators=(",", ":"))
