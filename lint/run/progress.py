"""How far a long run is: on the last line of a terminal, with nothing left behind; in a CI log a line now and then."""

import os
import sys
import time
from typing import Final, TextIO

_AFTER: Final = 1.0  # seconds before the first word on a terminal
_EVERY: Final = 0.2
LOG_EVERY: Final = 10.0
"""Seconds between two lines in a log, the first of which comes after as many."""


class Progress:
    """Counts files; speaks once a run has taken a second. In a ``log`` it writes lines, and nothing over again."""

    def __init__(self, total: int, stream: TextIO | None, now: float | None = None, *, log: bool = False) -> None:
        self.total, self.stream, self.done, self.log = total, stream, 0, log
        self._next = (time.monotonic() if now is None else now) + (LOG_EVERY if log else _AFTER)
        self._width = 0

    def step(self, now: float | None = None) -> None:
        """One more file is done."""
        self.done += 1
        if self.stream is None:
            return
        now = time.monotonic() if now is None else now
        if now >= self._next:
            self._next = now + (LOG_EVERY if self.log else _EVERY)
            self._show(f"judged {self.done:,} of {self.total:,} files")

    def clear(self) -> None:
        """Take the line away."""
        if self._width:
            self._show("")
            self._width = 0

    def _show(self, text: str) -> None:
        if self.stream is None:
            return
        if self.log:
            self.stream.write(f"{text}\n")
        else:
            self.stream.write("\r" + text.ljust(self._width) + ("" if text else "\r"))
            self._width = len(text) or self._width
        self.stream.flush()


def watched(total: int, quiet: bool) -> Progress:
    """Progress on standard error where somebody looks at it: a terminal, or the log of a CI runner; not where quiet."""
    if os.environ.get("CI"):
        return Progress(total, None if quiet else sys.stderr, log=True)
    seen = sys.stderr.isatty() and os.environ.get("TERM") != "dumb"
    return Progress(total, sys.stderr if seen and not quiet else None)
