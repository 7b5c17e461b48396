"""All families of requests in one server, and what happens as texts open, change and close."""

import logging
import os
import sys

from lsprotocol import types

from lineshaft.exits import Exit
from lineshaft.language_server import (
    code_actions,
    commands,
    completion,
    diagnostics,
    hover,
    inlay_hints,
    navigation,
    outline,
    workspace_diagnostics,
)
from lineshaft.language_server.messages import converse
from lineshaft.language_server.server import SETTINGS, RigServer

_NAMES = ("*.rig", "*.blueprint", "*.catalogue", "*.stock", "*.snags", "lineshaft.policy")
WATCHED = tuple(f"**/{name}.{ending}" for name in _NAMES for ending in ("yaml", "yml"))
"""The files that verdicts hang on, as clients name them."""
FAMILIES = (
    code_actions,
    commands,
    completion,
    diagnostics,
    hover,
    inlay_hints,
    navigation,
    outline,
    workspace_diagnostics,
)


def open_server() -> RigServer:
    """A server that waits for its client."""
    logging.disable(logging.CRITICAL)  # what the client has to know is answered; nobody reads a log
    server = RigServer()
    _follow_texts(server)
    _follow_surroundings(server)
    for family in FAMILIES:
        family.register(server)
    return server


def _follow_texts(server: RigServer) -> None:
    @server.feature(types.INITIALIZE)
    def initialize(params: types.InitializeParams) -> None:
        server.take_client(params)

    # Not coroutines: what comes next from the client finds the text changed already.
    @server.feature(types.TEXT_DOCUMENT_DID_OPEN)
    def did_open(params: types.DidOpenTextDocumentParams) -> None:
        diagnostics.tell(server, server.documents.opened(params.text_document))

    @server.feature(types.TEXT_DOCUMENT_DID_CHANGE)
    def did_change(params: types.DidChangeTextDocumentParams) -> None:
        diagnostics.tell(server, server.documents.changed(params))

    @server.feature(types.TEXT_DOCUMENT_DID_CLOSE)
    def did_close(params: types.DidCloseTextDocumentParams) -> None:
        document = server.documents.closed(params.text_document.uri)
        server.judgements.forget(params.text_document.uri)
        diagnostics.tell(server, document)

    @server.feature(types.SHUTDOWN)
    def shutdown(*_: object) -> None:
        server.was_shut_down = True
        server.judgements.close()


def _follow_surroundings(server: RigServer) -> None:
    """Settings of the client, and files that change on the disk."""

    @server.feature(types.INITIALIZED)
    async def initialized(*_: object) -> None:
        workspace = server.client_capabilities.workspace
        watched = workspace.did_change_watched_files if workspace is not None else None
        if watched is not None and watched.dynamic_registration:
            options = types.DidChangeWatchedFilesRegistrationOptions([types.FileSystemWatcher(p) for p in WATCHED])
            files = types.Registration("files", types.WORKSPACE_DID_CHANGE_WATCHED_FILES, options)
            await server.asked(server.client_register_capability_async(types.RegistrationParams([files])))
        await settings()

    @server.feature(types.WORKSPACE_DID_CHANGE_CONFIGURATION)
    async def changed_settings(params: types.DidChangeConfigurationParams) -> None:
        server.take_settings(params.settings)
        await settings()
        server.ask_to_refresh()

    async def settings() -> None:
        """Clients that keep settings apart are asked for them."""
        workspace = server.client_capabilities.workspace
        if workspace is not None and workspace.configuration:
            asked = types.ConfigurationParams([types.ConfigurationItem(section=SETTINGS)])
            found = await server.asked(server.workspace_configuration_async(asked))
            server.take_settings(found[0] if found else None)

    @server.feature(types.WORKSPACE_DID_CHANGE_WATCHED_FILES)
    def changed_files(_: types.DidChangeWatchedFilesParams) -> None:
        server.documents.generation += 1
        for document in server.documents:
            diagnostics.tell(server, document)
        if server.pulls:
            server.ask_to_refresh()


def serve() -> None:
    """Serve one client on standard input and output, until it ends that or goes away.

    What anything else would print goes to the standard errors: a stray line would end the conversation.
    """
    stream = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    server = open_server()
    converse(server, sys.stdin.buffer, stream)
    # The thread that reads waits for the client, which may wait for us: nobody is waited for.
    os._exit(Exit.CLEAN if server.was_shut_down else Exit.FAILED)
