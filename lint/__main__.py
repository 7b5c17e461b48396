"""``python -m lineshaft``: the same as the console command."""

import os
import sys

# Started with -m, the working folder leads the import path; nothing of a checked repository may be imported.
if sys.path and sys.path[0] in ("", os.getcwd()):  # noqa: PTH109 - before anything else is imported
    del sys.path[0]

from lineshaft.cli import main

if __name__ == "__main__":
    main()
