"""The only opener of files: inside one root, links resolved, bytes bounded, with changed texts laid over for proofs."""

import os
import stat
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path, PurePosixPath, PureWindowsPath
from types import MappingProxyType
from typing import TypeVar, cast

from lineshaft.schema.text import windows
from lineshaft.schema.text.dependencies import Answer, Answers, DependencyRecorder, Query, Refusal, UnansweredError

__all__ = ["MAX_BYTES", "Refusal", "Repository", "root_of"]

MAX_BYTES = 8 * 1024 * 1024
A = TypeVar("A", bound=Answer)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Repository:
    """A root that no file read leaves, the working folder that names are shown from, and the largest file read.

    ``named`` is a file that a person named and that may lie or lead anywhere (a policy). ``recorder`` notes
    what the disk is asked; ``answers`` stand in place of the disk, which is then never touched.
    """

    root: Path
    working: Path
    max_bytes: int = MAX_BYTES
    overlay: Mapping[Path, bytes] = field(default_factory=lambda: MappingProxyType({}))
    recorder: DependencyRecorder | None = None
    answers: Answers | None = None
    named: Path | None = None
    _targets: dict[tuple[Path, str], str | Refusal] = field(default_factory=dict, repr=False, compare=False)

    def with_texts(self, texts: Mapping[Path, bytes]) -> "Repository":
        """The same repository with these files' bytes in place of the disk's (for a proof; nothing is written)."""
        return replace(self, overlay=MappingProxyType({**self.overlay, **texts}))

    def shown(self, path: Path) -> str:
        """The path from the working folder, with ``/`` and, outside it, ``../``."""
        return windows.shown_path(path, self.working)

    def read(self, path: Path) -> bytes | Refusal:
        """The bytes of a regular file, at most ``max_bytes``; all else, a link out of the root too, stays unopened."""
        changed = self.overlay.get(path)
        if changed is not None:
            return changed
        return self._search_for(Query("bytes", self.within(path)), lambda: self._bytes(path))

    def real(self, path: Path) -> Path:
        """The file that a link leads to; the link itself where that lies outside the root, and so cannot be read."""
        if self.answers is not None:
            return path
        found = Path(os.path.realpath(path))  # never raises, unlike resolve()
        return found if found.is_relative_to(os.path.realpath(self.root)) else path

    def used_again(self, path: Path) -> None:
        """Whoever keeps what was read from a path says so when it serves another file: its verdict hangs on it too."""
        if self.recorder is not None and path not in self.overlay:
            self.recorder.again(Query("bytes", self.within(path)))

    def include(self, written_in: Path, name: str) -> Path | Refusal:
        """The real path of a file that the file ``written_in`` names, or why it may not be named.

        Only relative paths with ``/``, whose target, links resolved, lies inside the root and whose letters' case
        is the disk's.
        """
        refusal = _shape(name)
        if refusal is not None:
            return refusal
        folder = written_in.parent
        if self.overlay:
            laid_over = Path(os.path.normpath(folder / name))
            if laid_over in self.overlay and laid_over.is_relative_to(self.root):
                return laid_over
        found = self._search_for(Query("include", self.within(folder), name), lambda: self._target(folder, name))
        return found if isinstance(found, Refusal) else self.root / found

    def names(self, written_in: Path, name: str) -> tuple[str, ...]:
        """The names beside the file that ``name`` would lead to; none outside the root or where we may not look."""
        folder = written_in.parent
        return self._search_for(Query("names", self.within(folder), name), lambda: _names(folder, name, self.root))

    def answer(self, query: Query) -> Answer:
        """What the disk answers to a question about files."""
        at = self.root / query.at
        if query.kind == "bytes":
            return self.read(at)
        if query.kind == "names":
            return self.names(at / "_", query.name)
        found = self.include(at / "_", query.name)
        return self.within(found) if isinstance(found, Path) else found

    def within(self, path: Path) -> str:
        """A path from the root, with ``/``; as it is where it lies outside (a policy that was named)."""
        try:
            return path.relative_to(self.root).as_posix()
        except ValueError:
            return path.as_posix()

    def _bytes(self, path: Path) -> bytes | Refusal:
        if path != self.named and _leads_out(path, self.root):
            return Refusal("is a symbolic link out of the repository's root; keep the file itself inside")
        return _bytes(path, self.max_bytes)

    def _search_for(self, query: Query, search_for: Callable[[], A]) -> A:
        if self.answers is None:
            answer = search_for()
        else:
            if query not in self.answers:
                raise UnansweredError(f"no {query.kind} recorded at {query.at}")
            answer = cast(A, self.answers[query])
        if self.recorder is not None:
            self.recorder.note(query, answer)
        return answer

    def _target(self, folder: Path, name: str) -> str | Refusal:
        """Asked once a run: to compare the letters' case, whole folders are listed."""
        found = self._targets.get((folder, name))
        if found is None:
            found = self._targets[folder, name] = _target(folder, name, self.root)
        return found


