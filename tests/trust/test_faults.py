"""Faults around a write: killed and refused at its calls, edited meanwhile, many at once, clocks that jump."""

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
from command_runner import run
from trust import faults

RIG = """\
rig: 1
catalogue: shop.catalogue.yaml
parts:
  wheel: {item: wheel}
  saw: {item: saw, driven-by: wheel}
"""
CATALOGUE = """\
catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 7 rad/s}}
  saw: {kind: driven-machine, needs: {torque: 950 N*m, speed: 5 rad/s}}
"""
traced = pytest.mark.skipif(not faults.can_trace(), reason="needs strace, and leave to trace")


@traced
@pytest.mark.parametrize("name", ["repair", "new"])
def test_a_write_that_is_killed_or_refused_loses_nothing(tmp_path: Path, name: str) -> None:
    """At every fifth system call of a command that changes a file and of one that makes one; the long form has all."""
    found = list(faults.broken(name, tmp_path, every=5))
    assert len(found) >= 4
    assert [one for one in found if one is not None] == []


@traced
def test_a_write_in_place_would_be_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A program that writes into the file itself loses it when it is killed in between: the harness says so."""
    program = "with open('two-wheels.rig.yaml', 'w') as file: file.write('rig: 1')"
    write = faults.Write((), "two-wheels.rig.yaml", program=(sys.executable, "-c", program))
    monkeypatch.setattr(faults, "WRITES", {"in place": write})
    told = [one.what for one in faults.broken("in place", tmp_path) if one is not None]
    assert "two-wheels.rig.yaml is neither the old file nor the new one (0 bytes)" in told


mounted = pytest.mark.skipif(not faults.can_mount(), reason="needs Linux, and root to mount a small disk")


@mounted
def test_a_write_on_a_full_disk_loses_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a page left a new file is refused with a sentence, and made once there is room; the long form has all."""
    monkeypatch.setattr(faults, "_PAGES_LEFT", (0,))
    assert list(faults.full("new", tmp_path)) == [None]


@mounted
def test_a_write_in_place_on_a_full_disk_would_be_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A program that writes three pages into a file of one leaves a part of them: the harness says so."""
    program = "with open('two-wheels.rig.yaml', 'w') as file: file.write('rig: 1' * 2000)"
    write = faults.Write((), "two-wheels.rig.yaml", program=(sys.executable, "-c", program))
    monkeypatch.setattr(faults, "WRITES", {"in place": write})
    monkeypatch.setattr(faults, "_PAGES_LEFT", (0,))
    told = [one.what for one in faults.full("in place", tmp_path) if one is not None]
    assert told == ["two-wheels.rig.yaml is neither the old file nor the new one (4096 bytes)"]


@traced
def test_an_edit_made_while_a_repair_is_written_stands(tmp_path: Path) -> None:
    """The repair waits at its flush to the disk while somebody saves the file: their text stays, and exit 2 tells."""
    yard = faults._Yard(tmp_path)
    write = faults.WRITES["repair"]
    file = yard.folder / write.target
    command = ["strace", "-qq", "-o", os.devnull, "-e", "trace=fsync", "-e", "inject=fsync:delay_enter=4000000:when=1"]
    child = subprocess.Popen(
        [*command, sys.executable, "-P", "-m", "lineshaft", *write.arguments],
        cwd=yard.folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    end = time.monotonic() + 60
    while not yard.left() and time.monotonic() < end:
        time.sleep(0.02)
    edited = file.read_text("utf-8") + "# measured again\n"
    file.write_text(edited, "utf-8")
    _, err = child.communicate(timeout=120)
    assert child.returncode == 2
    assert f"{write.target} changed while it was judged; run the command again" in err
    assert file.read_text("utf-8") == edited
    assert yard.left() == []


def test_many_that_write_one_report_leave_a_whole_one(tmp_path: Path) -> None:
    """Six at once: each ends in 1, since the rig is broken, and the file is what one alone writes."""
    (tmp_path / ".git").mkdir()
    (tmp_path / "a.rig.yaml").write_text(RIG, "utf-8")
    (tmp_path / "shop.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    arguments = ("check", "--no-cache", "--no-repairs", "--write", "json=out.json", "a.rig.yaml")
    assert run(tmp_path, *arguments).returncode == 1
    alone = (tmp_path / "out.json").read_bytes()
    command = [sys.executable, "-P", "-m", "lineshaft", *arguments]
    children = [subprocess.Popen(command, cwd=tmp_path, stdout=subprocess.DEVNULL) for _ in range(6)]
    assert [child.wait(120) for child in children] == [1] * 6
    assert (tmp_path / "out.json").read_bytes() == alone
    assert sorted(path.name for path in tmp_path.iterdir()) == [".git", "a.rig.yaml", "out.json", "shop.catalogue.yaml"]


def test_a_clock_that_jumps_changes_no_verdict(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the cache in use it is 1970, then a century from now, then today: the same sheet each time."""
    works = tmp_path / "works"
    (works / ".git").mkdir(parents=True)
    for number in range(30):
        (works / f"{number}.rig.yaml").write_text(RIG, "utf-8")
    (works / "shop.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    now, env = time.time(), {"XDG_CACHE_HOME": str(tmp_path.resolve() / "cache")}
    said = []
    for moment in (0.0, now + 36_525 * 86_400, now, 0.0):
        monkeypatch.setattr(time, "time", lambda moment=moment: moment)
        ran = run(works, "check", "--no-repairs", "--date", "2026-11-25", ".", env=env)
        said.append((ran.returncode, ran.stdout, ran.stderr))
    assert said[0][0] == 1
    assert said == [said[0]] * 4
    assert (tmp_path / "cache" / "lineshaft" / "verdicts-1.sqlite").is_file()
