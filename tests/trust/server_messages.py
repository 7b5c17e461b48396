"""The language server under hostile messages, in this process: always an answer or a logged error, never its end.

`python -m trust.server_messages FIRST COUNT` (from `tests`) holds so many seeded conversations and tells which fail.
"""

import io
import json
import logging
import os
import sys
import tempfile
import threading
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path
from random import Random
from typing import Any, Final

from lsprotocol import types

from lineshaft.language_server.assembly import open_server
from lineshaft.language_server.messages import converse

SECONDS: Final = 3
"""For one conversation; it takes some hundredths."""
METHODS: Final = sorted(set(types.METHOD_TO_TYPES) - {"initialize", "shutdown", "exit"})
ODD: Final = (
    *(None, True, False, 0, -1, 7, 2**31, 10**30, -(10**30), 1.5, 1e308, float("inf"), float("nan")),
    *("", "x", "\ud83c", "\x00", "file:///a.rig.yaml", "file:", "lineshaft:/drawing.svg?", "a" * 5000),
    *([], {}, [[]], [None]),
)


def framed(body: object) -> bytes:
    """A message with its head: of bytes as they are, of all else as JSON."""
    raw = body if isinstance(body, bytes) else json.dumps(body).encode("utf-8", "surrogatepass")
    return b"Content-Length: %d\r\n\r\n" % len(raw) + raw


def greeting(folder: Path | None = None) -> bytes:
    """The first request of a client."""
    params = {"processId": None, "rootUri": folder.as_uri() if folder is not None else None, "capabilities": {}}
    return framed({"jsonrpc": "2.0", "id": "greeting", "method": "initialize", "params": params})


def conversation(sent: Iterable[bytes], asked: Collection[object] = ()) -> list[dict[str, Any]]:
    """What a server of its own sends for raw messages, until it has read all and answered what was ``asked``.

    The stream ends then, and the server has to. Raises TimeoutError where it does not, or does not answer any more.
    """
    disabled = logging.root.manager.disable
    theirs, ours = os.pipe()
    out = _Answers([*asked, "last"])
    with os.fdopen(theirs, "rb") as stdin, os.fdopen(ours, "wb") as client:
        serving = threading.Thread(target=converse, args=(open_server(), stdin, out), daemon=True)
        serving.start()
        for raw in sent:
            client.write(raw)
        client.write(b"\r\n\r\n" + framed({"jsonrpc": "2.0", "id": "last", "method": "$/last"}))
        client.flush()
        answered = out.all_answered.wait(SECONDS)
        client.close()
        serving.join(SECONDS)
    logging.disable(disabled)
    if not answered or serving.is_alive():
        raise TimeoutError(f"no answer to {sorted(map(str, out.open))}" if out.open else "the server does not end")
    return [each for each in out.messages if each.get("id") != "last"]


class _Answers(io.BytesIO):
    """What the server writes, message by message; it tells when no request is open any more."""

    def __init__(self, asked: list[object]) -> None:
        super().__init__()
        self.open, self.all_answered = asked, threading.Event()
        self.messages: list[dict[str, Any]] = []

    def write(self, data: Any) -> int:
        """Take a whole message: the library writes each at once."""
        message = json.loads(bytes(data).partition(b"\r\n\r\n")[2])
        self.messages.append(message)
        if "method" not in message and message.get("id") in self.open:
            self.open.remove(message.get("id"))
        if not self.open:
            self.all_answered.set()
        return len(data)

    def close(self) -> None:
        """What was written stays to be read."""


