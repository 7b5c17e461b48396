"""What Windows does otherwise, in one place; ``HERE`` says whether this is Windows, and tests put it in elsewhere.

An open file can neither be removed nor moved there, and a file that another program has open is refused for a moment;
there are no locks of ours; no relative path leads from one drive to another; pipes hold little. On every system alike,
workers are started afresh (spawned), and a stream that cannot show a sign gets an escape.
"""

import errno
import os
import time
from pathlib import Path
from types import ModuleType
from typing import Final

HERE = os.name == "nt"

TRIES: Final = 6
_PAUSE: Final = 0.02  # seconds before the second try; each further one waits twice as long, 0.6 s in all
HELD = "another program holds it open; close it and run again"


def locked(handle: int) -> bool:
    """Whether an open file is ours from now on. Where there are no locks, nobody can tell and it is."""
    if HERE:  # which keeps an open file from being removed: lock enough
        return True
    import fcntl

    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:  # pragma: no cover - a network disk without locks
        return True
    return True


def remove_if_left(left: Path) -> None:
    """Remove a file that nobody holds any more. Raises OSError where somebody does."""
    if HERE:
        left.unlink()
        return
    import fcntl

    with left.open("rb+") as opened:
        fcntl.flock(opened, fcntl.LOCK_EX | fcntl.LOCK_NB)
        left.unlink()


def move(written: Path, real: Path) -> None:
    """Move a file into another's place. Raises PermissionError where Windows refuses it time and again.

    A scanner or an editor holds a file for a moment there, and lets go of it; elsewhere no try is any better.
    """
    for number in range(TRIES if HERE else 1):
        if number:
            time.sleep(_PAUSE * 2 ** (number - 1))
        try:
            os.replace(written, real)  # noqa: PTH105 - the one place where a file is moved
            return
        except PermissionError as error:
            refused = error
    if HERE:
        raise PermissionError(refused.errno, HELD, str(real)) from refused
    raise refused


def move_if_new(written: Path, real: Path) -> None:
    """Give a written file a place where there is none. Raises FileExistsError where there is one by now.

    A second name is made in one step, and fails where the name is taken. A move does that on Windows alone. A disk
    or a system without second names is looked at first: between the look and the move another may still come.
    """
    if HERE:
        written.rename(real)
        return
    try:
        os.link(written, real, follow_symlinks=False)
    except FileExistsError:
        raise
    except (AttributeError, NotImplementedError, OSError):  # a browser's Python has no such call
        if os.path.lexists(real):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(real)) from None
        move(written, real)


def shown_path(path: str | os.PathLike[str], folder: str | os.PathLike[str], rules: ModuleType = os.path) -> str:
    """A path from a folder, with `/`; whole where it stands on another drive. ``rules`` are those of the system."""
    try:
        written = rules.relpath(path, folder)
    except ValueError:  # no way leads from one drive to another
        written = os.fspath(path)
    return str(written).replace(rules.sep, "/")


def cache_folder() -> Path | None:
    """Where Windows keeps what can be made again; none where the environment names no whole path."""
    local = Path(os.environ.get("LOCALAPPDATA", ""))
    return local / "lineshaft" / "Cache" if local.is_absolute() else None


def files_ahead() -> int:
    """How many files a worker still has when it gets more: none where a pipe holds so little that sending waits."""
    return 0 if HERE else 16
