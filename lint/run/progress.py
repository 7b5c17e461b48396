"""How far a long run is and the file that it is at: on the last line of a terminal, with nothing left behind; in a CI
log a line now and then.

It ticks while one file takes long, too: then the seconds that it has taken are told.
"""

import os
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from threading import Event, Lock, Thread
from types import TracebackType
from typing import Final, Self, TextIO

_AFTER: Final = 1.0  # seconds before the first word on a terminal
_EVERY: Final = 0.2
_LONG: Final = 2.0  # seconds with one file from which they are told
_NARROWEST: Final = 40  # columns of a terminal below which a line is not made shorter
LOG_EVERY: Final = 10.0
"""Seconds between two lines in a log, the first of which comes after as many."""


class Progress:
    """Counts files; speaks once a run has taken a second. In a ``log`` it writes lines, and nothing over again.

    ``what`` is done to the files, in words; ``paths`` are theirs, shown from ``working``. The file that a run is at is
    the first that is not done. Entered, it ticks by itself until it is left.
    """

    def __init__(
        self,
        what: str,
        paths: Sequence[Path],
        working: Path,
        stream: TextIO | None,
        now: float | None = None,
        *,
        log: bool = False,
    ) -> None:
        self.what, self.paths, self.working = what, paths, working
        self.stream, self.log = stream, log
        self._since = time.monotonic() if now is None else now
        self._every = LOG_EVERY if log else _EVERY
        self._next = self._since + (LOG_EVERY if log else _AFTER)
        self._done: set[int] = set()
        self._at = self._width = 0
        self._lock, self._left = Lock(), Event()

    def __enter__(self) -> Self:
        """Tick until it is left, where somebody looks."""
        if self.stream is not None:
            Thread(target=self._ticking, daemon=True).start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Say no more, and take the line away."""
        self._left.set()
        self.clear()

    def step(self, number: int, now: float | None = None) -> None:
        """The file of that number is done."""
        self._done.add(number)
        if self.stream is None:
            return
        now = time.monotonic() if now is None else now
        if number == self._at:
            self._since = now
            while self._at in self._done:
                self._at += 1
        self.tick(now)

    def tick(self, now: float | None = None) -> None:
        """Say how far it is, where it is time to."""
        now = time.monotonic() if now is None else now
        with self._lock:
            if now >= self._next and not self._left.is_set():
                self._next = now + self._every
                self._show(self._said(now))

    def clear(self) -> None:
        """Take the line away."""
        with self.aside():
            pass

    @contextmanager
    def aside(self) -> Iterator[None]:
        """The line away, and nothing said meanwhile, so that others may write."""
        with self._lock:
            if self._width:
                self._show("")
                self._width = 0
            yield

    def _ticking(self) -> None:
        while not self._left.wait(self._every):
            self.tick()

    def _said(self, now: float) -> str:
        """For example `judged 12 of 400 files, at yard/mill.rig.yaml for 7 s`."""
        count = f"{self.what} {len(self._done):,} of {len(self.paths):,} files"
        if self._at >= len(self.paths):
            return count
        from lineshaft.schema.text.windows import shown_path
        from lineshaft.write.escape import clean

        seconds = now - self._since
        long = f" for {seconds:.0f} s" if seconds >= _LONG else ""
        name = clean(shown_path(self.paths[self._at], self.working))
        return f"{count}, at {name if self.log else self._fitting(name, len(count) + len(long) + 6)}{long}"

    def _fitting(self, name: str, beside: int) -> str:
        """The end of a name where the terminal's line has no room for the whole; a line that breaks stays behind."""
        from lineshaft.write.cells import cells

        try:
            columns = os.get_terminal_size(self.stream.fileno()).columns if self.stream is not None else 0
        except (OSError, ValueError):  # no terminal
            columns = 0
        room = max(columns or 80, _NARROWEST) - beside
        if cells(name) <= room:
            return name
        while cells(name) >= room > 1:
            name = name[1:]
        return f"…{name}"

    def _show(self, text: str) -> None:
        if self.stream is None:
            return
        if self.log:
            self.stream.write(f"{text}\n")
        else:
            self.stream.write("\r" + text.ljust(self._width) + ("" if text else "\r"))
            self._width = len(text) or self._width
        self.stream.flush()


def watched(what: str, paths: Sequence[Path], working: Path, *, quiet: bool) -> Progress:
    """Progress on standard error where somebody looks at it: a terminal, or the log of a CI runner; not where quiet."""
    if os.environ.get("CI"):
        return Progress(what, paths, working, None if quiet else sys.stderr, log=True)
    seen = sys.stderr.isatty() and os.environ.get("TERM") != "dumb"
    return Progress(what, paths, working, sys.stderr if seen and not quiet else None)
