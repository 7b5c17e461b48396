"""What was read of texts that are read again and again while somebody writes one of them."""

from collections.abc import Hashable
from threading import Lock
from typing import Final, Generic, TypeVar

Reading = TypeVar("Reading")
MOST_KEPT: Final = 24
"""Files whose last text is kept with what was read of it."""


class RecentReadings(Generic[Reading]):
    """What was read of the last text of each of a few files; for several threads.

    Files go by whatever tells one from another: what is read may hang on that and on the text, and on nothing else.
    """

    def __init__(self) -> None:
        self._lock = Lock()
        self._kept: dict[Hashable, tuple[bytes, Reading]] = {}

    def find(self, file: Hashable, raw: bytes) -> Reading | None:
        """What was read of this very text."""
        with self._lock:
            found = self._kept.get(file)
        return found[1] if found is not None and found[0] == raw else None

    def keep(self, file: Hashable, raw: bytes, reading: Reading) -> None:
        """Keep what was read of a text in place of the file's last; the file that was read longest ago goes."""
        with self._lock:
            self._kept.pop(file, None)
            self._kept[file] = raw, reading
            if len(self._kept) > MOST_KEPT:
                del self._kept[next(iter(self._kept))]
