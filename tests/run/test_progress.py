"""Progress: on a terminal, after a second, gone at the end; in a CI log a line in ten seconds; nowhere else a byte."""

import io
import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from run.planted_rule import planted

from lineshaft.run.progress import Progress, watched

RIG = "rig: 1\ncatalogue: c.catalogue.yaml\nparts:\n  w: {item: wheel}\n"
WHEEL = "  wheel: {kind: prime-mover, output: {torque: 1 N*m, speed: 4 rad/s}}\n"
CATALOGUE = f'catalogue: 1\nedition: "1"\nitems:\n{WHEEL}'


def _progress(count: int, stream: io.StringIO, now: float, *, log: bool = False) -> Progress:
    """Of rigs numbered from 0 in /yard, where it is run."""
    return Progress("judged", [Path(f"/yard/{n}.rig.yaml") for n in range(count)], Path("/yard"), stream, now, log=log)


def test_nothing_in_the_first_second() -> None:
    """Started at 100 s, a run of a thousand steps by 100.99 s is silent, and so is its end."""
    stream = io.StringIO()
    progress = _progress(1_000, stream, 100.0)
    for number in range(1_000):
        progress.step(number, 100.0 + number * 0.00099)
    progress.clear()
    assert stream.getvalue() == ""


def test_the_line_names_the_file_that_it_is_at_is_written_over_and_taken_away() -> None:
    """At 1 s and 1.2 s it speaks, between not; at the end blanks stand where it stood."""
    stream = io.StringIO()
    progress = _progress(2_000, stream, 0.0)
    for number, now in enumerate((1.0, 1.1, 1.2)):
        progress.step(number, now)
    last = "judged 3 of 2,000 files, at 3.rig.yaml"
    assert stream.getvalue() == f"\rjudged 1 of 2,000 files, at 1.rig.yaml\r{last}"
    progress.clear()
    assert stream.getvalue().endswith("\r" + " " * len(last) + "\r")


def test_a_log_gets_a_line_in_ten_seconds_and_keeps_it() -> None:
    """A file a second for half a minute: lines at 10, 20 and 30 s, whole ones, and nothing is written over."""
    stream = io.StringIO()
    progress = _progress(1_500, stream, 0.0, log=True)
    for number in range(35):
        progress.step(number, number + 1.0)
    progress.clear()
    lines = [f"judged {done} of 1,500 files, at {done}.rig.yaml\n" for done in (10, 20, 30)]
    assert stream.getvalue() == "".join(lines)


def test_it_ticks_while_one_file_takes_long() -> None:
    """The second of three is at work since 1 s: at 4 s and 5.4 s the seconds are told, though nothing came back."""
    stream = io.StringIO()
    progress = _progress(3, stream, 0.0)
    progress.step(0, 1.0)
    progress.tick(4.0)
    progress.tick(5.4)
    said = stream.getvalue().split("\r")[2:]
    assert [text.rstrip() for text in said] == [f"judged 1 of 3 files, at 1.rig.yaml for {s} s" for s in (3, 4)]


def test_it_ticks_by_itself() -> None:
    """Nobody steps: within five seconds somebody who looks is told of the file all the same, and then no more."""
    stream = io.StringIO()
    with _progress(2, stream, time.monotonic() - 30.0):
        until = time.monotonic() + 5.0
        while not stream.getvalue() and time.monotonic() < until:
            time.sleep(0.02)
    told = stream.getvalue()
    assert told.startswith("\rjudged 0 of 2 files, at 0.rig.yaml for 30 s")
    time.sleep(0.5)
    assert stream.getvalue() == told


def test_the_file_that_it_is_at_is_the_first_that_is_not_done() -> None:
    """Workers bring 2 and 1 before 0: it is at 0 until that is done, then at 3."""
    stream = io.StringIO()
    progress = _progress(5, stream, 0.0)
    for number, now in ((2, 1.0), (1, 1.5), (0, 2.0)):
        progress.step(number, now)
    said = [text.rpartition(" at ")[2].rstrip() for text in stream.getvalue().split("\r")[1:]]
    assert said == ["0.rig.yaml", "0.rig.yaml", "3.rig.yaml"]


def test_a_long_or_hostile_name_stays_in_its_line() -> None:
    """A name of 300 letters with an escape and a line break before its end: 80 columns at most, no control left."""
    stream = io.StringIO()
    path = Path("/yard", "n" * 300 + "\x1b[31m\n" + "end.rig.yaml")
    progress = Progress("judged", [path, path], Path("/yard"), stream, 0.0)
    progress.tick(1.0)
    said = stream.getvalue().removeprefix("\r")
    assert said.endswith("end.rig.yaml")
    assert len(said) < 80
    assert said.isprintable()


@pytest.mark.parametrize(
    ("terminal", "quiet", "env", "seen"),
    [
        (True, False, {}, True),
        (False, False, {}, False),
        (True, True, {}, False),
        (True, False, {"CI": "true"}, True),
        (False, False, {"CI": "true"}, True),
        (False, True, {"CI": "true"}, False),
        (True, False, {"TERM": "dumb"}, False),
    ],
)
def test_who_sees_it(
    terminal: bool, quiet: bool, env: dict[str, str], seen: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A person at a terminal, or who reads a CI log, and did not ask for quiet; no file."""
    monkeypatch.delenv("CI", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    for name, value in env.items():
        monkeypatch.setenv(name, value)
    stream = io.StringIO()
    monkeypatch.setattr(stream, "isatty", lambda: terminal, raising=False)
    monkeypatch.setattr(sys, "stderr", stream)
    progress = watched("judged", [Path("a.rig.yaml")] * 10, Path.cwd(), quiet=quiet)
    progress.step(0, progress._next)
    assert (stream.getvalue() != "") is seen
    assert "\r" not in stream.getvalue() or "CI" not in env


@pytest.mark.skipif(os.name == "nt", reason="needs a pseudo-terminal")
def test_on_a_real_terminal(tmp_path: Path) -> None:
    """Three rigs at 0.7 s each: the terminal saw the count and ends with an empty line; the sheet is as ever."""
    import pty

    (tmp_path / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    for letter in "abc":
        (tmp_path / f"{letter}.rig.yaml").write_text(RIG, "utf-8")
    env = planted(tmp_path / "away", "import time; time.sleep(0.7)") | {"TERM": "xterm"}
    env.pop("CI", None)
    ours, theirs = pty.openpty()
    command = [sys.executable, "-P", "-m", "lineshaft", "check", "--no-cache", "--fail-on=error", "."]
    ran = subprocess.run(command, cwd=tmp_path, env=env, stdout=subprocess.PIPE, stderr=theirs, timeout=60)
    os.close(theirs)
    said = b""
    try:
        while more := os.read(ours, 4096):
            said += more
    except OSError:  # the other end is closed
        pass
    os.close(ours)
    assert b"of 4 files, at b.rig.yaml" in said
    assert said.endswith(b"\r")
    assert said.rstrip(b"\r").rpartition(b"\r")[2].strip() == b""
    assert b"judged" not in ran.stdout


def test_nothing_is_said_while_others_write() -> None:
    """The line is away meanwhile, also where it is time to tick; afterwards it is said again."""
    stream = io.StringIO()
    progress = _progress(5, stream, 0.0)
    progress.step(0, 1.0)
    ticking = threading.Thread(target=progress.tick, args=(9.0,))
    with progress.aside():
        away = stream.getvalue()
        ticking.start()
        ticking.join(0.05)
        assert stream.getvalue() == away
    ticking.join()
    assert away.endswith(" \r")
    assert stream.getvalue().startswith(f"{away}\rjudged 1 of 5 files")
