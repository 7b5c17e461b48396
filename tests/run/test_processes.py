"""Several processes give what one gives, and end cleanly: interrupted, killed, or with a bad rule."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from command_runner import run_for_bytes
from commands.placed_yard import placed_yard
from run.planted_rule import COMMAND, planted

from lineshaft.check.checker import Checker
from lineshaft.check.rulebook import open_rulebook
from lineshaft.run.executor import InProcess
from lineshaft.run.processes import Workers
from lineshaft.run.runner import JobOptions, executor
from lineshaft.schema.loading import kind_of
from lineshaft.write.formats import WRITERS

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
RIG = """rig: 1
catalogue: c.catalogue.yaml
parts:
  w: {item: wheel}
  %s: {item: mill, driven-by: w}
"""
CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 100 N*m, speed: 4 rad/s}}
  mill: {kind: driven-machine}
"""


def everything(cwd: Path, folder: Path, *options: str, **more: str) -> tuple[int, bytes, list[bytes]]:
    """Exit code, sheet and every other document of one run."""
    writes = [f"--write={name}={folder / name}" for name in WRITERS]
    command, env = [*COMMAND, *writes, *options], {**os.environ, **more}
    ran = subprocess.run(command, cwd=cwd, env=env, capture_output=True, timeout=120, check=False)
    assert ran.stderr == b""
    return ran.returncode, ran.stdout, [(folder / name).read_bytes() for name in WRITERS]


