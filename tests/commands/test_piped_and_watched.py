"""`check -` judges one rig on standard input; `check --watch` judges again when a file that it has read changes."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from command_runner import run, run_for_bytes

from lineshaft.cli import COMMANDS

BROKEN = """rig: 1
catalogue: ../works.catalogue.yaml
edition: "1"
parts:
  wheel: {item: creek-wheel}
  lay: {item: elm-shaft, driven-by: wheel}
  saw: {item: saw-frame, driven-by: lay}
"""


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """A repository with the first catalogue and rig, and a folder for more."""
    (tmp_path / ".git").mkdir()
    (tmp_path / "legs").mkdir()
    for kind in ("catalogue", "rig"):
        assert run(tmp_path, "new", kind).returncode == 0
    return tmp_path


def test_a_rig_on_standard_input_is_judged_as_in_a_file(yard: Path) -> None:
    """Byte for byte the same JSON as from the file of that name, which need not be there."""
    piped = run(yard, "check", "-", "--name", "legs/a.rig.yaml", "--write", "json=-", stdin=BROKEN)
    assert not (yard / "legs" / "a.rig.yaml").exists()
    (yard / "legs" / "a.rig.yaml").write_text(BROKEN, "utf-8")
    filed = run(yard, "check", "legs/a.rig.yaml", "--write", "json=-")
    assert (piped.stdout, piped.returncode) == (filed.stdout, 1)
    # By hand: 900 N·m through elm that stands 90 is ten times; the saw needs 10 rad/s and gets 8.
    rules = {finding["rule"]: finding for finding in json.loads(piped.stdout)["findings"]}
    assert rules["torque-over-limit"]["values"]["times_limit"]["value"] == pytest.approx(10)
    assert "machine-underdriven" in rules


def test_the_policy_beside_the_name_holds_and_the_file_of_that_name_does_not(yard: Path) -> None:
    """What comes in counts, though a file of that name stands there; nothing of it is kept for later runs."""
    (yard / "legs" / "lineshaft.policy.yaml").write_text("policy: 1\nlevels: {torque-over-limit: off}\n", "utf-8")
    (yard / "legs" / "a.rig.yaml").write_text(BROKEN, "utf-8")
    changed = BROKEN.replace("elm-shaft", "iron-shaft")
    for text, found in ((BROKEN, "machine-underdriven"), (changed, "machine-underdriven")):
        ran = run(yard, "check", "-", "--name", "legs/a.rig.yaml", stdin=text)
        assert found in ran.stdout and "torque-over-limit" not in ran.stdout
    plain = run(yard, "check", "-", stdin=changed.replace("../", ""))
    assert "stdin.rig.yaml" in plain.stdout


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (("--name", "a.rig.yaml"), "goes with the path `-`"),
        (("-", "first.rig.yaml"), "stands alone"),
        (("-", "--name", "a.catalogue.yaml"), "a.rig.yaml"),
        (("-", "--watch"), "does not change"),
        (("-", "--users"), "--users"),
        (("-", "--max-bytes", "30"), "more than the 30 bytes"),
    ],
    ids=str,
)
def test_what_does_not_go_with_standard_input_is_told(yard: Path, asked: tuple[str, ...], told: str) -> None:
    """Exit 2 and one sentence."""
    ran = run(yard, "check", *asked, stdin=BROKEN)
    assert ran.returncode == 2
    assert told in ran.stderr


@pytest.mark.parametrize("raw", [b"", b"\xff\xfe\x00", b"rig: [", "rig: 1\n\u2028".encode(), b"\x00" * 40], ids=str)
def test_no_rig_on_standard_input_is_a_finding_at_its_name(yard: Path, raw: bytes) -> None:
    """Whatever comes in: a finding, exit 1, no traceback."""
    ran = run_for_bytes(yard, "check", "-", "--name", "legs/x.rig.yaml", stdin=raw)
    assert ran.returncode == 1
    assert b"legs/x.rig.yaml" in ran.stdout


Step = Callable[[], set[tuple[int, str]]]


def _pretend(monkeypatch: pytest.MonkeyPatch, steps: list[Step]) -> list[tuple[Path, ...]]:
    """A watcher that takes these steps and then is interrupted; the places it was asked to look at."""
    asked: list[tuple[Path, ...]] = []

    def watch(*places: Path, watch_filter: Callable[[int, str], bool], **_: Any) -> Iterator[set[tuple[int, str]]]:
        asked.append(places)
        while steps:
            changes = {change for change in steps.pop(0)() if watch_filter(*change)}
            if changes:
                yield changes
        raise KeyboardInterrupt

    module = ModuleType("watchfiles")
    module.watch = watch  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "watchfiles", module)
    return asked


def test_a_change_to_what_a_rig_draws_on_is_judged_again(yard: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Named is the rig alone; its catalogue and the policy are known too; a note beside is not."""

    def weaker() -> set[tuple[int, str]]:
        catalogue = yard / "works.catalogue.yaml"
        # By hand: the wheel's 900 N·m against 700 is 1.286 times the limit of cast iron.
        catalogue.write_text(catalogue.read_text("utf-8").replace("1.3 kN*m", "700 N*m"), "utf-8")
        return {(2, str(catalogue))}

    def noted() -> set[tuple[int, str]]:
        return {(1, str(yard / "notes.txt")), (1, str(yard / "other.rig.yaml"))}

    _pretend(monkeypatch, [noted, weaker])
    ran = run(yard, "check", "--watch", "--no-repairs", "first.rig.yaml")
    assert ran.returncode == 130
    assert ran.stdout.count("Inspected 1 file") == 2
    assert "1.286 times" in ran.stdout
    assert "works.catalogue.yaml changed" in ran.stderr
    assert "notes.txt" not in ran.stderr and "other.rig.yaml" not in ran.stderr


