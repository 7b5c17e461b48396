"""What writes is killed, and refused, at every system call of the write: the old file stands or the new one, whole.

    python tests/trust/faults.py                  all writes: killed at each call, refused at each call
    python tests/trust/faults.py --write repair   one of them
    python tests/trust/faults.py --full-disk      all writes on a small disk of their own that is full, or nearly

The calls are those from the first file that a command makes to its last call, told by strace, which also puts the
fault in. Without strace, or where tracing is not allowed, the row says that it was not run.
"""

import argparse
import contextlib
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from trust.table import Form, Row

_SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
_CALLS = (
    "openat,write,writev,pwrite64,fsync,fdatasync,rename,renameat,renameat2,unlink,unlinkat,fchmod,chmod,fchmodat,"
    "fchown,mkdir,mkdirat,flock,ftruncate,link,linkat,symlink"
)
_REFUSALS = ("ENOSPC", "EIO", "EROFS", "EACCES")
_CACHE = tuple(f"verdicts-1.sqlite{ending}" for ending in ("", "-journal", "-wal", "-shm"))
"""What the result cache lies in. Its faults are put into calls about these alone, not into those that read rigs."""
_LEFT_BESIDE = re.compile(r"\..*\.[0-9a-f]{16}\.lineshaft-part")


class Write(NamedTuple):
    """A command that writes one file of a copy of the samples, or makes it; or the result cache where ``cache``."""

    arguments: tuple[str, ...]
    target: str
    cache: bool = False
    program: tuple[str, ...] = (sys.executable, "-P", "-m", "lineshaft")


WRITES: Mapping[str, Write] = {
    "repair": Write(("repair", "starved-saw.rig.yaml", "--apply", "best"), "starved-saw.rig.yaml"),
    "commission": Write(("commission", "started-too-soon.rig.yaml", "--apply"), "started-too-soon.rig.yaml"),
    "snags": Write(("snags", "record", "dry-stage.rig.yaml", "-o", "dry.snags.yaml"), "dry.snags.yaml"),
    "report": Write(("check", "--no-cache", "--no-repairs", "--write", "json=out.json", "lagoon.rig.yaml"), "out.json"),
    "drawing": Write(("draw", "lagoon.rig.yaml", "-o", "out.svg"), "out.svg"),
    "new": Write(("new", "rig", "fresh.rig.yaml"), "fresh.rig.yaml"),
    "cache": Write(("check", "--no-repairs", "."), "", cache=True),
}
"""By name. What is in the cache is nobody's file: it counts only that each run says the same as one without fault."""


class Broken(NamedTuple):
    """A fault that cost something, or was not told: of which write, at which call, and what was wrong."""

    write: str
    fault: str
    what: str


