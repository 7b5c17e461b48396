"""What a run ends with, and that its bytes depend on nothing but its input."""

import io
import json
import os
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest
from command_runner import run_for_bytes

from lineshaft.exits import CannotDoError, Exit, guarded

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
EDITIONS = ("catalogues/tern-harbour-3.0.catalogue.yaml", "catalogues/tern-harbour.catalogue.yaml")
COMMAND = (sys.executable, "-P", "-m", "lineshaft")


def run_of_its_own(*arguments: str, env: dict[str, str]) -> subprocess.CompletedProcess[bytes]:
    """One run of the command among the samples, in a process of its own with these variables."""
    command, environment = [*COMMAND, *arguments], {**os.environ, **env}
    return subprocess.run(command, cwd=SAMPLES, env=environment, capture_output=True, timeout=60, check=False)


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (("check", "small-saw.rig.yaml"), 0),
        (("check", "overloaded-step.rig.yaml"), 1),
        (("check", "open-end.rig.yaml"), 0),
        (("check", "--fail-on", "warning", "open-end.rig.yaml"), 1),
        (("check", "nothing-here"), 2),
        (("check", "--no-such-option"), 2),
        (("check", "--write", "parchment=-"), 2),
        (("check", "--write", "json=no/such/folder/f.json", "small-saw.rig.yaml"), 2),
        (("trace", "nothing-here.rig.yaml"), 2),
        (("trace", "small-saw.rig.yaml", "no-such-part"), 2),
        (("explain", "no-such-rule"), 2),
        (("no-such-command",), 2),
        (("draw", "lagoon.rig.yaml"), 0),
        (("draw", "nothing.rig.yaml"), 2),
        (("sweep", "lagoon.rig.yaml", "--over", "turbine.head=2m..4m"), 0),
        (("sweep", "lagoon.rig.yaml", "--over", "turbine.head=4m..2m"), 2),
        (("size", "late-planks.rig.yaml", "saw"), 0),
        (("size", "slow-saw.rig.yaml", "saw", "--stages", "1"), 1),
        (("size", "slow-saw.rig.yaml", "divide"), 2),
        (("impact", *EDITIONS, "small-saw.rig.yaml"), 0),
        (("impact", *EDITIONS, "starved-saw.rig.yaml"), 1),
        (("impact", "small-saw.rig.yaml"), 2),
        (("rules",), 0),
        (("schema", "rig"), 0),
        (("--version",), 0),
        (("check", "--help"), 0),
    ],
    ids=str,
)
def test_exit_codes(arguments: tuple[str, ...], code: int) -> None:
    """0 clean, 1 findings at or above --fail-on, 2 the job could not be done; never a traceback."""
    ran = run_for_bytes(SAMPLES, *arguments)
    assert ran.returncode == code, ran.stderr
    assert b"Traceback" not in ran.stdout + ran.stderr


def test_a_missing_path_does_not_hide_the_rest() -> None:
    """Exit 2, and what could be judged is still written."""
    ran = run_for_bytes(SAMPLES, "check", "--write", "json=-", "nothing-here", "overloaded-step.rig.yaml")
    assert ran.returncode == 2
    assert [f["rule"] for f in json.loads(ran.stdout)["findings"]] == ["torque-over-limit"]
    assert b"nothing-here" in ran.stderr


def test_a_folder_without_rigs_is_a_notice(tmp_path: Path) -> None:
    """Nothing to judge is not a failure, but it is said."""
    ran = run_for_bytes(tmp_path, "check", ".")
    assert ran.returncode == 0
    assert b"no rig file" in ran.stdout


def test_interrupt_closed_pipe_and_the_unforeseen(capsys: pytest.CaptureFixture[str]) -> None:
    """Ctrl-C is 130; an error of the program or of the job is 2 with one line."""

    def raises(error: BaseException) -> int:
        def job() -> int:
            raise error

        return guarded(job, debug=False)

    assert raises(KeyboardInterrupt()) == Exit.INTERRUPTED == 130
    assert raises(ZeroDivisionError()) == Exit.FAILED == 2
    assert raises(CannotDoError("no\x1b[31m way")) == 2
    assert raises(OSError(28, "No space left on device")) == 2
    assert "\x1b" not in capsys.readouterr().err


