"""What a server keeps of a conversation: of a change that is made, nothing."""

import asyncio
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from lineshaft.language_server.assembly import open_server


class Nowhere:
    """Takes what the server says."""

    def write(self, data: bytes) -> None:
        """Let it go."""

    def close(self) -> None:
        """Likewise."""


def test_nothing_is_kept_of_a_change(works: Path) -> None:
    """After a thousand of them no request or notification is waited for, and the last text is the one that is open."""
    uri = (works / "a.rig.yaml").as_uri()

    async def talk() -> None:
        server = open_server()
        server.protocol.set_writer(Nowhere())

        def say(method: str, params: dict[str, Any], **other: Any) -> None:
            message = {"jsonrpc": "2.0", "method": method, "params": params, **other}
            server.protocol.handle_message(server.protocol.structure_message(message))

        say("initialize", {"capabilities": {}, "processId": None, "rootUri": works.as_uri()}, id=1)
        document = {"uri": uri, "languageId": "yaml", "version": 1, "text": "rig: 1\n"}
        say("textDocument/didOpen", {"textDocument": document})
        for number in range(1000):
            changes = [{"text": f"rig: 1\n# {number}\n"}]
            which = {"uri": uri, "version": number + 2}
            say("textDocument/didChange", {"textDocument": which, "contentChanges": changes})
        kept = server.documents.get(uri)
        assert kept is not None and kept.content.text == "rig: 1\n# 999\n"
        assert not server.protocol._request_futures
        server.judgements.close()

    # In a thread of its own: a browser that other tests hold open keeps a loop running in this one.
    with ThreadPoolExecutor(1) as thread:
        thread.submit(lambda: asyncio.run(talk())).result()
