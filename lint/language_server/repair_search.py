"""Repairs of what is open, searched for on a thread of their own and kept as long as the texts that they are for.

A blueprint's are proved in all that uses it, with what is open there too.
"""

import asyncio
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, Final, NamedTuple

from lineshaft.api import JudgedFinding, RepairedFinding, repairs_of, users_of
from lineshaft.check.judged_finding import repaired
from lineshaft.check.open_file_repairs import Users
from lineshaft.exits import CannotDoError
from lineshaft.language_server.judgements import Judged
from lineshaft.language_server.server import RigServer

MOST_REPAIRS: Final = 3
"""Of one finding."""


class _Known(NamedTuple):
    """What was found out for one state of a document: what uses it, or why that cannot be told; repairs."""

    state: object
    users: "Users | str"
    repairs: dict[JudgedFinding, RepairedFinding]


class RepairSearch:
    """Repairs by the verdict that they are for; those of one document at a time are kept."""

    def __init__(self, server: RigServer) -> None:
        self._server = server
        self._worker = ThreadPoolExecutor(1, "repairs")
        self._known: dict[str, _Known] = {}

    async def repaired(self, judged: Judged, findings: Iterable[JudgedFinding]) -> list[RepairedFinding]:
        """Findings with their repairs; none once the text has changed."""
        found = []
        for finding in findings:
            users = await self.users(judged)
            if users is None:
                return []
            known = self._known[judged.document.uri].repairs
            if finding not in known:
                made = await self.beside(judged, lambda: _repaired(judged, finding, users))  # noqa: B023
                if made is None:
                    return []
                known[finding] = made
            found.append(known[finding])
        return found

    async def users(self, judged: Judged) -> "Users | str | None":
        """What uses a blueprint (of a rig nothing), or why that cannot be told; none once the text has changed."""
        uri, state = judged.document.uri, self._state(judged)
        known = self._known.get(uri)
        if known is None or known.state != state:
            texts = self._server.documents.texts()
            users = await self.beside(judged, lambda: _users(judged, texts))
            if users is None:
                return None
            known = self._known[uri] = _Known(state, users, {})
        return known.users

    def _state(self, judged: Judged) -> object:
        """What a proof hangs on: the verdict, and for a blueprint all else that is open."""
        if judged.document.kind != "blueprint":
            return judged.number
        return judged.number, *(document.serial for document in self._server.documents)

    async def beside(self, judged: Judged, job: Callable[[], Any]) -> Any:
        """The outcome of a job on the thread for repairs; none where the text has changed before or after."""

        def unless_changed() -> Any:
            return job() if self._server.is_open(judged) else None

        found = await asyncio.get_running_loop().run_in_executor(self._worker, unless_changed)
        return found if self._server.is_open(judged) else None


def _users(judged: Judged, texts: dict[Path, bytes]) -> "Users | str":
    try:
        return users_of(judged.judgement, texts)
    except CannotDoError as error:
        return str(error)


def _repaired(judged: Judged, finding: JudgedFinding, users: "Users | str") -> RepairedFinding:
    if isinstance(users, str):
        return repaired(finding, no_repair=users)
    return repairs_of(judged.judgement, finding, MOST_REPAIRS, users)
