"""The result cache's file: rows under keys, shared by runs side by side, bounded, and given up rather than trusted.

One SQLite file in write-ahead mode, so that runs read while another writes and a row is there whole or not at all.
Whatever goes wrong (no such folder, no room, a lock held too long, a damaged file) leaves a run without a cache and
never without a verdict. A row is sealed with a digest over its key and texts; one that does not fit is not there.
"""

import contextlib
import hashlib
import sqlite3
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Final, NamedTuple

FORMAT: Final = 1
MOST_BYTES: Final = 256 * 1024 * 1024
"""Size of the file above which the rows that were used longest ago go, one half at a time."""
_LONGEST: Final = 1024 * 1024  # characters of one row; a longer report is not worth its place
_PATIENCE: Final = 1.0  # seconds to wait for another run's lock
_TABLE: Final = (
    "CREATE TABLE IF NOT EXISTS verdicts"
    " (key BLOB PRIMARY KEY, evidence TEXT, sheet TEXT, seal BLOB, used INTEGER) WITHOUT ROWID"
)


class Row(NamedTuple):
    """What is kept under a key: the dependencies and the report, both as text."""

    dependencies: str
    report: str


class Store:
    """An open result cache file. After any trouble it is empty to ask and takes nothing more."""

    def __init__(self, file: Path, most_bytes: int = MOST_BYTES) -> None:
        self.file, self.most_bytes = file, most_bytes
        self.today = int(time.time() // 86_400)
        self._new: list[tuple[bytes, str, str, bytes, int]] = []
        self._used: list[tuple[int, bytes]] = []
        self._odd: list[tuple[bytes]] = []
        self._link: sqlite3.Connection | None = None
        with self._given_up_on_trouble():
            file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            self._link = _opened(file)

    def row(self, key: bytes) -> Row | None:
        """The row under a key; none where there is none or it is damaged."""
        found = None
        with self._given_up_on_trouble():
            if self._link is not None:
                query = "SELECT evidence, sheet, seal, used FROM verdicts WHERE key = ?"
                found = self._link.execute(query, (key,)).fetchone()
        if found is None:
            return None
        first, second, seal, used = found
        dependencies, report = _text(first), _text(second)
        if dependencies is None or report is None or _seal(key, dependencies, report) != seal:
            self.drop(key)
            return None
        if used != self.today:
            self._used.append((self.today, key))
        return Row(dependencies, report)

    def put(self, key: bytes, row: Row) -> None:
        """Keep a row in place of what stands under its key; it reaches the file by the next thousand, or at the end."""
        if self._link is None or len(row.dependencies) + len(row.report) > _LONGEST:
            return
        self._new.append((key, *row, _seal(key, *row), self.today))
        if len(self._new) >= 1_000:
            self._write()

    def drop(self, key: bytes) -> None:
        """Take an odd row away; what is put under its key from now on stands."""
        self._odd.append((key,))

    def close(self) -> None:
        """Write what is new, let the oldest go where there is too much, and let go of the file."""
        if self._link is None:
            return
        if self._new or self._used or self._odd:
            self._write()
        with self._given_up_on_trouble():
            if self._link is not None:
                self._link.close()
        self._link = None

    def _write(self) -> None:
        new, used, odd = self._new, self._used, self._odd
        self._new, self._used, self._odd = [], [], []
        if self._link is None:
            return
        with self._given_up_on_trouble(), self._link:
            self._link.execute("BEGIN IMMEDIATE")
            self._link.executemany("DELETE FROM verdicts WHERE key = ?", odd)
            self._link.executemany("INSERT OR REPLACE INTO verdicts VALUES (?, ?, ?, ?, ?)", new)
            self._link.executemany("UPDATE verdicts SET used = ? WHERE key = ?", used)
            if _size(self._link) > self.most_bytes:
                half = "SELECT key FROM verdicts ORDER BY used LIMIT (SELECT (count(*) + 1) / 2 FROM verdicts)"
                self._link.execute(f"DELETE FROM verdicts WHERE key IN ({half})")

    @contextlib.contextmanager
    def _given_up_on_trouble(self) -> Iterator[None]:
        try:
            yield
        except (sqlite3.Error, OSError, ValueError, OverflowError) as error:
            link, self._link = self._link, None
            with contextlib.suppress(sqlite3.Error):
                if link is not None:
                    link.close()
            if _is_damage(error):
                _remove(self.file)  # the next run begins a new one


def _is_damage(error: Exception) -> bool:
    """Whether the file is at fault, by itself or by tables that are not ours, and not its place or another run."""
    if not isinstance(error, sqlite3.OperationalError):
        return isinstance(error, sqlite3.DatabaseError)
    return getattr(error, "sqlite_errorcode", None) in (sqlite3.SQLITE_ERROR, sqlite3.SQLITE_SCHEMA)


def _text(raw: object) -> str | None:
    """A column's text; none where it is none."""
    try:
        return raw.decode("utf-8") if isinstance(raw, bytes) else None
    except UnicodeDecodeError:
        return None


def _opened(file: Path) -> sqlite3.Connection:
    link = sqlite3.connect(file, timeout=_PATIENCE, isolation_level=None)
    link.text_factory = bytes  # decoded row by row: one that is no text is odd, and no trouble of the file
    link.execute("PRAGMA trusted_schema = OFF")
    if _version(link) != FORMAT:
        _begin_anew(link)
    link.execute("PRAGMA synchronous = NORMAL")
    return link


def _begin_anew(link: sqlite3.Connection) -> None:
    """Lay the table out; several runs may be at it, and only one does."""
    waited_until = time.monotonic() + _PATIENCE
    while True:
        try:
            link.execute("PRAGMA journal_mode = WAL")
            break
        except sqlite3.OperationalError:  # this change of mode does not wait for another run's lock by itself
            if time.monotonic() > waited_until:
                raise
            time.sleep(0.02)
    link.execute("BEGIN IMMEDIATE")
    if _version(link) != FORMAT:
        link.execute("DROP TABLE IF EXISTS verdicts")
        link.execute(_TABLE)
        link.execute(f"PRAGMA user_version = {FORMAT}")
    link.execute("COMMIT")


def _version(link: sqlite3.Connection) -> int:
    return int(link.execute("PRAGMA user_version").fetchone()[0])


def _size(link: sqlite3.Connection) -> int:
    (pages,), (free,), (size,) = (
        link.execute(f"PRAGMA {name}").fetchone() for name in ("page_count", "freelist_count", "page_size")
    )
    return int((pages - free) * size)


def _seal(key: bytes, dependencies: str, report: str) -> bytes:
    made = hashlib.blake2b(key, digest_size=16)
    for text in (dependencies, report):
        made.update(b"\0")
        made.update(text.encode("utf-8", "surrogatepass"))
    return made.digest()


def _remove(file: Path) -> None:
    for ending in ("", "-wal", "-shm"):
        with contextlib.suppress(OSError):
            file.with_name(file.name + ending).unlink()