def everything_here(cwd: Path, folder: Path, *names: str) -> tuple[int, bytes, list[bytes]]:
    """The same of a run in this one process."""
    writes = [f"--write={name}={folder / name}" for name in WRITERS]
    ran = run_for_bytes(cwd, "check", "--no-cache", "--jobs", "1", *writes, *names)
    assert ran.stderr == b""
    return ran.returncode, ran.stdout, [(folder / name).read_bytes() for name in WRITERS]


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """Eight clean rigs; `rigs/d.rig.yaml` has a part called bomb."""
    rigs = tmp_path / "rigs"
    rigs.mkdir()
    (rigs / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    for letter in "abcdefgh":
        (rigs / f"{letter}.rig.yaml").write_text(RIG % ("bomb" if letter == "d" else "m"), "utf-8")
    return tmp_path


def test_the_same_bytes_from_any_number_of_processes(tmp_path: Path) -> None:
    """The samples, sound and broken, through every writer: this one process, and five under another hash seed."""
    one = everything_here(SAMPLES, tmp_path)
    assert one[0] == 1
    assert everything(SAMPLES, tmp_path, "--jobs", "5", PYTHONHASHSEED="3") == one


def test_the_same_bytes_in_any_order_of_files(tmp_path: Path) -> None:
    """Named one by one, forwards to this process, backwards to two under another hash seed."""
    names = sorted(path.name for path in SAMPLES.glob("*.rig.yaml"))
    forwards = everything_here(SAMPLES, tmp_path, *names)
    assert everything(SAMPLES, tmp_path, "--jobs", "2", *reversed(names), PYTHONHASHSEED="2") == forwards


def test_what_is_wrong_in_placed_blueprints_is_the_same_however_it_is_judged(tmp_path: Path) -> None:
    """Every writer: in one process and in two, in any order."""
    (tmp_path / "yard").mkdir()
    yard = placed_yard(tmp_path / "yard")
    names = ["a.rig.yaml", "b.rig.yaml", "leg.blueprint.yaml"]
    one = everything(yard, tmp_path, *names)
    assert one[0] == 1
    assert everything(yard, tmp_path, "--jobs", "2", *reversed(names)) == one


@pytest.mark.skipif(os.name == "nt", reason="needs signals")
def test_a_killed_worker_is_told_of_at_its_file(yard: Path) -> None:
    """Exit 2, and of the file that the worker was at it is told how that ended; the other seven rigs are judged."""
    env = planted(yard / "away", "import os, signal\nif 'bomb' in rig.rig.index: os.kill(os.getpid(), signal.SIGKILL)")
    ran = subprocess.run([*COMMAND, "--jobs", "2", "rigs"], cwd=yard, env=env, capture_output=True, timeout=60)
    assert (ran.returncode, ran.stderr) == (2, b"")
    assert b"rigs/d.rig.yaml" in ran.stdout
    assert b"the worker process that judged this file was ended by signal 9" in ran.stdout
    assert b"Inspected 9 files, 14 parts: 1 error," in ran.stdout


def test_an_internal_error_in_a_worker_is_the_same_as_here(yard: Path) -> None:
    """The same words of every rig and code 2 with one process and with two, and tracebacks with --debug alone."""
    code = "import lineshaft.check.inspection as j\ndef broken(*_): raise ZeroDivisionError('planted')\n"
    code += "j.solve_loaded = broken"
    env = planted(yard / "away", "return")
    with (yard / "away" / "planted_rule_code.py").open("a", encoding="utf-8") as module:
        module.write(code)
    said = []
    for jobs in ("1", "2"):
        command = [*COMMAND, "--jobs", jobs, "rigs"]
        ran = subprocess.run(command, cwd=yard, env=env, capture_output=True, timeout=60, check=False)
        assert ran.returncode == 2
        assert ran.stderr == b""
        said.append(ran.stdout)
    assert said[0] == said[1]
    assert said[0].count(b"internal error (ZeroDivisionError)") == 8
    ran = subprocess.run([*command, "--debug"], cwd=yard, env=env, capture_output=True, timeout=60, check=False)
    assert b"in broken" in ran.stderr


AT_WORK = "import time, pathlib\npathlib.Path({began!r}).touch()\ntime.sleep(60)"
AT_ITS_START = """
import multiprocessing
import pathlib
import time

if multiprocessing.parent_process() is not None:
    pathlib.Path({began!r}).touch()
    time.sleep(60)
"""


@pytest.mark.skipif(os.name == "nt", reason="needs process groups")
@pytest.mark.parametrize(("jobs", "when"), [("1", AT_WORK), ("2", AT_WORK), ("2", AT_ITS_START)])
def test_an_interrupt_ends_all(yard: Path, jobs: str, when: str) -> None:
    """Ctrl-C reaches the whole process group, as from a terminal: 130, one word, no traceback, nobody left."""
    began = yard / "began"
    code = when.format(began=str(began))
    env = planted(yard / "away", code if when is AT_WORK else "return")
    if when is AT_ITS_START:
        with (yard / "away" / "planted_rule_code.py").open("a", encoding="utf-8") as module:
            module.write(code)
    child = subprocess.Popen(
        [*COMMAND, "--jobs", jobs, "rigs"],
        cwd=yard,
        env=env,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
    )
    _until(began.exists)
    os.killpg(child.pid, signal.SIGINT)
    out, err = child.communicate(timeout=30)
    assert (child.returncode, out, err.strip()) == (130, b"", b"lineshaft: interrupted")
    _until(lambda: not _alive(child.pid))  # the one that helps with starting others leaves by itself


FIRST_START = """
import signal
from multiprocessing import resource_tracker
from lineshaft.run.processes import _undisturbed
with _undisturbed():
    resource_tracker.getfd()  # as the start of a worker does
    print(signal.SIGINT in signal.pthread_sigmask(signal.SIG_BLOCK, ()))
"""


@pytest.mark.skipif(os.name == "nt", reason="needs signals")
def test_an_interrupt_waits_while_the_first_worker_starts() -> None:
    """The tracker that the first start begins lets interrupts through; one that came then showed a traceback."""
    command = [sys.executable, "-P", "-c", FIRST_START]
    ran = subprocess.run(command, capture_output=True, text=True, timeout=60, check=True)
    assert ran.stdout == "True\n"


@pytest.mark.skipif(os.name == "nt", reason="needs signals")
@pytest.mark.parametrize("end", ["SIGTERM", "SIGKILL"])
@pytest.mark.parametrize("jobs", ["1", "2"])
def test_nobody_is_left_when_the_first_process_is_ended(yard: Path, jobs: str, end: str) -> None:
    """Ended by a signal, as a CI runner does, it ends by that signal; its workers are gone and let go of stdout."""
    began = yard / "began"
    env = planted(yard / "away", AT_WORK.format(began=str(began)))
    child = subprocess.Popen(
        [*COMMAND, "--jobs", jobs, "rigs"],
        cwd=yard,
        env=env,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
    )
    _until(began.exists)
    child.send_signal(signal.Signals[end])
    out, _ = child.communicate(timeout=30)  # until everybody has let go of it; the rules sleep for 60 s
    assert (child.returncode, out) == (-signal.Signals[end], b"")
    _until(lambda: not _alive(child.pid))


def _until(seen: Callable[[], bool]) -> None:
    for _ in range(600):
        if seen():
            return
        time.sleep(0.05)
    pytest.fail("not within 30 s")


def _alive(group: int) -> bool:
    try:
        os.killpg(group, 0)
    except ProcessLookupError:
        return False
    return True


def test_workers_import_nothing_from_the_working_folder(yard: Path) -> None:
    """A checked folder with a module named like one of the library's gets no say in the workers."""
    for name in ("multiprocessing", "lineshaft", "signal"):
        (yard / f"{name}.py").write_text(f"open('imported', 'w').write({name!r})", "utf-8")
    start = yard / "elsewhere" / "start.py"
    start.parent.mkdir()
    start.write_text("from lineshaft.cli import main\nif __name__ == '__main__':\n    main()\n", "utf-8")
    command = [sys.executable, str(start), "check", "--no-cache", "--jobs", "2", "rigs"]
    env = {name: value for name, value in os.environ.items() if name not in ("PYTHONPATH", "PYTHONSAFEPATH")}
    ran = subprocess.run(command, cwd=yard, env=env, capture_output=True, timeout=60, check=False)
    assert (ran.returncode, ran.stderr) == (0, b"")
    assert not (yard / "imported").exists()


def test_a_small_run_starts_no_process() -> None:
    """The samples are judged here unless more jobs are asked for; never by more processes than files."""
    checker = Checker(SAMPLES, open_rulebook())
    jobs = [checker.job(path, kind) for path in SAMPLES.glob("*.yaml") if (kind := kind_of(path)) is not None]
    assert isinstance(executor(checker, jobs, JobOptions()), InProcess)
    several = executor(checker, jobs, JobOptions(jobs=1_000))
    assert isinstance(several, Workers)
    assert several.count == len(jobs)


def test_a_large_run_is_worth_processes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two files of 2 MB on two cores are worth two processes; on one core they are not."""
    checker = Checker(tmp_path, open_rulebook())
    for name in ("a.rig.yaml", "b.rig.yaml"):
        (tmp_path / name).write_bytes(b"#" * 2_000_000)
    jobs = [checker.job(tmp_path / name, "rig") for name in ("a.rig.yaml", "b.rig.yaml")]
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {0, 1}, raising=False)
    assert isinstance(executor(checker, jobs, JobOptions()), Workers)
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {0}, raising=False)
    assert isinstance(executor(checker, jobs, JobOptions()), InProcess)
