"""The only opener of files: inside one root, links resolved, bytes bounded, with changed texts laid over for trials."""

import os
import stat
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path, PurePosixPath, PureWindowsPath
from types import MappingProxyType
from typing import NamedTuple

MAX_BYTES = 8 * 1024 * 1024


class Refusal(NamedTuple):
    """Why a file is not read: ``absent`` where there is none, else it may not be read; never shows its content."""

    message: str
    absent: bool = False


@dataclass(frozen=True, slots=True)
class Repository:
    """A root that no include leaves, the working folder that names are shown from, and the largest file read."""

    root: Path
    working: Path
    max_bytes: int = MAX_BYTES
    overlay: Mapping[Path, bytes] = field(default_factory=lambda: MappingProxyType({}))

    def with_texts(self, texts: Mapping[Path, bytes]) -> "Repository":
        """The same repository with these files' bytes in place of the disk's (a trial; nothing is written)."""
        return replace(self, overlay=MappingProxyType({**self.overlay, **texts}))

    def shown(self, path: Path) -> str:
        """The path from the working folder, with ``/`` and, outside it, ``../``."""
        return os.path.relpath(path, self.working).replace(os.sep, "/")

    def read(self, path: Path) -> bytes | Refusal:
        """The bytes of a regular file, at most ``max_bytes``; anything else is refused before it is opened."""
        changed = self.overlay.get(path)
        if changed is not None:
            return changed
        try:
            info = path.stat()
            if not stat.S_ISREG(info.st_mode):
                return Refusal("is not a regular file")
            if info.st_size > self.max_bytes:
                return Refusal(f"has {info.st_size:,} bytes, more than the {self.max_bytes:,} that are read")
            with path.open("rb") as opened:
                raw = opened.read(self.max_bytes + 1)
        except FileNotFoundError:
            return Refusal("is not there", absent=True)
        except (OSError, ValueError) as error:
            return Refusal(f"cannot be read ({getattr(error, 'strerror', None) or 'bad name'})")
        if len(raw) > self.max_bytes:
            return Refusal(f"has more than the {self.max_bytes:,} bytes that are read")
        return raw

    def include(self, written_in: Path, name: str) -> Path | Refusal:
        """The real path of a file that the file ``written_in`` names, or why it may not be named.

        Only relative paths with ``/``, whose target, links resolved, lies inside the root and whose letters' case
        is the disk's.
        """
        refusal = _shape(name)
        if refusal is not None:
            return refusal
        try:
            # Walked by hand: pathlib keeps `..` and the links before it in the order they are written.
            real = (written_in.parent / name).resolve()
        except (OSError, ValueError, RuntimeError):
            return Refusal("cannot be resolved")
        if not real.is_relative_to(self.root):
            return Refusal("leads out of the repository's root; keep what is included inside it")
        if real in self.overlay:
            return real
        try:
            there = real.exists()
        except OSError as error:  # a name longer than the disk takes, a folder closed to us
            return Refusal(f"cannot be looked up ({error.strerror})")
        if not there:
            return Refusal("is not there", absent=True)
        if not real.is_file():
            return Refusal("is not a regular file")
        if not _same_case(written_in.parent, PurePosixPath(name)):
            return Refusal("differs from the file's name in upper and lower case", absent=True)
        return real


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
