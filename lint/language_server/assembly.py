"""All families of requests in one server, and what happens as texts open, change and close."""

import logging
import os
import sys

from lsprotocol import types

from lineshaft.language_server import code_actions, completion, diagnostics, hover, inlay_hints, navigation, outline
from lineshaft.language_server.server import RigServer

FAMILIES = (code_actions, completion, diagnostics, hover, inlay_hints, navigation, outline)


def open_server() -> RigServer:
    """A server that waits for its client."""
    logging.disable(logging.CRITICAL)  # what the client has to know is answered; nobody reads a log
    server = RigServer()
    _follow_texts(server)
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
        server.judgements.close()


def serve() -> None:
    """Serve one client on standard input and output, until it ends that or goes away.

    What anything else would print goes to the standard errors: a stray line would end the conversation.
    """
    stream = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    open_server().start_io(stdout=stream)