def _leads_out(path: Path, root: Path) -> bool:
    if path.is_relative_to(root) and not path.is_symlink():
        return False  # folders were resolved when the file was found
    return not Path(os.path.realpath(path)).is_relative_to(os.path.realpath(root))


def _bytes(path: Path, most: int) -> bytes | Refusal:
    try:
        info = path.stat()
        if not stat.S_ISREG(info.st_mode):
            return Refusal("is not a regular file")
        if info.st_size > most:
            return Refusal(f"has {info.st_size:,} bytes, more than the {most:,} that are read")
        with path.open("rb") as opened:
            raw = opened.read(most + 1)
    except FileNotFoundError:
        return Refusal("is not there", absent=True)
    except (OSError, ValueError) as error:
        return Refusal(f"cannot be read ({getattr(error, 'strerror', None) or 'bad name'})")
    if len(raw) > most:
        return Refusal(f"has more than the {most:,} bytes that are read")
    return raw


def _target(folder: Path, name: str, root: Path) -> str | Refusal:
    try:
        # Walked by hand: pathlib keeps `..` and the links before it in the order they are written.
        real = (folder / name).resolve()
    except (OSError, ValueError, RuntimeError):
        return Refusal("cannot be resolved")
    if not real.is_relative_to(root):
        return Refusal("leads out of the repository's root; keep what is included inside it")
    try:
        there = real.exists()
    except OSError as error:  # a name longer than the disk takes, a folder closed to us
        return Refusal(f"cannot be looked up ({error.strerror})")
    if not there:
        return Refusal("is not there", absent=True)
    if not real.is_file():
        return Refusal("is not a regular file")
    if not _same_case(folder, PurePosixPath(name)):
        if not os.path.exists(folder / name):  # noqa: PTH110 - never raises, unlike Path.exists
            return Refusal("is not there", absent=True)  # by way of a folder that is not there, and back
        return Refusal("differs from the file's name in upper and lower case", absent=True)
    return real.relative_to(root).as_posix()


def _names(folder: Path, name: str, root: Path) -> tuple[str, ...]:
    beside = (folder / name).parent
    try:
        if not beside.resolve().is_relative_to(root):
            return ()
        return tuple(sorted(entry.name for entry in beside.iterdir()))
    except (OSError, ValueError, RuntimeError):
        return ()


def _shape(name: str) -> Refusal | None:
    if not name or "\0" in name or any(ord(c) < 32 for c in name):
        return Refusal("is not a path")
    if "://" in name:
        return Refusal("is an address; only files inside the repository are included")
    if name.startswith(("/", "~")) or PureWindowsPath(name).drive or "\\" in name:
        return Refusal("is not a relative path with '/'")
    return None


def _same_case(folder: Path, written: PurePosixPath) -> bool:
    at = folder
    for step in written.parts:
        if step not in (".", ".."):
            try:
                if step not in os.listdir(at):  # noqa: PTH208 - names as the disk has them
                    return False
            except OSError:
                return True
        at = at / step
    return True


def root_of(folder: Path) -> Path:
    """The nearest parent of ``folder`` (itself too) with a ``.git``; ``folder`` itself where there is none."""
    here = folder.resolve()
    for candidate in (here, *here.parents):
        if (candidate / ".git").exists():
            return candidate
    return here
