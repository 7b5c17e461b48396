"""A local Dask cluster of two worker processes gives the bytes that one process gives, or fails in plain words."""

import contextlib
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from command_runner import run_for_bytes
from commands.placed_yard import placed_yard
from run.planted_rule import COMMAND, planted

from lineshaft.check.checker import Checker, Job
from lineshaft.check.rulebook import open_rulebook
from lineshaft.cli import run
from lineshaft.run import dask as cluster_module
from lineshaft.run.batch import Batch, Packer, VersionMismatch, judge_batch
from lineshaft.run.dask import Cluster
from lineshaft.run.runner import JobOptions, inspect_files
from lineshaft.schema.loading import kind_of
from lineshaft.schema.text.dependencies import DependencyRecorder, Query, Refusal
from lineshaft.write.formats import WRITERS

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
RIG = "rig: 1\ncatalogue: %s\nparts:\n  %s: {item: wheel}\n"
CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 100 N*m, speed: 4 rad/s}}
"""


@contextlib.contextmanager
def local_cluster(workers: int, **env: str) -> Iterator[str]:
    """The address of a cluster, started elsewhere than where the rigs are."""
    with cluster_process(workers, **env) as (_, address):
        yield address


@contextlib.contextmanager
def cluster_process(workers: int, **env: str) -> Iterator[tuple["subprocess.Popen[str]", str]]:
    """The process of a cluster's scheduler, whose death is its workers' too, and its address."""
    command = [sys.executable, str(Path(__file__).with_name("local_cluster.py")), str(workers)]
    child = subprocess.Popen(
        command, cwd=os.sep, env={**os.environ, **env}, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert child.stdin is not None and child.stdout is not None
    try:
        yield child, child.stdout.readline().strip()
    finally:
        with contextlib.suppress(BrokenPipeError):
            child.stdin.close()
        child.wait(60)
        child.stdout.close()


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    """A cluster of two worker processes."""
    with local_cluster(2) as found:
        yield found


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    """120 rigs in two folders, one with a missing catalogue and one with a broken text; a policy above the second."""
    root = tmp_path.resolve() / "fleet"
    for folder in ("a", "b"):
        (root / folder).mkdir(parents=True)
        (root / folder / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
        for number in range(60):
            (root / folder / f"{number}.rig.yaml").write_text(RIG % ("c.catalogue.yaml", f"w{number}"), "utf-8")
    (root / ".git").mkdir()
    (root / "a" / "7.rig.yaml").write_text(RIG % ("d.catalogue.yaml", "w"), "utf-8")
    (root / "a" / "8.rig.yaml").write_text("rig: [", "utf-8")
    (root / "b" / "lineshaft.policy.yaml").write_text("policy: 1\ncatalogue: ../a/c.catalogue.yaml\n", "utf-8")
    return root


def jobs_of(checker: Checker, root: Path) -> list[Job]:
    """Every file of ours below a folder."""
    found = [(path, kind_of(path)) for path in sorted(root.rglob("*.yaml"))]
    return [checker.job(path, kind) for path, kind in found if kind is not None]


def everything(cwd: Path, folder: Path, *options: str) -> tuple[int, bytes, bytes, list[bytes]]:
    """Exit code, sheet, complaints and every other document of one run."""
    writes = [f"--write={name}={folder / name}" for name in WRITERS]
    ran = subprocess.run([*COMMAND, *writes, *options], cwd=cwd, capture_output=True, timeout=120, check=False)
    return ran.returncode, ran.stdout, ran.stderr, [(folder / name).read_bytes() for name in WRITERS]


def everything_here(cwd: Path, folder: Path) -> tuple[int, bytes, bytes, list[bytes]]:
    """The same from this one process."""
    writes = [f"--write={name}={folder / name}" for name in WRITERS]
    ran = run_for_bytes(cwd, "check", "--no-cache", "--jobs", "1", *writes)
    return ran.returncode, ran.stdout, ran.stderr, [(folder / name).read_bytes() for name in WRITERS]


def test_the_same_bytes_from_a_cluster(tmp_path: Path, address: str) -> None:
    """The samples, sound and broken, with their policies and blueprints, through every writer."""
    here = everything_here(SAMPLES, tmp_path)
    assert (here[0], here[2]) == (1, b"")
    assert everything(SAMPLES, tmp_path, "--dask", address) == here


def test_what_is_wrong_in_placed_blueprints_is_the_same_from_a_cluster(tmp_path: Path, address: str) -> None:
    """Two rigs with six uses of one blueprint's two faults, through every writer."""
    (tmp_path / "yard").mkdir()
    yard = placed_yard(tmp_path / "yard")
    here = everything_here(yard, tmp_path)
    assert (here[0], here[2]) == (1, b"")
    assert everything(yard, tmp_path, "--dask", address) == here


