"""The language server outlives hostile messages: seeded conversations, 25 of them, or 5,000 by `LINESHAFT_LONG=1`."""

import os

from trust.server_messages import told

COUNT = 5_000 if os.environ.get("LINESHAFT_LONG") == "1" else 25


def test_every_request_of_a_hostile_conversation_is_answered_once_and_the_server_ends() -> None:
    """Keys that lack, wrong types, huge numbers, methods that nobody knows, broken heads; no internal error either."""
    assert list(told(0, COUNT)) == []