def test_a_closed_pipe_is_quiet() -> None:
    """Nobody reads: no traceback, nothing on stderr."""
    reader, writer = os.pipe()
    os.close(reader)
    command = [*COMMAND, "check", "overloaded-step.rig.yaml"]
    with os.fdopen(writer, "wb") as out:
        ran = subprocess.run(command, cwd=SAMPLES, stdout=out, stderr=subprocess.PIPE, timeout=60, check=False)
    assert ran.stderr == b""


def test_colour_only_where_asked() -> None:
    """The option wins, then NO_COLOR, then FORCE_COLOR; a pipe has none."""
    rig = "overloaded-step.rig.yaml"
    assert b"\x1b[" not in run_for_bytes(SAMPLES, "check", rig).stdout
    assert b"\x1b[" in run_for_bytes(SAMPLES, "check", rig, env={"FORCE_COLOR": "1"}).stdout
    assert b"\x1b[" not in run_for_bytes(SAMPLES, "check", rig, env={"FORCE_COLOR": "1", "NO_COLOR": "1"}).stdout
    assert b"\x1b[" in run_for_bytes(SAMPLES, "check", "--color", "always", rig, env={"NO_COLOR": "1"}).stdout


def test_a_poor_locale_gets_escapes() -> None:
    """Where the locale cannot show a middle dot, it is escaped and the run goes on."""
    poor = {"PYTHONIOENCODING": "ascii", "LC_ALL": "C", "PYTHONUTF8": "0"}
    ran = run_of_its_own("check", "overloaded-step.rig.yaml", env=poor)
    assert ran.returncode == 1
    assert b"\\xb7" in ran.stdout


def test_same_bytes_whatever_the_hash_seed_and_order() -> None:
    """Seeds and the order of the files change nothing."""
    rigs = sorted(path.name for path in SAMPLES.glob("*.rig.yaml"))
    one = run_of_its_own("check", "--write", "json=-", *rigs, env={"PYTHONHASHSEED": "1"}).stdout
    other = run_of_its_own("check", "--write", "json=-", *reversed(rigs), env={"PYTHONHASHSEED": "2"}).stdout
    assert one == other
    assert len(json.loads(one)["findings"]) > 10


def test_the_json_fits_its_published_schema() -> None:
    """What `check` writes is what `schema findings` describes."""
    schema = json.loads(run_for_bytes(SAMPLES, "schema", "findings").stdout)
    document = json.loads(run_for_bytes(SAMPLES, "check", "--write", "json=-", ".").stdout)
    jsonschema.Draft202012Validator(schema).validate(document)


@pytest.mark.parametrize(
    "arguments",
    [("check", "small-saw.rig.yaml"), ("check", "."), ("rules",), ("schema", "rig"), ("--help",), ("check", "--help")],
    ids=str,
)
def test_a_reader_that_goes_away_is_not_told_of_findings(arguments: tuple[str, ...]) -> None:
    """Nobody reads: the job is not done, 2, and nothing is said; whatever the files are like."""
    reading, writing = os.pipe()
    os.close(reading)
    try:
        ran = subprocess.run(
            [*COMMAND, *arguments], cwd=SAMPLES, stdout=writing, stderr=subprocess.PIPE, timeout=120, check=False
        )
    finally:
        os.close(writing)
    assert (ran.returncode, ran.stderr) == (Exit.FAILED, b"")


class _Terminal(io.StringIO):
    """Standard error that a person looks at."""

    def isatty(self) -> bool:
        """It is one."""
        return True


@pytest.mark.parametrize(("reader", "most"), [(_Terminal, 60), (io.StringIO, 1000)])
def test_why_a_run_ends_fits_a_terminal_and_is_one_line_in_a_log(
    reader: type[io.StringIO], most: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The words are the same; only a terminal gets more than one line."""
    said = "the list does not fit into works/north/mill.rig.yaml as it is written there; add its nine steps by hand"

    def fails() -> int:
        raise CannotDoError(said)

    shown = reader()
    monkeypatch.setattr(sys, "stderr", shown)
    monkeypatch.setenv("COLUMNS", "60")
    assert guarded(fails, debug=False) == Exit.FAILED
    lines = shown.getvalue().splitlines()
    assert all(len(line) <= most for line in lines)
    assert (len(lines) > 1) == (reader is _Terminal)
    assert " ".join(" ".join(lines).split()) == f"lineshaft: {said}"
