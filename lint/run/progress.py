"""How far a long run is, on the last line of a terminal; nothing anywhere else, and nothing left behind."""

import os
import sys
import time
from typing import Final, TextIO

_AFTER: Final = 1.0  # seconds before the first word
_EVERY: Final = 0.2


class Progress:
    """Counts files; speaks on a terminal, once a run has taken a second."""

    def __init__(self, total: int, stream: TextIO | None, now: float | None = None) -> None:
        self.total, self.stream, self.done = total, stream, 0
        self._next = (time.monotonic() if now is None else now) + _AFTER
        self._width = 0

    def step(self, now: float | None = None) -> None:
        """One more file is done."""
        self.done += 1
        if self.stream is None:
            return
        now = time.monotonic() if now is None else now
        if now >= self._next:
            self._next = now + _EVERY
            self._show(f"judged {self.done:,} of {self.total:,} files")

    def clear(self) -> None:
        """Take the line away."""
        if self._width:
            self._show("")
            self._width = 0

    def _show(self, text: str) -> None:
        if self.stream is not None:
            self.stream.write("\r" + text.ljust(self._width) + ("" if text else "\r"))
            self.stream.flush()
            self._width = len(text) or self._width


def watched(total: int, quiet: bool) -> Progress:
    """Progress on standard error where a person looks at it: a terminal, not a CI runner's, and not asked for quiet."""
    seen = sys.stderr.isatty() and not os.environ.get("CI") and os.environ.get("TERM") != "dumb"
    return Progress(total, sys.stderr if seen and not quiet else None)