def test_a_new_rig_in_a_named_folder_is_judged(yard: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It was not there before; a hidden folder stays hidden."""

    def added() -> set[tuple[int, str]]:
        (yard / "legs" / "a.rig.yaml").write_text(BROKEN, "utf-8")
        return {(1, str(yard / "legs" / "a.rig.yaml")), (1, str(yard / ".hidden" / "b.rig.yaml"))}

    _pretend(monkeypatch, [added])
    ran = run(yard, "check", "--watch", "--no-repairs", ".")
    assert "Inspected 2 files" in ran.stdout and "Inspected 3 files" in ran.stdout
    assert "hidden" not in ran.stderr


def test_a_catalogue_in_another_folder_is_looked_at_once_a_rig_names_it(
    yard: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The places that are looked at follow what the files say."""

    def moved() -> set[tuple[int, str]]:
        (yard / "works.catalogue.yaml").rename(yard / "legs" / "works.catalogue.yaml")
        rig = yard / "first.rig.yaml"
        rig.write_text(rig.read_text("utf-8").replace("works.cat", "legs/works.cat"), "utf-8")
        return {(2, str(rig))}

    asked = _pretend(monkeypatch, [moved])
    run(yard, "check", "--watch", "first.rig.yaml")
    assert asked == [(yard,), (yard, yard / "legs")]


def test_a_job_that_cannot_be_done_is_told_and_watched_on(yard: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A snag list that is gone for a moment does not end the watch."""
    snags = yard / "a.snags.yaml"
    run(yard, "snags", "record", "-o", "a.snags.yaml", "first.rig.yaml")
    text = snags.read_text("utf-8")

    def gone() -> set[tuple[int, str]]:
        snags.unlink()
        return {(2, str(yard / "first.rig.yaml"))}

    def back() -> set[tuple[int, str]]:
        snags.write_text(text, "utf-8")
        return {(2, str(yard / "first.rig.yaml"))}

    _pretend(monkeypatch, [gone, back])
    ran = run(yard, "check", "--watch", "--snags", "a.snags.yaml", "first.rig.yaml")
    assert ran.stdout.count("Inspected 1 file") == 2
    assert "a.snags.yaml" in ran.stderr


def test_without_the_extra_it_is_said_what_to_install(yard: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Before anything is judged."""
    monkeypatch.setitem(sys.modules, "watchfiles", None)
    ran = run(yard, "check", "--watch", ".")
    assert ran.returncode == 2
    assert "pip install 'lineshaft[watch]'" in ran.stderr
    assert ran.stdout == ""


@pytest.mark.skipif(os.name == "nt", reason="needs signals")
def test_the_real_watcher_sees_a_file_that_an_editor_replaces(yard: Path) -> None:
    """Several writes in a row, the last by a move, are one judgement; Ctrl-C ends it with 130."""
    pytest.importorskip("watchfiles")
    command = [sys.executable, "-P", "-m", "lineshaft", "check", "--watch", "--no-repairs", "first.rig.yaml"]
    heard = partial(signal.signal, signal.SIGINT, signal.SIG_DFL)  # what is begun in the background hears no Ctrl-C
    with (
        (yard / "out.txt").open("w+") as out,
        subprocess.Popen(command, cwd=yard, stdout=out, stderr=out, preexec_fn=heard) as watching,
    ):
        try:
            _until(yard / "out.txt", "Ctrl-C ends it", 1)
            time.sleep(0.5)
            rig = yard / "first.rig.yaml"
            text = rig.read_text("utf-8")
            rig.write_text(text + "#", "utf-8")
            beside = yard / "swap"
            beside.write_text(text.replace("driven-by: step", "driven-by: stip"), "utf-8")
            beside.replace(rig)
            _until(yard / "out.txt", "Ctrl-C ends it", 2)
        finally:
            watching.send_signal(signal.SIGINT)
            try:
                code = watching.wait(20)
            finally:
                watching.kill()  # nobody waits for one that did not hear it
        assert code == 130
    shown = (yard / "out.txt").read_text("utf-8")
    assert shown.count("Inspected 1 file") == 2
    assert "stip" in shown


def _until(file: Path, words: str, times: int) -> None:
    for _ in range(400):
        if file.read_text("utf-8").count(words) >= times:
            return
        time.sleep(0.05)
    raise AssertionError(file.read_text("utf-8"))


def test_neither_is_loaded_by_a_plain_check() -> None:
    """Start-up stays as light as it was."""
    assert "new" in COMMANDS
    code = "import sys; from lineshaft.cli import run; run(['check', '--help']); print(*sorted(sys.modules))"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    assert "lineshaft.commands.check" in loaded
    ours = {f"lineshaft.{name}" for name in ("commands.watching", "commands.piped", "commands.new", "starters")}
    assert not {*ours, "watchfiles", "csv"} & set(loaded)
