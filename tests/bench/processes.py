"""Whole processes: how long one takes and how much memory it held, and how two compare."""

import os
import subprocess
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

Command = Sequence[str]


@dataclass(frozen=True, slots=True)
class Ran:
    """One process: wall time [s], peak resident memory [bytes], exit code, processor time [s]."""

    seconds: float
    peak: int
    code: int
    busy: float


def run(command: Command, folder: Path) -> Ran:
    """Run a command in a folder, its output thrown away. Modules are compiled once, as where a program is installed.

    Peak memory counts from what the parent held at the fork, so the caller has to stay small: it makes no
    rigs.
    """
    start = time.perf_counter()
    nothing = subprocess.DEVNULL
    env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    child = subprocess.Popen(command, cwd=folder, env=env, stdin=nothing, stdout=nothing, stderr=nothing)
    _, status, usage = os.wait4(child.pid, 0)
    seconds = time.perf_counter() - start
    child.returncode = os.waitstatus_to_exitcode(status)
    return Ran(seconds, usage.ru_maxrss * 1024, child.returncode, usage.ru_utime + usage.ru_stime)


@dataclass(frozen=True, slots=True)
class Pair:
    """Medians of two commands that took turns [s], the exit codes of the first, and processor time [s] it took more."""

    one: float
    other: float
    codes: frozenset[int]
    busier: float

    @property
    def ratio(self) -> float:
        """How many times as long the first took."""
        return self.one / self.other


def take_turns(one: Command, other: Command, folder: Path, rounds: int) -> Pair:
    """Run two commands in turn, so that a slow moment of the machine meets both."""
    run(one, folder)
    firsts, seconds = [], []
    for _ in range(rounds):
        firsts.append(run(one, folder))
        seconds.append(run(other, folder))
    return Pair(
        median(ran.seconds for ran in firsts),
        median(ran.seconds for ran in seconds),
        frozenset(ran.code for ran in firsts),
        median(ran.busy for ran in firsts) - median(ran.busy for ran in seconds),
    )
