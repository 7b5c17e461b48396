"""A fleet of generated rigs of 30 parts: more processes, remembered verdicts and a Dask cluster against one process."""

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from statistics import median

_TESTS = Path(__file__).resolve().parents[1]
_IN_A_FOLDER = 100
_PARTS = 30


@dataclass(frozen=True, slots=True)
class Outcome:
    """One run: wall time [s], processor time of it and its workers [s], exit code and sheet."""

    seconds: float
    processor: float
    code: int
    sheet: bytes


class Fleet:
    """So many rigs in folders of a hundred, each folder with its catalogue, made when first asked for."""

    def __init__(self, folder: Path, rigs: int) -> None:
        self.root, self.rigs = folder / f"fleet-{rigs}", rigs
        self.cache = folder / "cache"
        if not self.root.exists():
            subprocess.run([sys.executable, __file__, str(self.root), str(rigs)], check=True)

    def check(self, *options: str) -> Outcome:
        """Check the whole fleet."""
        command = [sys.executable, "-m", "lineshaft", "check", *options, "."]
        before, began = os.times(), time.perf_counter()
        env = {**os.environ, "XDG_CACHE_HOME": str(self.cache)}
        ran = subprocess.run(command, cwd=self.root, env=env, stdout=subprocess.PIPE, check=False)
        seconds, after = time.perf_counter() - began, os.times()
        spent = after.children_user + after.children_system - before.children_user - before.children_system
        return Outcome(seconds, spent, ran.returncode, ran.stdout)

    def jobs(self, rounds: int) -> str:
        """`--jobs 1` against `--jobs 2`, in turn."""
        ones, twos = [], []
        for _ in range(rounds):
            ones.append(self.check("--no-cache", "--jobs", "1"))
            twos.append(self.check("--no-cache", "--jobs", "2"))
        return _compared(ones, twos, f"limit: at least 1.7; {os.cpu_count()} cores")

    def remembered(self, rounds: int) -> str:
        """A first run with an empty cache against a second, both with one process."""
        firsts, seconds = [], []
        for _ in range(rounds):
            shutil.rmtree(self.cache, ignore_errors=True)
            firsts.append(self.check("--jobs", "1"))
            seconds.append(self.check("--jobs", "1"))
        kept = sum(path.stat().st_size for path in self.cache.rglob("*") if path.is_file())
        return _compared(firsts, seconds, f"limit: at least 8; the cache holds {kept / 2**20:.1f} MiB")

    def cluster(self, rounds: int) -> str:
        """`--jobs 1` against a local Dask cluster of two workers."""
        ones, fars = [], []
        with _local_cluster() as address:
            for _ in range(rounds):
                ones.append(self.check("--no-cache", "--jobs", "1"))
                fars.append(self.check("--no-cache", "--dask", address))
        return _compared(ones, fars, "no limit")


def _compared(ones: list[Outcome], others: list[Outcome], note: str) -> str:
    """How many times as long the first took, with wall and processor times, and whether the sheets are the same."""
    one, other = median(ran.seconds for ran in ones), median(ran.seconds for ran in others)
    spent = [median(ran.processor for ran in several) for several in (ones, others)]
    reports = "same bytes" if len({ran.sheet for ran in ones + others}) == 1 else "THE BYTES DIFFER"
    codes = {ran.code for ran in ones + others}
    failed = "" if codes == {0} else f"; exit codes {sorted(codes)}"
    return (
        f"{one / other:.2f} ({note}; {one:.2f} s against {other:.2f} s; "
        f"processor {spent[0]:.2f} s against {spent[1]:.2f} s; {reports}{failed})"
    )


@contextmanager
def _local_cluster() -> Iterator[str]:
    command = [sys.executable, str(_TESTS / "cluster" / "local_cluster.py"), "2"]
    child = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert child.stdin is not None and child.stdout is not None
    try:
        yield child.stdout.readline().strip()
    finally:
        child.stdin.close()
        child.wait(60)


def _make(root: Path, rigs: int) -> None:
    sys.path.insert(0, str(_TESTS))
    from rig_maker import make_fleet

    (root / ".git").mkdir(parents=True)
    for start in range(0, rigs, _IN_A_FOLDER):
        folder = root / f"server-{start // _IN_A_FOLDER:04}"
        folder.mkdir()
        made = make_fleet(start, min(_IN_A_FOLDER, rigs - start), _PARTS)
        for number, rig in enumerate(made):
            (folder / f"leg-{number:03}.rig.yaml").write_text(rig.text, encoding="utf-8")
        (folder / made[-1].catalogue).write_text(made[-1].catalogue_text, encoding="utf-8")


if __name__ == "__main__":
    _make(Path(sys.argv[1]), int(sys.argv[2]))
