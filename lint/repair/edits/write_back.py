"""A changed text to its file in one move: the old file or the new one, whole, whenever it is interrupted."""

import os
import stat
from pathlib import Path

from lineshaft.schema.text.text import BOM, SourceText
from lineshaft.schema.text.whole_file import replace_whole


class RefusedError(Exception):
    """The file is left as it is; the text says why and what to do."""


def bytes_of(source: SourceText, text: str) -> bytes:
    """A changed text as the bytes of its file: UTF-8, with the byte order mark that the file had."""
    return (BOM if source.has_bom else b"") + text.encode("utf-8")


def write_back(source: SourceText, text: str) -> None:
    """Put ``text`` in place of what was read as ``source``; symbolic links are followed, the mode is kept.

    Raises RefusedError where the file changed since it was read, has other hard links, is read-only or no regular file.
    """
    real = Path(os.path.realpath(source.path))
    _check(real, source)
    try:
        replace_whole(real, bytes_of(source, text), lambda: _check(real, source))
    except OSError as error:
        raise RefusedError(f"cannot write {source.shown}: {error.strerror}") from error


def _check(real: Path, source: SourceText) -> None:
    """Refuse what may not be replaced, or is no longer what was read."""
    try:
        info = real.lstat()
        if not stat.S_ISREG(info.st_mode):
            raise RefusedError(f"{source.shown} is not a regular file")
        if info.st_nlink > 1:
            raise RefusedError(f"{source.shown} has other hard links, which would keep the old text; unlink them first")
        if not info.st_mode & (stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH) or not os.access(real, os.W_OK):
            raise RefusedError(f"{source.shown} is read-only")
        unchanged = real.read_bytes() == bytes_of(source, source.text)
    except OSError as error:
        raise RefusedError(f"cannot read {source.shown} again: {error.strerror}") from error
    if not unchanged:
        raise RefusedError(f"{source.shown} changed while it was judged; run the command again")