class _Yard:
    """A copy of the samples and what is in it before a write; ``cache`` is where the result cache lies."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir(exist_ok=True)
        self.folder, self.cache = folder / "works", folder / "cache"
        self.log = folder / "calls.txt"
        self.renew()

    def renew(self) -> None:
        shutil.rmtree(self.folder, ignore_errors=True)
        shutil.rmtree(self.cache, ignore_errors=True)
        shutil.copytree(_SAMPLES, self.folder)
        (self.folder / ".git").mkdir()

    def run(self, write: Write, *inject: str) -> "subprocess.CompletedProcess[str]":
        """The command under strace, with a fault or none."""
        own = [word for name in _CACHE if write.cache for word in ("-P", str(self.cache / "lineshaft" / name))]
        traced = ["strace", "-qq", "-o", str(self.log), *own, "-e", f"trace={_CALLS}", *inject]
        return self._ran(write, traced)

    def plain(self, write: Write) -> "subprocess.CompletedProcess[str]":
        """The command as anybody runs it."""
        return self._ran(write, [])

    def _ran(self, write: Write, traced: Sequence[str]) -> "subprocess.CompletedProcess[str]":
        environment = {**os.environ, "XDG_CACHE_HOME": str(self.cache), "PYTHONDONTWRITEBYTECODE": "1"}
        command = [*traced, *write.program, *write.arguments]
        return subprocess.run(
            command, cwd=self.folder, env=environment, capture_output=True, text=True, timeout=600, check=False
        )

    def move(self, folder: Path) -> None:
        """Begin anew in another folder."""
        self.folder, self.cache = folder / "works", folder / "cache"
        self.renew()

    def files(self) -> dict[str, bytes]:
        """All that stands there, what a killed write left beside its file apart."""
        found = (path for path in self.folder.rglob("*") if path.is_file() and not _LEFT_BESIDE.fullmatch(path.name))
        return {path.relative_to(self.folder).as_posix(): path.read_bytes() for path in found}

    def left(self) -> list[Path]:
        """What a killed write left beside."""
        return [path for path in self.folder.rglob(".*") if _LEFT_BESIDE.fullmatch(path.name)]

    def calls(self) -> list[tuple[str, int]]:
        """The calls from the first file that was made to the last, each with how many of its name came up to it.

        By that number strace is told which one is meant: it counts each name by itself.
        """
        lines = [line for line in self.log.read_text("utf-8", "replace").splitlines() if "(" in line]
        first = next((n for n, line in enumerate(lines) if "O_CREAT" in line or "mkdir" in line), len(lines))
        counts: Counter[str] = Counter()
        numbered = []
        for number, line in enumerate(lines):
            name = line.partition("(")[0]
            counts[name] += 1
            if number >= first and not _loads(line):
                numbered.append((name, counts[name]))
        return numbered


def _loads(line: str) -> bool:
    """Whether a call loads code, ours or of others: what cannot be loaded is no fault in a write."""
    return "O_CREAT" not in line and any(name in line for name in ("/lib/python", ".py", ".so", ".dist-info"))


def broken(name: str, folder: Path, *, every: int = 1) -> Iterator[Broken | None]:
    """A write killed and refused at each of its calls, or at every so-many-eth; none for each that cost nothing."""
    write, yard = WRITES[name], _Yard(folder)
    before = yard.files()
    sound = yard.run(write)
    after, calls = yard.files(), yard.calls()
    idle = bool(write.target) and before.get(write.target) == after.get(write.target)
    if sound.returncode not in (0, 1) or not calls or idle:
        yield Broken(name, "none", f"writes nothing: exit code {sound.returncode}, {sound.stderr.strip()[-200:]}")
        return
    for number, (call, count) in enumerate(calls[::every]):
        refusal = _REFUSALS[number % len(_REFUSALS)]
        for inject in ("signal=KILL", f"error={refusal}"):
            yard.renew()
            ran = yard.run(write, "-e", f"inject={call}:{inject}:when={count}")
            wrong = _cost(write, yard, before, after, sound.stdout)
            if inject != "signal=KILL":
                wrong = wrong or _untold(ran, sound.stdout)
            yield Broken(name, f"{inject} at {call} number {count}", wrong) if wrong else None


def _lost(now: Mapping[str, bytes], before: Mapping[str, bytes], after: Mapping[str, bytes]) -> str:
    """Which file is neither as it was nor as it is to be."""
    for path in before.keys() | after.keys() | now.keys():
        if now.get(path) not in (before.get(path), after.get(path)):
            return f"{path} is neither the old file nor the new one ({len(now.get(path, b''))} bytes)"
    return ""


def _cost(write: Write, yard: _Yard, before: Mapping[str, bytes], after: Mapping[str, bytes], said: str) -> str:
    """What is lost: a file that is neither the old one nor the new one; a run afterwards that does not do its work."""
    now = yard.files()
    lost = _lost(now, before, after)
    if lost:
        return lost
    if now.get(write.target) != before.get(write.target):
        return ""
    again = yard.run(write)
    if yard.files() != after or again.stdout != said:
        return "the run afterwards does not write or say what it should"
    return f"{yard.left()[0].name} is left for good" if write.target and yard.left() else ""


def _untold(ran: "subprocess.CompletedProcess[str]", said: str) -> str:
    """What is wrong with what was said of a refusal: a traceback, an internal error, half a sheet taken for a whole."""
    if "Traceback" in ran.stderr or "internal error" in ran.stderr + ran.stdout:
        return f"told as {ran.stderr.strip()[-300:]}"
    if ran.returncode not in (0, 1, 2):
        return f"exit code {ran.returncode}: {ran.stderr.strip()[-200:]}"
    if ran.returncode == 2 and not ran.stderr.strip():
        return "exit code 2 without a sentence"
    return "another sheet, and no word of it" if ran.returncode != 2 and ran.stdout != said else ""


def full(name: str, folder: Path) -> Iterator[Broken | None]:
    """A write on a small disk with so many pages left, from none to all it needs; none for each that cost nothing.

    Raises RuntimeError where no disk can be mounted.
    """
    write = WRITES[name]
    yard = _Yard(folder / "elsewhere")
    before, sound, after = yard.files(), yard.plain(write), yard.files()
    for pages in _PAGES_LEFT:
        with _small_disk(folder / "disk") as disk:
            yard.move(disk)
            left_free(disk, pages)
            ran = yard.plain(write)
            wrong = _lost(yard.files(), before, after) or _untold(ran, sound.stdout)
            if not wrong and write.target and yard.left():
                wrong = f"{yard.left()[0].name} is left"
            (disk / _FILLER).unlink(missing_ok=True)
            again = yard.plain(write)
            if not wrong and ran.returncode == 2 and (yard.files() != after or again.stdout != sound.stdout):
                wrong = "the run afterwards does not write or say what it should"
            yield Broken(name, f"a disk with {pages} pages left", wrong) if wrong else None


_PAGES_LEFT = (0, 1, 2, 3, 5, 9, 40)
_FILLER = "filler"


@contextmanager
def _small_disk(folder: Path) -> Iterator[Path]:
    folder.mkdir(exist_ok=True)
    command = ["mount", "-t", "tmpfs", "-o", "size=900k", "tmpfs", str(folder)]
    made = subprocess.run(command, capture_output=True, check=False)
    if made.returncode:
        raise RuntimeError(f"no disk could be mounted: {made.stderr.decode().strip()}")
    try:
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def left_free(disk: Path, pages: int) -> None:
    """Fill a disk but for so many pages."""
    with (disk / _FILLER).open("wb") as file, contextlib.suppress(OSError):
        while True:
            os.write(file.fileno(), bytes(4096))
    size = (disk / _FILLER).stat().st_size
    os.truncate(disk / _FILLER, max(0, size - 4096 * pages))


def can_mount() -> bool:
    """Whether a small disk can be made here, which wants the rights of root."""
    if sys.platform != "linux" or os.geteuid() or shutil.which("mount") is None:
        return False
    with tempfile.TemporaryDirectory() as name, contextlib.suppress(RuntimeError), _small_disk(Path(name) / "disk"):
        return True
    return False


def can_trace() -> bool:
    """Whether strace is here and may trace."""
    if shutil.which("strace") is None:
        return False
    tried = ["strace", "-qq", "-o", os.devnull, "-e", "trace=close", "-e", "inject=fsync:signal=KILL:when=1", "true"]
    return subprocess.run(tried, capture_output=True, check=False).returncode == 0


def rows(form: Form) -> Iterator[Row]:
    """The row of the table: two writes at every third call, or all at every call."""
    figure = "faults in a write that lose something or are not told"
    if not can_trace():
        yield Row(figure, "0", "not run: needs strace, which may not trace here or is not installed", "", False)
        return
    names: Sequence[str] = tuple(WRITES) if form.long else ("repair", "report")
    with tempfile.TemporaryDirectory() as folder:
        found = [one for name in names for one in broken(name, Path(folder), every=form.of(3, 1))]
    wrong = [one for one in found if one is not None]
    first = f"; the first: {wrong[0].write}, {wrong[0].fault}" if wrong else ""
    yield Row(figure, "0", f"{len(wrong)} of {len(found):,}{first}", ", ".join(names), not wrong)
    if form.long:
        yield from _rows_of_full_disks(names)


def _rows_of_full_disks(names: Sequence[str]) -> Iterator[Row]:
    figure = "writes on a disk that is full that lose something or are not told"
    if not can_mount():
        yield Row(figure, "0", "not run: needs Linux, and root to mount a small disk", "", False)
        return
    with tempfile.TemporaryDirectory() as folder:
        found = [one for name in names for one in full(name, Path(folder))]
    wrong = [one for one in found if one is not None]
    first = f"; the first: {wrong[0].write}, {wrong[0].fault}" if wrong else ""
    yield Row(figure, "0", f"{len(wrong)} of {len(found):,}{first}", ", ".join(names), not wrong)


def main(arguments: list[str]) -> int:
    """All writes, or one, each defect told."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--write", action="append", choices=WRITES, help="one of them; may be given again")
    parser.add_argument("--every", type=int, default=1, help="at every so-many-eth call")
    parser.add_argument("--full-disk", action="store_true", help="on a small disk that is full, or nearly")
    asked = parser.parse_args(arguments)
    count = wrong = 0
    for name in asked.write or WRITES:
        with tempfile.TemporaryDirectory() as folder:
            tried = full(name, Path(folder)) if asked.full_disk else broken(name, Path(folder), every=asked.every)
            for one in tried:
                count += 1
                if one is not None:
                    wrong += 1
                    sys.stdout.write(f"{one.write}: {one.fault}: {one.what}\n")
                    sys.stdout.flush()
        sys.stdout.write(f"{name}: {count} faults so far, {wrong} of them cost something or are not told\n")
        sys.stdout.flush()
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
