"""An editor for tests: a client of the protocol with a real server in a process of its own."""

import asyncio
import sys
from collections.abc import AsyncIterator, Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from contextlib import asynccontextmanager, suppress
from pathlib import Path
from typing import Any

from lsprotocol import types
from pytest_lsp.client import LanguageClient, client_capabilities, make_test_lsp_client

SECONDS = 15
"""Longer than any answer takes on a loaded machine."""
PUSHED_TO = "neovim@0.7"
PULLS = "visual-studio-code"


class Editor:
    """What a person does in an editor, by the names of files in one folder."""

    def __init__(self, client: LanguageClient, folder: Path) -> None:
        self.client, self.folder = client, folder
        self.versions: dict[str, int] = {}
        self.texts: dict[str, str] = {}

    def uri(self, name: str) -> str:
        """The address of a file."""
        return (self.folder / name).as_uri()

    def document(self, name: str) -> types.TextDocumentIdentifier:
        """A file as requests name it."""
        return types.TextDocumentIdentifier(self.uri(name))

    def open(self, name: str, text: str | None = None) -> str:
        """Open a file, with another text than the disk has if one is given; returns the text."""
        content = (self.folder / name).read_bytes().decode() if text is None else text
        self.versions[name], self.texts[name] = 1, content
        item = types.TextDocumentItem(self.uri(name), "yaml", 1, content)
        self.client.text_document_did_open(types.DidOpenTextDocumentParams(item))
        return content

    def write(self, name: str, text: str) -> None:
        """Put another text in the place of an open one's."""
        self.changes(name, types.TextDocumentContentChangeWholeDocument(text))
        self.texts[name] = text

    def changes(self, name: str, *changes: types.TextDocumentContentChangeEvent) -> None:
        """Changes as the protocol has them."""
        self.versions[name] += 1
        which = types.VersionedTextDocumentIdentifier(self.versions[name], self.uri(name))
        self.client.text_document_did_change(types.DidChangeTextDocumentParams(which, list(changes)))

    def close(self, name: str) -> None:
        """Close a file without saving it."""
        self.client.text_document_did_close(types.DidCloseTextDocumentParams(self.document(name)))

    async def diagnostics(self, name: str) -> list[types.Diagnostic]:
        """What an open file shows, asked for."""
        params = types.DocumentDiagnosticParams(self.document(name))
        report = await self.answer(self.client.text_document_diagnostic_async(params))
        assert isinstance(report, types.RelatedFullDocumentDiagnosticReport)
        return list(report.items)

    async def pushed(self, name: str, fits: Callable[[list[types.Diagnostic]], bool]) -> list[types.Diagnostic]:
        """What the server pushes for a file, once it fits."""
        for _ in range(SECONDS * 50):
            found = self.client.diagnostics.get(self.uri(name))
            if found is not None and fits(list(found)):
                return list(found)
            await asyncio.sleep(0.02)
        raise AssertionError(f"{name} shows {self.client.diagnostics.get(self.uri(name))}")

    async def hover(self, name: str, where: types.Position) -> str | None:
        """What one sees at a place, in Markdown."""
        found = await self.answer(
            self.client.text_document_hover_async(types.HoverParams(self.document(name), where))
        )
        if found is None:
            return None
        assert isinstance(found.contents, types.MarkupContent)
        return found.contents.value

    async def hints(self, name: str) -> dict[int, str]:
        """The hints of a whole file by their lines, from 0."""
        everything = types.Range(types.Position(0, 0), types.Position(1_000_000, 0))
        found = await self.answer(
            self.client.text_document_inlay_hint_async(types.InlayHintParams(self.document(name), everything))
        )
        return {hint.position.line: str(hint.label) for hint in found or ()}

    async def actions(self, name: str, where: types.Position, only: list[str] | None = None) -> list[types.CodeAction]:
        """What may be done at a place."""
        context = types.CodeActionContext([], only=only)
        params = types.CodeActionParams(self.document(name), types.Range(where, where), context)
        return list(await self.answer(self.client.text_document_code_action_async(params)) or [])

    async def done(self, name: str, action: types.CodeAction) -> str:
        """The text of an open file after an action, which changes nothing else, and which is then written there."""
        if action.edit is None:
            action = await self.answer(self.client.code_action_resolve_async(action))
        assert action.edit is not None and action.edit.document_changes is not None
        (change,) = action.edit.document_changes
        assert isinstance(change, types.TextDocumentEdit)
        assert change.text_document.uri == self.uri(name) and change.text_document.version == self.versions[name]
        text = applied(self.texts[name], [edit for edit in change.edits if isinstance(edit, types.TextEdit)])
        self.write(name, text)
        return text

    def applied(self, name: str, edits: list[types.TextEdit]) -> str:
        """The text of an open file with edits made."""
        return applied(self.texts[name], edits)

    async def answer(self, asked: Coroutine[Any, Any, Any]) -> Any:
        """The server's answer, which has to come."""
        return await asyncio.wait_for(asked, SECONDS)

    def at(self, name: str, text: str, offset: int = 0) -> types.Position:
        """The place of a stretch of an open ASCII file, where it stands first."""
        before = self.texts[name][: self.texts[name].index(text) + offset]
        return types.Position(before.count("\n"), len(before) - (before.rfind("\n") + 1))


