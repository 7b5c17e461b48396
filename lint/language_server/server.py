"""The server: what it keeps of a client, and the requests that each family answers."""

import asyncio
import os
from collections.abc import Awaitable, Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Final, TypeVar, cast
from urllib.parse import quote

from lsprotocol import types
from pygls.exceptions import JsonRpcException
from pygls.lsp.server import LanguageServer
from pygls.protocol import LanguageServerProtocol, lsp_method

from lineshaft import __version__
from lineshaft.language_server.client_text import ClientText, Encoding
from lineshaft.language_server.documents import Documents, OpenDocument, path_of, uri_of
from lineshaft.language_server.judgements import Judged, Judgements
from lineshaft.run.discovery import absolute
from lineshaft.schema.text.repository import MAX_BYTES
from lineshaft.schema.text.span import Span
from lineshaft.write.shown_units import Units

Answer = TypeVar("Answer")
SETTINGS: Final = "lineshaft"
"""The section of the client's settings that is ours."""
SCHEME: Final = "lineshaft"
"""Of the addresses of texts that can only be read."""
VIEWS: Final = ("expanded.yaml", "drawing.svg")
"""What these texts are called; behind the name stands the rig's own address."""
QUIET: Final = 0.04
"""Seconds for which changes are gathered before the client is told what they make."""


class RigProtocol(LanguageServerProtocol):
    """The protocol with our own texts, whose lines end where the protocol says and nowhere else."""

    @lsp_method(types.INITIALIZE)
    def lsp_initialize(self, params: types.InitializeParams):  # type: ignore[no-untyped-def]
        """Say also what the library does not say for us: that there are texts to be read only."""
        result = yield from super().lsp_initialize(params)
        workspace = result.capabilities.workspace or types.WorkspaceOptions()
        workspace.text_document_content = types.TextDocumentContentOptions([SCHEME])
        result.capabilities.workspace = workspace
        return result

    @lsp_method(types.WORKSPACE_EXECUTE_COMMAND)
    def lsp_workspace__execute_command(self, params: types.ExecuteCommandParams):  # type: ignore[no-untyped-def]
        """Run a command; where the client sends no arguments it is told which lack, as where it sends too few."""
        params.arguments = params.arguments or []
        return (yield from super().lsp_workspace__execute_command(params))

    # Functions, where the library has generators: of each of those it keeps a future for ever.
    @lsp_method(types.TEXT_DOCUMENT_DID_OPEN)
    def lsp_text_document__did_open(self, params: types.DidOpenTextDocumentParams) -> None:
        """Hand on a text that was opened."""
        self.fm.features[types.TEXT_DOCUMENT_DID_OPEN](params)

    @lsp_method(types.TEXT_DOCUMENT_DID_CHANGE)
    def lsp_text_document__did_change(self, params: types.DidChangeTextDocumentParams) -> None:
        """Hand on a change."""
        self.fm.features[types.TEXT_DOCUMENT_DID_CHANGE](params)

    @lsp_method(types.TEXT_DOCUMENT_DID_CLOSE)
    def lsp_text_document__did_close(self, params: types.DidCloseTextDocumentParams) -> None:
        """Hand on that a text was closed."""
        self.fm.features[types.TEXT_DOCUMENT_DID_CLOSE](params)

    def send_error(self, number: int | str | None, code: int, message: str) -> None:
        """Send an error, to no request where its number is not known (JSON-RPC 2.0, 5.1: then `null`)."""
        self._send_data({"jsonrpc": "2.0", "id": number, "error": {"code": code, "message": message}})

    def _send_response(  # type: ignore[no-untyped-def]
        self, msg_id: int | str, result: object = None, error: types.ResponseError | None = None
    ):
        if error is None:
            super()._send_response(msg_id, result)
        else:
            self._result_types.pop(msg_id, None)
            self.send_error(msg_id, error.code, error.message)  # without the library's trace of its calls


