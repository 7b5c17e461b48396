"""What is wrong in the files of the repository that are not open, for clients that ask for the whole of it.

A file is judged again only when a file of ours has changed on the disk, or an open catalogue, blueprint or policy.
"""

import asyncio
import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import Final, NamedTuple

from lsprotocol import types

from lineshaft.api import Judgement
from lineshaft.language_server.client_text import ClientText
from lineshaft.language_server.diagnostics import diagnostic_of
from lineshaft.language_server.documents import OpenDocument, uri_of
from lineshaft.language_server.judgements import Judged, Stamp
from lineshaft.language_server.server import RigServer
from lineshaft.run.discovery import walk
from lineshaft.schema.loading import FileKind

MOST_FILES: Final = 2_000
"""How many files are looked at; in a larger repository `lineshaft check` is the way."""
_PATIENCE: Final = 2.0
"""Seconds between two looks at the disk for who waits for a change."""


class _Kept(NamedTuple):
    """What was found, by the addresses of files: under a text that changes with it, and as shown."""

    state: object
    reports: dict[str, tuple[str, list[types.Diagnostic]]]


def register(server: RigServer) -> None:
    """Answer requests for all that is wrong."""
    kept = _Kept(None, {})

    @server.feature(types.WORKSPACE_DIAGNOSTIC)
    async def everywhere(params: types.WorkspaceDiagnosticParams) -> types.WorkspaceDiagnosticReport:
        nonlocal kept
        known = {each.uri: each.value for each in params.previous_result_ids}
        while True:
            state = await server.judgements.work(lambda: _state(server))
            if state != kept.state:
                kept = await _judged(server, state)
            reports = [*_reports(kept, known, server)]
            if not known or any(isinstance(each, types.WorkspaceFullDocumentDiagnosticReport) for each in reports):
                return types.WorkspaceDiagnosticReport(reports)
            await asyncio.sleep(_PATIENCE)  # the client asks again at once: it gets an answer when there is something


def _state(server: RigServer) -> object:
    """What all verdicts hang on: the files of ours on the disk by size and time, and the open ones that others use."""
    found = []
    for number, (path, _) in enumerate(walk(server.judgements.working)):
        if number >= MOST_FILES:
            break
        try:
            stat = path.stat()
        except OSError:
            continue
        found.append((path, stat.st_mtime_ns, stat.st_size))
    opened = sorted(str(document.path) for document in server.documents)
    return tuple(found), server.documents.generation, tuple(opened), server.units


async def _judged(server: RigServer, state: object) -> _Kept:
    reports = {}
    for path, kind in _closed(server):
        judgement = await server.judgements.on_disk(path)
        items = await server.judgements.work(lambda: _shown(server, path, kind, judgement))  # noqa: B023
        digest = hashlib.sha256(repr(items).encode("utf-8", "surrogatepass")).hexdigest()[:20]
        reports[uri_of(path)] = digest, items
    return _Kept(state, reports)


def _closed(server: RigServer) -> Iterator[tuple[Path, FileKind]]:
    opened = {document.path for document in server.documents}
    for number, (path, kind) in enumerate(walk(server.judgements.working)):
        if number >= MOST_FILES:
            return
        if path not in opened:
            yield path, kind


def _shown(server: RigServer, path: Path, kind: FileKind, judgement: Judgement) -> list[types.Diagnostic]:
    if not judgement.findings:
        return []
    try:
        text = path.read_bytes().decode("utf-8", "replace")
    except OSError:
        text = ""
    document = OpenDocument(uri_of(path), path, kind, 0, ClientText(text, server.documents.encoding))
    judged = Judged(document, Stamp(0, 0), judgement, 0)
    places = server.places(judged)
    return [diagnostic_of(judged, finding, places, server.units) for finding in judgement.findings]


def _reports(
    kept: _Kept, known: dict[str, str], server: RigServer
) -> Iterator[types.WorkspaceFullDocumentDiagnosticReport | types.WorkspaceUnchangedDocumentDiagnosticReport]:
    for uri, (digest, items) in kept.reports.items():
        if known.get(uri) == digest:
            yield types.WorkspaceUnchangedDocumentDiagnosticReport(uri, digest)
        elif items or uri in known:
            yield types.WorkspaceFullDocumentDiagnosticReport(uri, items, result_id=digest)
    for uri in known:
        if uri not in kept.reports and server.documents.get(uri) is None:
            yield types.WorkspaceFullDocumentDiagnosticReport(uri, [])
