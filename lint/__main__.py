"""The process that is started for a command: as ``lineshaft``, and as ``python -m lineshaft``."""

import gc
import os
import sys
from typing import Final

# Started with -m, the working folder leads the import path; nothing of a checked repository may be imported.
if sys.path and sys.path[0] in ("", os.getcwd()):  # noqa: PTH109 - before anything else is imported
    del sys.path[0]

_FIRST_LOOK: Final = 400_000
"""Objects made before the collector first looks for garbage: the start makes 40,000, and what mends a rig of a thousand
parts 250,000, of which hardly one is any."""


def main() -> None:
    """Run the command line, and leave with its exit code."""
    gc.set_threshold(_FIRST_LOOK)
    from lineshaft.cli import main as command_line

    try:
        command_line()
    finally:
        gc.freeze()  # all memory goes with the process: the collector has no last look at each object


if __name__ == "__main__":
    main()