@asynccontextmanager
async def editor(
    folder: Path, like: str = PULLS, options: object = None, encodings: list[str] | None = None
) -> AsyncIterator[Editor]:
    """An editor with the abilities of a known one, in a folder; the server ends with it."""
    client = make_test_lsp_client()
    await client.start_io(sys.executable, "-m", "lineshaft", "lsp", "--stdio", cwd=str(folder))
    capabilities = client_capabilities(like)
    if capabilities.workspace is not None:
        capabilities.workspace.workspace_edit = types.WorkspaceEditClientCapabilities(document_changes=True)
    if encodings is not None:
        capabilities.general = types.GeneralClientCapabilities(position_encodings=encodings)
    if like == PULLS and capabilities.text_document is not None:
        capabilities.text_document.diagnostic = types.DiagnosticClientCapabilities()
    await client.initialize_session(
        types.InitializeParams(
            capabilities=capabilities, root_uri=folder.as_uri(), initialization_options=options,
            workspace_folders=[types.WorkspaceFolder(folder.as_uri(), "works")],
        )
    )
    done = False
    try:
        yield Editor(client, folder)
        done = True
        await asyncio.wait_for(client.shutdown_session(), SECONDS)
    finally:
        server = client._server
        if server is not None and server.returncode is None:
            if not done:
                server.kill()
            with suppress(asyncio.TimeoutError):
                await asyncio.wait_for(server.wait(), 5)
            if server.returncode is None:
                server.kill()
        await client.stop()


def edit(folder: Path, work: Callable[[Editor], Coroutine[Any, Any, None]], like: str = PULLS, **given: Any) -> None:
    """Do some work in an editor, from the start of its server to the end."""

    async def session() -> None:
        async with editor(folder, like, **given) as one:
            await work(one)

    # In a thread of its own: a browser that other tests hold open keeps a loop running in this one.
    with ThreadPoolExecutor(1) as thread:
        thread.submit(lambda: asyncio.run(session())).result()


def applied(text: str, edits: list[types.TextEdit]) -> str:
    """A text with edits made; of characters within the BMP alone."""
    lines = text.split("\n")
    starts = [0]
    for line in lines:
        starts.append(starts[-1] + len(line) + 1)
    spots = sorted(
        ((starts[e.range.start.line] + e.range.start.character, starts[e.range.end.line] + e.range.end.character, e)
         for e in edits), key=lambda spot: spot[:2], reverse=True,
    )
    for start, end, edit in spots:
        text = text[:start] + edit.new_text + text[end:]
    return text
