"""The verdicts on open documents, worked out on one thread beside the loop that answers the client.

Of one document never more than one verdict is under way: while it is, later versions wait, and only the last of them is
judged. Whoever asks gets a verdict on the version that was open when they asked, or on a later one.
"""

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import NamedTuple, TypeVar

from lineshaft.api import Judgement, OpenFiles
from lineshaft.language_server.documents import Documents, OpenDocument

Result = TypeVar("Result")


class Stamp(NamedTuple):
    """A document's serial number, and the generation of what other files bear upon it."""

    serial: int
    generation: int

    def covers(self, wanted: "Stamp") -> bool:
        """Whether a verdict with this stamp answers who wanted that one."""
        return self.serial >= wanted.serial and self.generation >= wanted.generation


class Judged(NamedTuple):
    """A verdict, the version of the document that it is on, and a number that no other verdict has."""

    document: OpenDocument
    stamp: Stamp
    judgement: Judgement
    number: int


class Judgements:
    """Judges what is open in ``documents``; files are shown from the folder ``working``."""

    def __init__(self, documents: Documents, working: Path) -> None:
        self.documents, self.working = documents, working
        self._worker = ThreadPoolExecutor(1, "verdicts")
        self._files: OpenFiles | None = None
        self._under_way: dict[str, asyncio.Task[Judged]] = {}
        self._known: dict[str, Judged] = {}
        self._solved: dict[str, Judged] = {}
        self._made = 0

    async def current(self, uri: str) -> Judged | None:
        """The verdict on what is open at an address now, or on a later version; none where nothing of ours is."""
        document = self.documents.get(uri)
        if document is None:
            return None
        wanted = self._stamp(document)
        while True:
            known = self._known.get(uri)
            if known is not None and known.stamp.covers(wanted):
                return known
            document = self.documents.get(uri)
            if document is None:
                return None
            task = self._under_way.get(uri)
            if task is None:
                task = asyncio.ensure_future(self._judged(document))
                self._under_way[uri] = task
                task.add_done_callback(lambda _: self._under_way.pop(uri, None))
            await asyncio.wait([task])  # a client that cancels its request leaves the verdict to others

    def last_solved(self, uri: str) -> Judged | None:
        """The last verdict with a rig that had parts, perhaps on an earlier version: for names, never for figures."""
        return self._solved.get(uri)

    def idle(self) -> bool:
        """Whether no verdict is under way."""
        return not self._under_way

    def forget(self, uri: str) -> None:
        """Let go of what is known of a document that was closed."""
        self._known.pop(uri, None)
        self._solved.pop(uri, None)

    def close(self) -> None:
        """Take no more work."""
        self._worker.shutdown(wait=False, cancel_futures=True)

    async def on_disk(self, path: Path) -> Judgement:
        """The verdict on a file that is not open."""
        return await self._run(path, self.documents.texts())

    def _stamp(self, document: OpenDocument) -> Stamp:
        return Stamp(document.serial, self.documents.generation)

    async def _judged(self, document: OpenDocument) -> Judged:
        stamp = self._stamp(document)
        judgement = await self._run(document.path, self.documents.texts())
        self._made += 1
        judged = Judged(document, stamp, judgement, self._made)
        if self.documents.get(document.uri) is not None:
            self._known[document.uri] = judged
            if judgement.inspected is not None and judgement.inspected.rig.parts:
                self._solved[document.uri] = judged
        return judged

    async def work(self, job: Callable[[], Result]) -> Result:
        """Do a job on the thread that judges, between two verdicts."""
        return await asyncio.get_running_loop().run_in_executor(self._worker, job)

    async def _run(self, path: Path, texts: dict[Path, bytes]) -> Judgement:
        return await self.work(lambda: self._judge(path, texts))

    def _judge(self, path: Path, texts: dict[Path, bytes]) -> Judgement:
        if self._files is None:
            self._files = OpenFiles(self.working)
        return self._files.judge(path, texts)
