"""A git revision in place of the disk: what the files of a repository said then, read without touching them.

Only git's plumbing is called (`rev-parse`, `ls-tree`, `cat-file`), without a shell: it runs no hooks, filters or
text conversions, and fetches nothing. A revision's name is never taken for an option.
"""

import os
import posixpath
import subprocess
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

from lineshaft.exits import CannotDoError
from lineshaft.schema.text.dependencies import Answer, Query, Refusal
from lineshaft.schema.text.repository import MAX_BYTES, Repository

_PATIENCE = 60
"""Seconds that one call of git may take."""
_NOT_OF_THIS = ("GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_OBJECT_DIRECTORY", "GIT_NAMESPACE")
_QUIET = {
    "GIT_OPTIONAL_LOCKS": "0",
    "GIT_NO_LAZY_FETCH": "1",  # known to newer gits only;
    "GIT_ALLOW_PROTOCOL": "",  # to all, and no configuration of a repository allows what this leaves out
    "GIT_TERMINAL_PROMPT": "0",
    "LC_ALL": "C",
}
_REGULAR = frozenset({"100644", "100755"})


class _Entry(NamedTuple):
    """A file of a revision: its mode, its object and how many bytes it has; none where git cannot read the object."""

    mode: str
    object: str
    size: int | None


class Revision(Mapping[Query, Answer]):
    """The answers that a revision gives to what is asked of the disk. ``commit`` is its full name.

    ``unread`` holds, by their paths from the root, the files that it has and git could not read, and why.
    """

    def __init__(self, root: Path, commit: str, entries: Mapping[str, _Entry], max_bytes: int) -> None:
        self.root, self.commit = root, commit
        self._entries, self._most = entries, max_bytes
        self._read: dict[str, bytes] = {}
        self.unread: dict[str, str] = {}

    def __getitem__(self, query: Query) -> Answer:
        """The answer to any question; never KeyError."""
        if query.kind == "bytes":
            return self._bytes(query.at)
        if query.kind == "include":
            return self._target(query.at, query.name)
        folder = _joined(query.at, posixpath.dirname(query.name))
        return () if folder is None else tuple(sorted(self._names(folder)))

    def __contains__(self, query: object) -> bool:
        """A revision has an answer to every question."""
        return isinstance(query, Query)

    def __iter__(self) -> Iterator[Query]:
        """The questions for the bytes of its files."""
        return (Query("bytes", path) for path in self._entries)

    def __len__(self) -> int:
        """How many files it has."""
        return len(self._entries)

    def repository(self, working: Path) -> Repository:
        """The revision as a repository: nothing on the disk is looked at."""
        return Repository(self.root, working, self._most, answers=self)

    def holds(self, path: Path) -> bool:
        """Whether the revision has a file at a path."""
        return path.is_relative_to(self.root) and path.relative_to(self.root).as_posix() in self._entries

    def files(self) -> Iterator[Path]:
        """The paths of all its files, where they stand on the disk."""
        return (self.root / name for name in self._entries)

    def nearest(self, folder: Path, names: tuple[str, ...]) -> Path | None:
        """The file with one of some names nearest above a folder, up to the root."""
        inside = (place for place in (folder, *folder.parents) if place.is_relative_to(self.root))
        return next((place / name for place in inside for name in names if self.holds(place / name)), None)

    def _bytes(self, path: str) -> bytes | Refusal:
        entry = self._entries.get(path)
        if entry is None:
            return Refusal("is not there", absent=True)
        if entry.mode not in _REGULAR:
            return Refusal("is not a regular file in that revision")
        if entry.size is not None and entry.size > self._most:
            return Refusal(f"has {entry.size:,} bytes, more than the {self._most:,} that are read")
        if path not in self._read and path not in self.unread:
            try:
                self._read[path] = _git(self.root, "cat-file", "blob", entry.object)
            except CannotDoError as error:
                self.unread[path] = str(error)
        if path in self.unread:
            return Refusal(f"cannot be read in that revision: {self.unread[path]}")
        return self._read[path]

    def _target(self, folder: str, name: str) -> str | Refusal:
        path = _joined(folder, name)
        if path is None:
            return Refusal("leads out of the repository's root; keep what is included inside it")
        entry = self._entries.get(path)
        if entry is None:
            return Refusal("is not there", absent=True)
        return path if entry.mode in _REGULAR else Refusal("is not a regular file in that revision")

    def _names(self, folder: str) -> Iterator[str]:
        start = f"{folder}/" if folder else ""
        inside = (path[len(start) :] for path in self._entries if path.startswith(start))
        return (name for name in inside if "/" not in name)


def _joined(folder: str, name: str) -> str | None:
    """A path from the root, or none where it leads out."""
    path = posixpath.normpath(posixpath.join(folder, name))
    if path == ".":
        return ""
    return None if path == ".." or path.startswith(("../", "/")) else path


def open_revision(root: Path, name: str, max_bytes: int = MAX_BYTES) -> Revision:
    """The revision with a name (a branch, a tag, `HEAD~2`, a commit) in the repository at ``root``.

    Raises CannotDoError outside git, where git is not there, and where there is no such revision.
    """
    if not (root / ".git").exists():
        raise CannotDoError(f"{root} is in no git repository, so there is no revision to compare with")
    if name.startswith("-") or not name.isprintable() or not name:
        raise CannotDoError(f"{name!r} is not the name of a revision; write a branch, a tag or a commit")
    found = _git(root, "rev-parse", "--verify", "--quiet", "--end-of-options", f"{name}^{{commit}}", may_fail=True)
    if not found:
        raise CannotDoError(f"there is no revision {name!r} here; `git log --oneline` lists some")
    commit = found.decode("ascii", "replace").strip()
    listing = _git(root, "ls-tree", "-r", "-z", "-l", "--full-tree", commit)
    return Revision(root, commit, dict(_entries(listing)), max_bytes)


def _entries(listing: bytes) -> Iterator[tuple[str, _Entry]]:
    """Path and entry of each file (`MODE blob OBJECT SIZE<tab>PATH`, ended by NUL); submodules are left out."""
    for line in listing.split(b"\0"):
        about, tab, path = line.partition(b"\t")
        words = about.decode("ascii", "replace").split()
        if tab and len(words) == 4 and words[1] == "blob":
            size = int(words[3]) if words[3].isdigit() else None  # git writes BAD where the object is not there
            yield os.fsdecode(path), _Entry(words[0], words[2], size)


def _git(root: Path, *arguments: str, may_fail: bool = False) -> bytes:
    """What a git command prints; nothing where it may fail and does. Raises CannotDoError with what git finds fatal."""
    command = ["git", "--no-pager", "-c", "core.fsmonitor=false", "-c", "protocol.allow=never", "-C", str(root)]
    environment = {key: value for key, value in os.environ.items() if key not in _NOT_OF_THIS} | _QUIET
    try:
        ran = subprocess.run(
            [*command, *arguments],
            stdin=subprocess.DEVNULL,
            capture_output=True,
            env=environment,
            timeout=_PATIENCE,
            check=False,
        )
    except FileNotFoundError as error:
        raise CannotDoError("git is not installed, so no revision can be read") from error
    except subprocess.TimeoutExpired as error:
        raise CannotDoError(f"git took more than {_PATIENCE} s; try again") from error
    if ran.returncode == 0:
        return ran.stdout
    said = ran.stderr.decode("utf-8", "replace").strip().splitlines()
    if may_fail and not any(line.startswith("fatal:") for line in said):
        return b""
    raise CannotDoError(f"git says: {said[0] if said else 'that failed'}")
