"""Where this platform keeps what can be made again, read from the environment alone.

`XDG_CACHE_HOME` (XDG Base Directory Specification) holds on every system; else `%LOCALAPPDATA%`, `~/Library/Caches`
or `~/.cache`. Written out here since the library for it takes as long to import as a small check takes to judge.
"""

import os
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from lineshaft.schema.text import windows

FILE_NAME: Final = "verdicts-1.sqlite"


def cache_folder() -> Path | None:
    """The folder for lineshaft's own; none where the environment names no usable one. It need not exist."""
    named = os.environ.get("XDG_CACHE_HOME", "")
    if Path(named).is_absolute():  # a relative one is to be ignored, by the specification
        return Path(named, "lineshaft")
    if windows.HERE:
        return windows.cache_folder()
    try:
        home = Path.home()
    except RuntimeError:
        return None
    if not home.is_absolute():
        return None
    return home / ("Library/Caches" if sys.platform == "darwin" else ".cache") / "lineshaft"


def cache_file(checked: Iterable[Path]) -> Path | None:
    """Where the result cache stands, there or not, for a run that checks these folders; none where nowhere.

    Nor where it would lie inside what is checked: a stranger could send verdicts along with the files.
    """
    folder = cache_folder()
    if folder is None:
        return None
    real = Path(os.path.realpath(folder))
    return None if any(real.is_relative_to(place) for place in checked) else real / FILE_NAME
