"""What `lineshaft design` takes: processor time and memory of whole processes, over a plain check of the same file.

``python tests/bench/designs.py``. Goals: three machines on one wheel in 2 s, six on two turbines in 20 s, under 500 MB.
"""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
WISHES = ("one-saw", "plate-roller", "three-on-a-wheel", "six-on-two")


def _taken(*arguments: str) -> tuple[float, float]:
    """Processor time [s] and the most memory [MB] of one process."""
    command = [sys.executable, "-m", "lineshaft", *arguments]
    process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, _, used = os.wait4(process.pid, 0)
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def main() -> int:
    """Print a row a wish."""
    for name in WISHES:
        file = f"sample_rigs/wishes/{name}.rig.yaml"
        plain, _ = _taken("check", "--no-cache", file)
        seconds, memory = _taken("design", file)
        print(f"{name:18} {seconds:6.2f} s, {seconds / plain:6.1f} times a check, {memory:4.0f} MB")  # noqa: T201
    return 0


if __name__ == "__main__":
    sys.exit(main())