def test_the_same_sheets_from_a_fleet(fleet: Path, address: str) -> None:
    """Several batches, two grounds, faults of every kind; what a worker could not do is done here."""
    checker = Checker(fleet, open_rulebook())
    jobs = jobs_of(checker, fleet)
    far = tuple(inspect_files(checker, jobs, JobOptions(cluster=address, remember=False)))
    near = tuple(inspect_files(Checker(fleet, open_rulebook()), jobs, JobOptions(jobs=1, remember=False)))
    assert repr(far) == repr(near)


def test_what_a_cluster_found_is_remembered(
    fleet: Path, address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Workers send their evidence along; afterwards the same run needs nobody, and a changed catalogue is seen."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))

    def look(where: str) -> str:
        checker = Checker(fleet, open_rulebook(), recorder=DependencyRecorder())
        return repr(tuple(inspect_files(checker, jobs_of(checker, fleet), JobOptions(cluster=where))))

    first = look(address)
    assert look("tcp://nobody.invalid:1") == first
    for folder in ("a", "b"):
        path = fleet / folder / "c.catalogue.yaml"
        path.write_text(CATALOGUE.replace("wheel", "whale"), "utf-8")
    changed = look(address)
    assert changed != first
    checker = Checker(fleet, open_rulebook())
    assert changed == repr(tuple(checker.judged(job).report for job in jobs_of(checker, fleet)))


def packed(checker: Checker, root: Path) -> list[Batch]:
    """The batches of all files below a folder, one a ground."""
    file_contexts: dict[Any, list[tuple[int, Job]]] = {}
    for number, job in enumerate(jobs_of(checker, root)):
        file_contexts.setdefault(job.file_context, []).append((number, job))
    return [Packer(checker, file_context).packed(files) for file_context, files in file_contexts.items()]


def test_a_batch_is_judged_where_no_files_are(fleet: Path) -> None:
    """All is deleted, and all but one come back: where a catalogue is missing, its folder has to be looked into."""
    checker = Checker(fleet, open_rulebook())
    here = {n: checker.judged(job).report for n, job in enumerate(jobs_of(checker, fleet))}
    parcels = packed(checker, fleet)
    shutil.rmtree(fleet)
    home = []
    for batch in parcels:
        outcomes = judge_batch(batch)
        assert isinstance(outcomes, list)
        for number, outcome in outcomes:
            if outcome is None:
                home.append(here[number].file)
            else:
                assert not isinstance(outcome, BaseException)
                assert repr(outcome.report) == repr(here[number])
    assert home == ["a/7.rig.yaml"]


def test_a_batch_holds_nothing_from_outside_the_root(fleet: Path) -> None:
    """A name that leads out is sent as the refusal that it gets, and never as the file's bytes."""
    (fleet.parent / "secret.yaml").write_text("secret: 1", "utf-8")
    (fleet / "a" / "9.rig.yaml").write_text(RIG % ("../../secret.yaml", "w"), "utf-8")
    parcels = packed(Checker(fleet, open_rulebook()), fleet)
    assert b"secret: 1" not in [answer for batch in parcels for _, answer in batch.shared]
    shared = dict(parcels[0].shared)
    assert isinstance(shared[Query("include", "a", "../../secret.yaml")], Refusal)


def test_a_text_full_of_names_is_not_followed(fleet: Path) -> None:
    """A stranger's text that seems to name 100,000 files makes no batch of them."""
    names = " ".join(f"c{n}.catalogue.yaml" for n in range(100_000))
    (fleet / "a" / "9.rig.yaml").write_text(RIG % (f"c.catalogue.yaml # {names}", "w"), "utf-8")
    parcels = packed(Checker(fleet, open_rulebook()), fleet)
    assert sum(len(batch.shared) for batch in parcels) < 20


def test_other_code_in_a_worker_is_refused(fleet: Path, address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A worker with another version says which; the run ends with code 2 and both versions."""
    (batch, *_) = packed(Checker(fleet, open_rulebook()), fleet)
    assert isinstance(judge_batch(batch._replace(code=("lineshaft 0.0.1",))), VersionMismatch)
    monkeypatch.setattr("lineshaft.run.batch.rule_versions", lambda: ("lineshaft 99.0",))
    checker = Checker(fleet, open_rulebook())
    with pytest.raises(cluster_module.CannotDoError, match=r"has lineshaft \d.*; here is lineshaft 99\.0"):
        list(Cluster(checker, address).judge(jobs_of(checker, fleet)))


def said(capsys: pytest.CaptureFixture[str], *options: str) -> str:
    """What a run that cannot do its job says, with exit code 2 and nothing written."""
    assert run(["check", "--no-cache", *options, str(SAMPLES)]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    return captured.err


def test_nobody_at_the_address(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Within the time that is waited, one line with the address."""
    monkeypatch.setattr(cluster_module, "_ANSWER_WAIT", 1)
    message = said(capsys, "--dask", "tcp://127.0.0.1:1")
    assert message.startswith("lineshaft: no Dask scheduler answers at 'tcp://127.0.0.1:1' within 1 s")
    assert message.count("\n") == 1


@pytest.mark.parametrize("where", ["nonsense", "ftp://x:1", ""])
def test_what_is_no_address(where: str, capsys: pytest.CaptureFixture[str]) -> None:
    """At once, and with what to write instead."""
    message = said(capsys, "--dask", where)
    assert message.startswith(f"lineshaft: {where!r} is no address of a Dask scheduler (")
    assert message.endswith("): write tcp://HOST:PORT\n")
    assert message.count("\n") == 1


def test_a_host_that_nobody_knows(capsys: pytest.CaptureFixture[str]) -> None:
    """The top-level domain `invalid` is never given to anybody (RFC 2606)."""
    where = "tcp://harbour.invalid:8786"
    assert said(capsys, "--dask", where).startswith(f"lineshaft: no Dask scheduler answers at {where!r} (")


def test_a_cluster_without_workers(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """A scheduler alone would let the run wait for ever."""
    monkeypatch.setattr(cluster_module, "_WORKER_WAIT", 1)
    with local_cluster(0) as empty:
        assert "the Dask scheduler has no workers" in said(capsys, "--dask", empty)


def test_a_loaded_scheduler_is_asked_again(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Its first two messages may come as one, which the client of Dask asserts they do not; it is told after three."""
    asked: list[str] = []

    def stumbling(address: str, **_: object) -> None:
        asked.append(address)
        raise AssertionError

    monkeypatch.setattr("distributed.Client", stumbling)
    where = "tcp://127.0.0.1:1"
    assert said(capsys, "--dask", where).startswith(f"lineshaft: no Dask scheduler answers at {where!r}")
    assert asked == [where] * 3


def test_without_dask(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """The message says what to install."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    assert "pip install 'lineshaft[dask]'" in said(capsys, "--dask", "tcp://127.0.0.1:1")


def test_jobs_and_dask_exclude_each_other(capsys: pytest.CaptureFixture[str]) -> None:
    """Two ways of staffing one run."""
    assert "--jobs and --dask exclude each other" in said(capsys, "--jobs", "2", "--dask", "tcp://127.0.0.1:1")


@pytest.mark.skipif(os.name == "nt", reason="needs signals")
def test_killed_workers_are_named_with_their_files(fleet: Path, tmp_path: Path) -> None:
    """A rule that kills each worker it runs in: exit 2, and which files were being judged."""
    deadly = "import os\nif 'DEADLY' in os.environ and 'w33' in rig.rig.index: os.kill(os.getpid(), 9)"
    env = planted(tmp_path / "away", deadly)
    with local_cluster(1, **env, DEADLY="1", DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES="0") as where:
        command = [*COMMAND, "--dask", where, "a"]
        ran = subprocess.run(command, cwd=fleet, env=env, capture_output=True, timeout=120, check=False)
    assert (ran.returncode, ran.stdout) == (2, b"")
    assert b"workers of the cluster died while they judged files from a/0.rig.yaml to a/c.catalogue.yaml" in ran.stderr
    assert b"Traceback" not in ran.stderr


def until(seen: Callable[[], bool]) -> None:
    """Wait, at most half a minute."""
    import time

    for _ in range(600):
        if seen():
            return
        time.sleep(0.05)
    pytest.fail("not within 30 s")


@pytest.mark.skipif(os.name == "nt", reason="needs signals")
def test_an_interrupt_ends_a_run_on_a_cluster(fleet: Path, tmp_path: Path) -> None:
    """Ctrl-C while a worker is at it: 130 and one word."""
    import signal

    began = tmp_path / "began"
    env = planted(tmp_path / "away", f"import time, pathlib\npathlib.Path({str(began)!r}).touch()\ntime.sleep(5)")
    with local_cluster(1, **env) as where:
        child = subprocess.Popen(
            [*COMMAND, "--dask", where, "a"], cwd=fleet, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE
        )
        until(began.exists)
        child.send_signal(signal.SIGINT)
        out, err = child.communicate(timeout=60)
    assert (child.returncode, out, err.strip()) == (130, b"", b"lineshaft: interrupted")


@pytest.mark.skipif(os.name == "nt", reason="needs signals")
def test_a_scheduler_that_dies_ends_the_run_in_a_sentence(fleet: Path, tmp_path: Path) -> None:
    """Killed while a worker is at it: exit 2 within a minute, which files were being judged, no traceback."""
    began = tmp_path / "began"
    env = planted(tmp_path / "away", f"import time, pathlib\npathlib.Path({str(began)!r}).touch()\ntime.sleep(2)")
    with cluster_process(1, **env) as (cluster, where):
        child = subprocess.Popen(
            [*COMMAND, "--dask", where, "a"], cwd=fleet, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE
        )
        until(began.exists)
        cluster.kill()
        out, err = child.communicate(timeout=90)
    assert (child.returncode, out) == (2, b""), err
    assert err.startswith(b"lineshaft: ")
    assert err.count(b"\n") == 1
    assert b"Traceback" not in err
