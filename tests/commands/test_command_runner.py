"""A run in this process is what a process of its own gives, and leaves nothing behind."""

import json
import os
import signal
import subprocess
import sys
import time
import warnings
from pathlib import Path

import click
import pytest
from command_runner import TooLongError, run, run_for_bytes

from lineshaft.commands import rules

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "sample_rigs"


@pytest.mark.parametrize(
    "arguments",
    [
        ("check", "--no-cache", "--no-repairs", "."),
        ("check", "--no-cache", "--write", "json=-", "overloaded-step.rig.yaml"),
        ("check", "--color", "always", "slow-saw.rig.yaml"),
        ("check", "nothing-here", "overloaded-step.rig.yaml"),
        ("check", "--no-such-option"),
        ("check", "--help"),
        ("trace", "small-saw.rig.yaml"),
        ("draw", "lagoon.rig.yaml", "-o", "-"),
        ("repair", "--apply", "1", "--diff", "overloaded-step.rig.yaml"),
        ("no-such-command",),
        ("--version",),
    ],
    ids=" ".join,
)
def test_a_run_here_is_a_run_of_its_own(arguments: tuple[str, ...]) -> None:
    """Exit code and every byte of both streams: sheets, documents, colours, drawings, faults of use, help."""
    command = [sys.executable, "-P", "-m", "lineshaft", *arguments]
    own = subprocess.run(
        command, cwd=SAMPLES, env={**os.environ, "PYTHONUTF8": "1"}, capture_output=True, timeout=60, check=False
    )
    here = run_for_bytes(SAMPLES, *arguments)
    assert (here.returncode, here.stdout, here.stderr) == (own.returncode, own.stdout, own.stderr)
    assert here.stdout or here.stderr


def test_the_environment_is_the_runs_own() -> None:
    """Variables are added for one run and gone after it; the working folder is the one from before."""
    before = Path.cwd(), dict(os.environ), sys.stdin, sys.stdout, sys.stderr
    coloured = run(SAMPLES, "check", "slow-saw.rig.yaml", env={"FORCE_COLOR": "1", "NO_COLOR": ""})
    assert "\x1b[" in coloured.stdout
    assert "\x1b[" not in run(SAMPLES, "check", "slow-saw.rig.yaml", env={"FORCE_COLOR": ""}).stdout
    assert (Path.cwd(), dict(os.environ), sys.stdin, sys.stdout, sys.stderr) == before


def test_what_a_command_does_to_its_process_is_undone(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A command that reads, warns, moves, sets variables and handlers: seen in its result, and nowhere afterwards."""
    (tmp_path / "away").mkdir()

    def unruly() -> None:
        os.chdir("away")
        os.environ["LEFT_BEHIND"] = sys.stdin.read()
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        warnings.warn("a word of warning", stacklevel=1)
        warnings.warn("nobody's", DeprecationWarning, stacklevel=1)
        sys.stdout.buffer.write(Path.cwd().name.encode())
        raise KeyboardInterrupt

    monkeypatch.setattr(rules, "command", click.Command("rules", callback=unruly))
    before = Path.cwd(), dict(os.environ), signal.getsignal(signal.SIGINT), warnings.filters[:]
    ran = run(tmp_path, "rules", stdin="said")
    assert (ran.returncode, ran.stdout) == (130, "away")
    assert "UserWarning: a word of warning" in ran.stderr
    assert "nobody's" not in ran.stderr
    assert ran.stderr.endswith("lineshaft: interrupted\n")
    assert (Path.cwd(), dict(os.environ), signal.getsignal(signal.SIGINT), warnings.filters[:]) == before


def test_what_debug_lets_through_is_raised(monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault of the program is one line and code 2; with --debug it reaches the test."""

    def broken() -> None:
        raise ZeroDivisionError

    asked = [click.Option(["--debug"], is_flag=True, expose_value=False)]
    monkeypatch.setattr(rules, "command", click.Command("rules", callback=broken, params=list(asked)))
    ran = run(SAMPLES, "rules")
    assert (ran.returncode, ran.stdout) == (2, "")
    assert "internal error (ZeroDivisionError)" in ran.stderr
    with pytest.raises(ZeroDivisionError):
        run(SAMPLES, "rules", "--debug")


def test_bytes_and_text_are_the_same_run() -> None:
    """The document in bytes is UTF-8 of the document in text."""
    arguments = ("check", "--no-cache", "--write", "json=-", "overloaded-step.rig.yaml")
    text, raw = run(SAMPLES, *arguments).stdout, run_for_bytes(SAMPLES, *arguments).stdout
    assert text.encode() == raw
    assert [finding["rule"] for finding in json.loads(text)["findings"]] == ["torque-over-limit"]


@pytest.mark.skipif(not hasattr(signal, "SIGALRM"), reason="needs a system with alarms")
def test_a_run_that_does_not_end_is_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    """After its seconds a run fails its test, whatever the program makes of exceptions; the alarm is off afterwards."""
    monkeypatch.setattr(rules, "command", click.Command("rules", callback=lambda: time.sleep(30)))
    before = signal.getsignal(signal.SIGALRM)
    with pytest.raises(TooLongError):
        run(SAMPLES, "rules", seconds=0.05)
    assert signal.getitimer(signal.ITIMER_REAL) == (0, 0)
    assert signal.getsignal(signal.SIGALRM) is before
