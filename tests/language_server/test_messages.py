"""What a client sends is answered or logged, whatever it holds, and the next message is read (LSP 3.17)."""

import io
import json
from typing import Any

import pytest
from trust.server_messages import conversation, framed, greeting

from lineshaft.language_server.messages import MOST_BYTES, Unusable, messages

HOVER = "textDocument/hover"
RUN = "workspace/executeCommand"


def answers(*sent: bytes) -> list[dict[str, Any]]:
    """What the server sends, in its order, for raw messages behind a greeting; the greeting's answer is left out."""
    return [each for each in conversation([greeting(), *sent]) if each.get("id") != "greeting"]


def codes(found: list[dict[str, Any]]) -> list[tuple[Any, Any]]:
    """Ids and error codes."""
    return [(each["id"], each["error"]["code"]) for each in found if "error" in each]


@pytest.mark.parametrize(
    ("raw", "bodies"),
    [
        (b"Content-Length: 2\r\n\r\n{}Content-Length: 4\r\n\r\n[{}]", [b"{}", b"[{}]"]),
        (b"content-length:3\r\nContent-Type: application/vscode-jsonrpc; charset=utf-8\r\n\r\n{ }", [b"{ }"]),
        (b"Content-Length: 0\r\n\r\nContent-Length: 1\n\n7", [b"", b"7"]),
        (b"Content-Length: 9\r\n\r\n{}", []),
        (b"Length: 2\r\n\r\n{}\r\n\r\nContent-Length: 2\r\n\r\n{}", [None, b"{}"]),
        (b"Content-Length: -2\r\n\r\n{}\r\nContent-Length: 2\r\n\r\n{}", [None, b"{}"]),
        (b"Content-Length: %d\r\n\r\nContent-Length: 2\r\n\r\n{}" % (MOST_BYTES + 1), [None, b"{}"]),
        (b"\x00" * 9000, []),
    ],
)
def test_messages_are_told_from_what_lies_between_them(raw: bytes, bodies: list[bytes | None]) -> None:
    """Names of heads in any case; a head that is none is told once, and the next whole one counts."""
    found = [None if isinstance(each, Unusable) else each for each in messages(io.BytesIO(raw))]
    assert found == bodies


def test_what_is_no_request_gets_the_error_that_the_protocol_has_for_it() -> None:
    """Codes by JSON-RPC 2.0, 5.1, and LSP 3.17, ErrorCodes; `null` where nobody knows which request was meant."""
    found = answers(
        framed(b"{nope"),
        framed(b"[" * 100_000),
        framed(b"\xff"),
        framed([1]),
        framed({"jsonrpc": "1.0", "id": 3, "method": HOVER}),
        framed({"jsonrpc": "2.0", "id": [4], "method": HOVER}),
        framed({"jsonrpc": "2.0", "id": 5, "method": "no/such"}),
        framed({"jsonrpc": "2.0", "id": 6, "method": HOVER, "params": {"textDocument": 7}}),
        framed({"jsonrpc": "2.0", "id": 7, "method": RUN, "params": {"command": "lineshaft.size"}}),
        framed({"jsonrpc": "2.0", "id": 8, "method": RUN, "params": {"command": "lineshaft.size", "arguments": ["x"]}}),
        framed({"jsonrpc": "2.0", "id": "again", "method": "initialize", "params": {"capabilities": {}}}),
    )
    of_null = [(None, code) for code in (-32700, -32700, -32700, -32600)]
    too_few = [(7, -32602), (8, -32602)]
    of_form = [(3, -32600), (None, -32600), (5, -32601), (6, -32602)]
    assert codes(found) == [*of_null, *of_form, *too_few, ("again", -32600)]
    assert "traceback" not in json.dumps(found).casefold()


def test_what_nobody_waits_for_is_logged_at_the_client() -> None:
    """A notification without its parameters, an answer that is none: no answer, and a line in the log."""
    found = answers(
        framed({"jsonrpc": "2.0", "method": "textDocument/didOpen", "params": 7}), framed({"jsonrpc": "2.0", "id": 9})
    )
    assert [(each["method"], each["params"]["type"]) for each in found] == [("window/logMessage", 1)] * 2


def test_nothing_is_served_before_the_greeting_and_after_the_goodbye() -> None:
    """-32002 is `ServerNotInitialized`, -32600 `InvalidRequest`."""
    asked = framed({"jsonrpc": "2.0", "id": 1, "method": HOVER, "params": {}})
    bye = framed({"jsonrpc": "2.0", "id": "bye", "method": "shutdown"})
    found = conversation([asked, greeting(), bye, asked])
    assert codes(found) == [(1, -32002), (1, -32600)]
