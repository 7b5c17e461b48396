"""What the client sends, message by message: read on a thread, handled on the loop, answered whatever it holds.

A head is lines like those of HTTP with a `Content-Length`, a body JSON-RPC 2.0 in UTF-8 (LSP 3.17, "Base Protocol").
What is no message gets the error that the protocol has for it, or, where nobody waits for an answer, a line in the
client's log. After a broken head the next whole one counts.
"""

import asyncio
import json
import threading
from collections.abc import Iterator
from contextlib import suppress
from typing import BinaryIO, Final, NamedTuple

from lsprotocol import types
from pygls.io_ import StdoutWriter

from lineshaft.language_server.server import RigServer

MOST_BYTES: Final = 64 * 1024 * 1024
"""Of one message: the largest file that is read, with every letter escaped, and more."""
LONGEST_LINE: Final = 4096
"""Bytes of a line in a head."""
MOST_WAITING: Final = 64
"""Messages that are read ahead of the one that is handled."""
_PARSE: Final = int(types.ErrorCodes.ParseError)
_REQUEST: Final = int(types.ErrorCodes.InvalidRequest)
_PARAMS: Final = int(types.ErrorCodes.InvalidParams)
_UNKNOWN: Final = int(types.ErrorCodes.MethodNotFound)
_NOT_MET: Final = int(types.ErrorCodes.ServerNotInitialized)


class Unusable(NamedTuple):
    """What came in place of a message: the protocol's code, and what is wrong with it."""

    code: int
    reason: str


def converse(server: RigServer, stdin: BinaryIO, stdout: BinaryIO) -> None:
    """Serve one client until it ends that, or goes away."""
    server.protocol.set_writer(StdoutWriter(stdout))
    # The library leaves by SystemExit when it is told to. The thread that reads waits on: who calls has to end all.
    with suppress(BrokenPipeError, KeyboardInterrupt, SystemExit):
        asyncio.run(_listen(server, stdin))
    server.shutdown()


async def _listen(server: RigServer, stdin: BinaryIO) -> None:
    loop, ended = asyncio.get_running_loop(), asyncio.Event()
    room = threading.Semaphore(MOST_WAITING)

    def handle(message: bytes | Unusable) -> None:
        room.release()
        try:
            receive(server, message)
        except BrokenPipeError:
            ended.set()

    def read() -> None:
        with suppress(OSError, ValueError, RuntimeError):  # the stream or the loop was closed meanwhile
            for message in messages(stdin):
                room.acquire()
                loop.call_soon_threadsafe(handle, message)
            loop.call_soon_threadsafe(ended.set)

    threading.Thread(target=read, name="client", daemon=True).start()
    await ended.wait()


def messages(stream: BinaryIO) -> Iterator[bytes | Unusable]:
    """The bodies of messages until the stream ends; for each stretch without a usable head one word of it."""
    lost = False
    while (length := _length(stream)) is not None:
        if isinstance(length, str):
            if not lost:
                yield Unusable(_PARSE, length)
            lost = True
            continue
        lost = False
        body = stream.read(length)
        if len(body) < length:
            return
        yield body


def _length(stream: BinaryIO) -> int | str | None:
    """The bytes of the body behind the next head, or why that is none; none at the end of the stream."""
    length: int | None = None
    begun = False
    while line := stream.readline(LONGEST_LINE):
        if not line.strip():
            if length is not None:
                return length
            if begun:
                return "a message begins with Content-Length: and the number of its bytes"
            continue
        begun = True
        name, _, value = line.partition(b":")
        if name.strip().lower() == b"content-length":
            digits = value.strip()
            if not digits.isdigit() or len(digits) > len(str(MOST_BYTES)) or int(digits) > MOST_BYTES:
                return f"Content-Length is a number of bytes, at most {MOST_BYTES:,}"
            length = int(digits)
    return None


def receive(server: RigServer, message: bytes | Unusable) -> None:
    """Handle one message; raises BrokenPipeError where nobody reads the answers any more, and SystemExit at the end."""
    read = _read(message)
    if isinstance(read, Unusable):
        server.protocol.send_error(None, read.code, read.reason)
        return
    refused = _malformed(read) or (_not_served(server, str(read["method"])) if "method" in read else None)
    if refused is None:
        refused = _handled(server, read)
    if refused is None:
        return
    number = _number(read)
    if "id" in read and ("method" in read or number is None):
        server.protocol.send_error(number, refused.code, refused.reason)
    elif refused.code != _UNKNOWN:  # what is not known is let be where nobody waits for an answer
        server.window_log_message(types.LogMessageParams(types.MessageType.Error, refused.reason))


def _handled(server: RigServer, read: dict[str, object]) -> Unusable | None:
    """Hand a message on; why it was not where it does not fit the protocol."""
    try:
        message = server.protocol.structure_message(read)
        if "id" in read and not hasattr(message, "id"):
            return Unusable(_REQUEST, f"{_named(read.get('method'))} is no request, and takes no id")
        server.protocol.handle_message(message)
    except BrokenPipeError:
        raise
    except Exception:  # what the library raises for what does not fit its types is of many kinds
        return Unusable(_PARAMS, f"{_named(read.get('method'))} has not its form in the protocol")
    return None


def _read(message: bytes | Unusable) -> dict[str, object] | Unusable:
    if isinstance(message, Unusable):
        return message
    try:
        read = json.loads(message.decode("utf-8"))
    except (ValueError, RecursionError):
        return Unusable(_PARSE, "a message is JSON in UTF-8, and not nested without end")
    return read if isinstance(read, dict) else Unusable(_REQUEST, "a message is a JSON object")


def _malformed(read: dict[str, object]) -> Unusable | None:
    """Why an object is no message."""
    if read.get("jsonrpc") != "2.0":
        return Unusable(_REQUEST, 'a message says "jsonrpc": "2.0"')
    if not isinstance(read.get("method", ""), str):
        return Unusable(_REQUEST, "a method is a text")
    return Unusable(_REQUEST, "an id is a text or a whole number") if "id" in read and _number(read) is None else None


def _number(read: dict[str, object]) -> int | str | None:
    number = read.get("id")
    return number if isinstance(number, int | str) and not isinstance(number, bool) else None


def _not_served(server: RigServer, method: str) -> Unusable | None:
    """Why a method cannot be handled, or not now: a server is met once, and told to shut down once."""
    if method == types.EXIT:
        return None
    if server.was_shut_down:
        return Unusable(_REQUEST, f"{_named(method)} comes after shutdown")
    if method == types.INITIALIZE:
        return Unusable(_REQUEST, "initialize comes a second time") if server.was_met else None
    if not server.was_met:
        return Unusable(_NOT_MET, f"{_named(method)} comes before initialize")
    known = server.protocol.fm
    if method not in known.features and method not in known.builtin_features and method != types.CANCEL_REQUEST:
        return Unusable(_UNKNOWN, f"{_named(method)} is not served")
    return None


def _named(method: object) -> str:
    return str(method)[:80] if method else "an answer"