def unanswered(seed: int, folder: Path) -> list[object]:
    """Ids of a seeded conversation's requests that are not answered each once, and answers that are internal errors."""
    rng = Random(seed)
    sent, asked = [greeting(folder)], []
    uri = (folder / "a.rig.yaml").as_uri()
    text = rng.choice(["", "rig: 1\nparts:\n  a: {item: b}\n"])
    item = {"uri": uri, "languageId": "yaml", "version": 1, "text": text}
    sent.append(framed({"jsonrpc": "2.0", "method": "textDocument/didOpen", "params": {"textDocument": item}}))
    for number in range(20):
        message = _message(rng, number, uri)
        raw = framed(message)
        if rng.random() < 0.15:
            raw = _broken(rng, raw)
        elif type(message.get("id")) in (int, str) and "method" in message:
            asked.append(message["id"])
        sent.append(raw)
    answers = [each for each in conversation(sent, asked) if "method" not in each]
    found = [each.get("id") for each in answers]
    left: list[object] = [number for number in asked if found.count(number) != asked.count(number)]
    errors = [each["error"] for each in answers if "error" in each]
    return left + [error for error in errors if error["code"] == types.ErrorCodes.InternalError]


def _message(rng: Random, number: int, uri: str) -> dict[str, Any]:
    message: dict[str, Any] = {"jsonrpc": "2.0", "id": number, "method": rng.choice(METHODS)}
    place = {"line": rng.choice((0, 1, 2, *ODD)), "character": rng.choice((0, 3, *ODD))}
    params: dict[str, Any] = {
        "textDocument": {"uri": rng.choice((uri, uri, *ODD)), "version": 2},
        "position": place,
        "range": {"start": place, "end": rng.choice((place, *ODD))},
        "context": rng.choice(({"diagnostics": []}, *ODD)),
        "contentChanges": [{"range": {"start": place, "end": place}, "text": "x"}, {"text": rng.choice(ODD)}],
        "command": rng.choice(("lineshaft.size", "lineshaft.drawing", "lineshaft.expanded", "x")),
        "arguments": [rng.choice((uri, *ODD)) for _ in range(rng.randrange(3))],
        "newName": rng.choice(("b", *ODD)),
        "query": rng.choice(("", *ODD)),
        "previousResultIds": [],
        "uri": uri,
        "data": {"uri": rng.choice((uri, *ODD)), "what": rng.choice(("source.fixAll.lineshaft", *ODD))},
        "title": "x",
        "settings": rng.choice(({"lineshaft": {"units": rng.choice(ODD)}}, *ODD)),
    }
    message["params"] = params
    for _ in range(rng.randrange(3)):
        held = rng.choice((message, params))
        key = rng.choice(sorted(held))
        if rng.random() < 0.5:
            del held[key]
        else:
            held[key] = rng.choice(ODD)
    if rng.random() < 0.2:
        message.pop("id", None)
    if message.get("method") == "workspace/diagnostic":
        params["previousResultIds"] = []
    return message


def _broken(rng: Random, raw: bytes) -> bytes:
    """A message whose head or body is no more what it was, behind which the next one can be found."""
    head, _, body = raw.partition(b"\r\n\r\n")
    return rng.choice(
        (
            b"Content-Length: -1\r\n\r\n" + body + b"\r\n",
            b"Content-Length: 99999999999999\r\n\r\n",
            b"Length\r\n\r\n",
            b"\r\n\r\n\r\n",
            head + b"\r\n\r\n" + bytes(rng.randrange(256) for _ in body),
            framed(body[: rng.randrange(len(body))]),
            framed(b"[" * rng.randrange(3000)),
        )
    )


def told(first: int, count: int) -> Iterator[str]:
    """Which of so many seeded conversations leave something without an answer."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name).resolve()
        (folder / ".git").mkdir()
        for seed in range(first, first + count):
            try:
                left: object = unanswered(seed, folder)
            except TimeoutError as error:
                left = error
            if left:
                yield f"seed {seed}: {left}"


if __name__ == "__main__":
    troubles = list(told(int(sys.argv[1]), int(sys.argv[2])))
    sys.stdout.write("\n".join([*troubles, f"{len(troubles)} of {sys.argv[2]} conversations are left open", ""]))
    sys.exit(bool(troubles))
