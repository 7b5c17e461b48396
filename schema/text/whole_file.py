"""A file written whole or not at all: beside it first, then moved into place, so that no kill or full disk loses one.

What a killed run left beside is taken away by the next run that writes in the same folder. A temporary file is locked
by the run that writes it, and the system lets go of the lock however that run ends: what is locked is left alone.
"""

import contextlib
import os
import re
import stat
from collections.abc import Callable
from pathlib import Path

from lineshaft.schema.text import windows

_ENDING = "lineshaft-part"
_LEFT_BESIDE = rf"(?s)\..{{1,40}}\.[0-9a-f]{{16}}\.{_ENDING}"  # compiled only where something is written
_TRIES = 10


def _nothing() -> None:
    """Nothing to look at again."""


def replace_whole(real: Path, data: bytes, again: Callable[[], object] = _nothing) -> None:
    """Put ``data`` in place of the file at a real path, or make the file; its mode and owner are kept.

    ``again`` is called when all is written, just before the move, and may raise to leave the file as it is. Raises
    OSError where it cannot be written; the old file then stands.
    """
    try:
        was: os.stat_result | None = real.lstat()
    except FileNotFoundError:
        was = None
    _put(real, data, was, again, windows.move)


def make_whole(real: Path, data: bytes) -> None:
    """Make a file at a real path where there is none.

    Raises FileExistsError where there is one by now, which stays as it is; OSError where it cannot be written.
    """
    _put(real, data, None, _nothing, windows.move_if_new)


def _put(
    real: Path,
    data: bytes,
    was: os.stat_result | None,
    again: Callable[[], object],
    move: Callable[[Path, Path], None],
) -> None:
    """Write beside, as the file that was, and move into place in the given way."""
    _clear(real.parent)
    handle, beside = _begun(real, 0o666 if was is None else 0o600)
    try:
        with os.fdopen(handle, "wb") as opened:
            opened.write(data)
            opened.flush()
            if was is not None:
                with contextlib.suppress(OSError, AttributeError):
                    os.fchown(handle, was.st_uid, was.st_gid)
                beside.chmod(stat.S_IMODE(was.st_mode))
            os.fsync(handle)
            again()
            if not windows.HERE:  # moved while it is still locked, so that nobody clears it away before
                move(beside, real)
        if windows.HERE:  # which moves no open file
            move(beside, real)
    finally:
        beside.unlink(missing_ok=True)
    _flush_folder(real.parent)


def write_named(target: Path, data: bytes) -> None:
    """Write to a file that a person named, wherever it lies: links are followed, devices and pipes written directly.

    Raises OSError where it cannot be written; an old file then stands.
    """
    if _written_directly(target):
        with target.open("wb") as opened:
            opened.write(data)
        return
    real = Path(os.path.realpath(target))
    if real.exists() and not os.access(real, os.W_OK):
        raise PermissionError(13, "the file is read-only", str(target))
    replace_whole(real, data)


def _written_directly(target: Path) -> bool:
    """Whether a target is no regular file, or is one that a stream of ours is open on."""
    try:
        info = target.stat()
    except OSError:
        return False
    if not stat.S_ISREG(info.st_mode):
        return True
    return any(_is_stream(info, number) for number in (1, 2))


def _is_stream(info: os.stat_result, number: int) -> bool:
    try:
        return os.path.samestat(info, os.fstat(number))
    except OSError:
        return False


def _begun(real: Path, mode: int) -> tuple[int, Path]:
    """A new file beside, open and locked; the umask takes from its mode as usual."""
    flags = os.O_RDWR | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0) | getattr(os, "O_CLOEXEC", 0)
    for _ in range(_TRIES):
        beside = real.with_name(f".{real.name[:40]}.{os.urandom(8).hex()}.{_ENDING}")
        handle = os.open(beside, flags, mode)
        if windows.locked(handle) and beside.exists():
            return handle, beside
        os.close(handle)  # another run took it for left over, between its making and its lock
    raise OSError(11, "another run clears away what is written here")  # pragma: no cover - ten times in a row


def _clear(folder: Path) -> None:
    """Take away what killed runs left in a folder: files of our pattern that nobody holds."""
    with contextlib.suppress(OSError), os.scandir(folder) as entries:
        for entry in entries:
            if re.fullmatch(_LEFT_BESIDE, entry.name) and entry.is_file(follow_symlinks=False):
                _clear_one(Path(entry.path))


def _clear_one(left: Path) -> None:
    with contextlib.suppress(OSError):  # where its writer lives
        windows.remove_if_left(left)


def _flush_folder(folder: Path) -> None:
    """Make the move itself last, where the system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
