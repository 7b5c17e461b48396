"""Verdicts of earlier runs: the same code, settings, file and answers of the disk give the same report.

A verdict is found under a digest of the code, the settings, where the file stands and what it holds. It counts only
if every other question it hung on (catalogues, blueprints, policies, files that were not there) is answered today as
it was then. Nothing is parsed to find that out: files are hashed, each once a run.
"""

import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass, field

from lineshaft.check.checker import Checker, FileContext, Job, Judged
from lineshaft.check.failures import unfinished
from lineshaft.run.cache_store import Row, Store
from lineshaft.run.code_identity import code_identity
from lineshaft.run.report_record import UnfitError, report_of, written
from lineshaft.schema.text.dependencies import Query, digest
from lineshaft.schema.text.windows import shown_path
from lineshaft.write.summary import FileReport

_NOT_IN_TERMS = ("working", "policy_file", "day")  # these count through the places they lead to, and as a question


class _Disk:
    """What one root's disk answers in this run, as digests, each question asked once."""

    def __init__(self, file_context: FileContext, checker: Checker, identity: str) -> None:
        self.repository = file_context.repository(checker)
        self.day = checker.day.isoformat()
        self.known: dict[Query, str] = {}
        self.holding: dict[str, bool] = {}
        policy = "" if file_context.policy is None else self.repository.within(file_context.policy)
        here = shown_path(checker.working, file_context.root)
        settings = {name: value for name, value in checker.settings().items() if name not in _NOT_IN_TERMS}
        terms = "\0".join((identity, repr(sorted(settings.items())), policy, here))
        self.terms = hashlib.blake2b(terms.encode("utf-8", "surrogatepass"), digest_size=32)

    def answer(self, query: Query) -> str:
        """The digest of what the disk answers."""
        found = self.known.get(query)
        if found is None:
            found = self.known[query] = self.asked(query)
        return found

    def asked(self, query: Query) -> str:
        """The same, asked anew."""
        if query.kind == "day":
            return digest(self.day)
        return digest(self.repository.answer(query))

    def holds(self, dependencies: str) -> bool:
        """Whether every question in a row's dependencies is answered as it was."""
        found = self.holding.get(dependencies)
        if found is None:
            found = self.holding[dependencies] = all(
                self.answer(Query(kind, at, name)) == answer for kind, at, name, answer in json.loads(dependencies)
            )
        return found

    def key(self, job: Job, own: Query, answer: str) -> bytes:
        """The digest under which a file's verdict stands."""
        made = self.terms.copy()
        made.update(f"{job.kind}\0{own.at}\0{answer}".encode("utf-8", "surrogatepass"))
        return made.digest()


@dataclass(slots=True)
class ResultCache:
    """Verdicts written down before, and those to write down now."""

    checker: Checker
    store: Store
    identity: str = field(default_factory=code_identity)
    _disks: dict[FileContext, _Disk] = field(default_factory=dict)

    def get(self, job: Job) -> FileReport | None:
        """The report that judging the file would give; none where that is not certain."""
        disk = self._disk(job.file_context)
        own = Query("bytes", disk.repository.within(job.path))
        key = disk.key(job, own, disk.asked(own))
        row = self.store.row(key)
        try:
            return report_of(row.report) if row is not None and disk.holds(row.dependencies) else None
        except (UnfitError, ValueError, TypeError, LookupError, AttributeError, RecursionError):
            self.store.drop(key)
            return None

    def put(self, job: Job, judged: Judged) -> None:
        """Write a verdict down, under what was read when it was made; not one that the program failed on."""
        if unfinished(judged.report.findings):
            return
        disk = self._disk(job.file_context)
        own = Query("bytes", disk.repository.within(job.path))
        answers = dict(judged.dependencies)
        answer = answers.pop(own, None)
        if answer is None:
            return
        try:
            row = Row(_dependencies(answers.items()), written(judged.report))
        except UnfitError:
            return
        self.store.put(disk.key(job, own, answer), row)

    def close(self) -> None:
        """Let go of the file, with all written."""
        self.store.close()

    def _disk(self, file_context: FileContext) -> _Disk:
        found = self._disks.get(file_context)
        if found is None:
            found = self._disks[file_context] = _Disk(file_context, self.checker, self.identity)
        return found


def _dependencies(answers: Iterable[tuple[Query, str]]) -> str:
    return json.dumps([[*query, answer] for query, answer in answers], separators=(",", ":"))
