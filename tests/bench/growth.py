"""Seconds that a check of large odd rigs takes, and their growth when the size doubles: 1 is as the size, 2 its square.

`python tests/bench/growth.py [KIND…] [--size N]`: each kind at N, 2 N and 4 N, without repairs.
"""

import argparse
import sys
import tempfile
import time
from itertools import pairwise
from pathlib import Path

_TESTS = Path(__file__).resolve().parents[1]


def seconds(files: dict[str, str]) -> float:
    """The processor's seconds for judging one rig."""
    from lineshaft.check.checker import Checker
    from lineshaft.check.rulebook import open_rulebook

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name).resolve()
        for file, text in files.items():
            (folder / file).write_text(text, "utf-8")
        checker = Checker(folder, open_rulebook())
        began = time.process_time()
        checker.report(folder / "a.rig.yaml", "rig")
        return time.process_time() - began


def main() -> None:
    """One line a kind."""
    sys.path.insert(0, str(_TESTS))
    from rig_maker.growth import KINDS

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("kinds", nargs="*", default=list(KINDS))
    parser.add_argument("--size", type=int, default=1_000)
    given = parser.parse_args()
    for kind in given.kinds:
        seconds(KINDS[kind](9))
        taken = [seconds(KINDS[kind](given.size * times)) for times in (1, 2, 4)]
        growth = [after / before / 2 for before, after in pairwise(taken)]
        print(f"{kind:22}", *(f"{one:7.2f} s" for one in taken), "  growth", *(f"{one:4.2f}" for one in growth))  # noqa: T201


if __name__ == "__main__":
    main()
