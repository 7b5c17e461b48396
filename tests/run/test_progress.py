"""Progress: on a terminal, after a second, gone at the end; in a CI log a line in ten seconds; nowhere else a byte."""

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest
from run.planted_rule import planted

from lineshaft.run.progress import Progress, watched

RIG = "rig: 1\ncatalogue: c.catalogue.yaml\nparts:\n  w: {item: wheel}\n"
WHEEL = "  wheel: {kind: prime-mover, output: {torque: 1 N*m, speed: 4 rad/s}}\n"
CATALOGUE = f'catalogue: 1\nedition: "1"\nitems:\n{WHEEL}'


def test_nothing_in_the_first_second() -> None:
    """Started at 100 s, a run of a thousand steps by 100.99 s is silent, and so is its end."""
    stream = io.StringIO()
    progress = Progress(1_000, stream, 100.0)
    for number in range(1_000):
        progress.step(100.0 + number * 0.00099)
    progress.clear()
    assert stream.getvalue() == ""


def test_the_line_is_written_over_and_taken_away() -> None:
    """At 1 s and 1.2 s it speaks, between not; at the end blanks stand where it stood."""
    stream = io.StringIO()
    progress = Progress(2_000, stream, 0.0)
    for now in (1.0, 1.1, 1.2):
        progress.step(now)
    assert stream.getvalue() == "\rjudged 1 of 2,000 files\rjudged 3 of 2,000 files"
    progress.clear()
    assert stream.getvalue().endswith("\r" + " " * len("judged 3 of 2,000 files") + "\r")


def test_a_log_gets_a_line_in_ten_seconds_and_keeps_it() -> None:
    """A file a second for half a minute: lines at 10, 20 and 30 s, whole ones, and nothing is written over."""
    stream = io.StringIO()
    progress = Progress(1_500, stream, 0.0, log=True)
    for second in range(1, 36):
        progress.step(float(second))
    progress.clear()
    lines = [f"judged {done} of 1,500 files\n" for done in (10, 20, 30)]
    assert stream.getvalue() == "".join(lines)


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
    progress = watched(10, quiet)
    progress.step(progress._next)
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
    assert b"of 4 files" in said
    assert said.endswith(b"\r")
    assert said.rstrip(b"\r").rpartition(b"\r")[2].strip() == b""
    assert b"judged" not in ran.stdout