class RigServer(LanguageServer):
    """A server of one client."""

    protocol: RigProtocol

    def __init__(self) -> None:
        super().__init__("lineshaft", __version__, protocol_cls=RigProtocol)
        self.documents = Documents()
        self.judgements = Judgements(self.documents, Path.cwd().resolve())
        self.units: Units = "si"
        self.pulls = False
        """Whether the client asks for diagnostics; else they are pushed to it."""
        self.pushed: dict[str, tuple[int, str]] = {}
        """Of each document what was pushed last: its serial number, and the state of the diagnostics."""
        self._changed: dict[str, OpenDocument] = {}
        self._telling: asyncio.Task[None] | None = None
        self.was_met = False
        """Whether the client has said who it is."""
        self.was_shut_down = False
        """Whether the client has said goodbye."""

    def shutdown(self) -> None:
        """Stop reading and working, without a wait for what is under way."""
        if self._stop_event is not None:
            self._stop_event.set()
        if self._thread_pool is not None:
            self._thread_pool.shutdown(wait=False, cancel_futures=True)

    async def asked(self, question: Awaitable[Answer]) -> Answer | None:
        """What the client answers; none where it refuses, as some do what others can."""
        try:
            return await question
        except JsonRpcException:
            return None

    def take_client(self, params: types.InitializeParams) -> None:
        """Take over what the client says of itself: its folder, the units of its columns, what it can do."""
        self.documents.encoding = cast(Encoding, str(self.workspace.position_encoding or "utf-16"))
        folders = params.workspace_folders or []
        root = path_of(folders[0].uri) if folders else path_of(params.root_uri or "")
        if root is not None and root.is_dir():
            self.judgements.working = root
        documents = params.capabilities.text_document
        self.pulls = documents is not None and documents.diagnostic is not None
        self.take_settings(params.initialization_options)
        self.was_met = True

    def take_settings(self, settings: object) -> None:
        """Take over the client's settings, of which there may be none."""
        ours = settings.get(SETTINGS, settings) if isinstance(settings, dict) else None
        units = ours.get("units") if isinstance(ours, dict) else None
        if units in ("si", "rpm"):
            self.units = units

    def places(self, near: Judged | None = None) -> "Places":
        """Where the files are that findings name, each looked for once; ``near`` is the one that most stand in."""
        return Places(self, near)

    def changed(self, document: OpenDocument, tell: Callable[[dict[str, OpenDocument]], Awaitable[None]]) -> None:
        """Have the client told of a change, together with all that change in the next moment; one telling at a time."""
        self._changed[document.uri] = document
        if self._telling is None or self._telling.done():
            self._telling = asyncio.ensure_future(self._tell(tell))

    async def _tell(self, tell: Callable[[dict[str, OpenDocument]], Awaitable[None]]) -> None:
        while self._changed:
            await asyncio.sleep(QUIET)
            changed, self._changed = self._changed, {}
            await tell(changed)

    def ask_to_refresh(self) -> None:
        """Tell a client that asks that all it knows may have changed, as far as it can be told."""
        workspace = self.client_capabilities.workspace
        if workspace is None:
            return
        if workspace.diagnostics is not None and workspace.diagnostics.refresh_support:
            self.workspace_diagnostic_refresh(None)
        if workspace.inlay_hint is not None and workspace.inlay_hint.refresh_support:
            self.workspace_inlay_hint_refresh(None)

    def is_open(self, judged: Judged) -> bool:
        """Whether the text of a verdict is still the one that is open."""
        document = self.documents.get(judged.document.uri)
        return document is not None and document.serial == judged.document.serial

    def shows_disabled(self) -> bool:
        """Whether the client shows why something cannot be done."""
        documents = self.client_capabilities.text_document
        return bool(documents and documents.code_action and documents.code_action.disabled_support)

    def takes_snippets(self) -> bool:
        """Whether the client lets somebody fill in the gaps of what it puts in."""
        documents = self.client_capabilities.text_document
        item = documents.completion.completion_item if documents and documents.completion else None
        return bool(item and item.snippet_support)

    def say(self, message: str) -> None:
        """Have the client show a message."""
        self.window_show_message(types.ShowMessageParams(types.MessageType.Warning, message))

    def workspace_edit(self, edits: Mapping[str, Sequence[types.TextEdit]]) -> types.WorkspaceEdit:
        """Edits by addresses, for the versions that are open, as the client takes them."""
        workspace = self.client_capabilities.workspace
        if workspace is None or workspace.workspace_edit is None or not workspace.workspace_edit.document_changes:
            return types.WorkspaceEdit(changes={uri: list(there) for uri, there in edits.items()})
        changes = []
        for uri, there in edits.items():
            document = self.documents.get(uri)
            which = types.OptionalVersionedTextDocumentIdentifier(uri, None if document is None else document.version)
            changes.append(types.TextDocumentEdit(which, list(there)))
        return types.WorkspaceEdit(document_changes=changes)

    def refresh_views(self, uris: Iterable[str]) -> None:
        """Have the client ask again for the texts that show rigs."""
        workspace = self.client_capabilities.workspace
        if workspace is None or workspace.text_document_content is None:
            return
        for uri in uris:
            for view in VIEWS:
                address = f"{SCHEME}:/{view}?{quote(uri, safe='')}"
                self.workspace_text_document_content_refresh(types.TextDocumentContentRefreshParams(address))

    async def judged(self, uri: str) -> Judged | None:
        """The verdict on what is open at an address."""
        return await self.judgements.current(uri)


class Places:
    """Files as findings name them to the client's addresses and places."""

    def __init__(self, server: RigServer, near: Judged | None) -> None:
        self._server = server
        self._known: dict[str, tuple[str, ClientText]] = {}
        if near is not None:
            self._known[near.judgement.file] = near.document.uri, near.document.content

    def location(self, file: str, span: Span) -> types.Location:
        """A span of a file."""
        uri, content = self.file(file)
        return types.Location(uri, content.range_of(span))

    def file(self, file: str) -> tuple[str, ClientText]:
        """The address and text of a file, open or on the disk; no text where it cannot be read."""
        found = self._known.get(file)
        if found is None:
            found = self.at(absolute(Path(os.path.normpath(self._server.judgements.working / file))))
            self._known[file] = found
        return found

    def at(self, path: Path) -> tuple[str, ClientText]:
        """The same for a path."""
        document = self._server.documents.at(path)
        return (uri_of(path), self._on_disk(path)) if document is None else (document.uri, document.content)

    def _on_disk(self, path: Path) -> ClientText:
        try:
            raw = path.read_bytes() if path.stat().st_size <= MAX_BYTES else b""
        except OSError:
            raw = b""
        return ClientText(raw.decode("utf-8", "replace"), self._server.documents.encoding)
