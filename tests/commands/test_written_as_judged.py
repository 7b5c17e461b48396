"""The sheet is written while files are judged: each rig's block in the order of the files, blueprints last."""

import io
import re
import sys
from pathlib import Path

import pytest
from command_runner import run
from commands.placed_yard import placed_yard

from lineshaft.check import effort
from lineshaft.check.checker import Checker, Job, Judged

CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 6 rad/s}}
  shaft: {kind: shaft, torque-limit: 300 N*m}
"""
RIG = """rig: 1
catalogue: works.catalogue.yaml
parts:
  wheel: {item: wheel}
  rod: {item: shaft, driven-by: wheel}
"""
NAMES = tuple(f"{letter}.rig.yaml" for letter in "abcde")


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """Five rigs of which each has a shaft that stands a third of what goes through it."""
    (tmp_path / "works.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    for name in NAMES:
        (tmp_path / name).write_text(RIG, "utf-8")
    return tmp_path


@pytest.fixture
def heads_seen(monkeypatch: pytest.MonkeyPatch) -> dict[str, list[str]]:
    """By file, the heads of the blocks that stood on standard output when it was judged (for the last time)."""
    seen: dict[str, list[str]] = {}
    whole = Checker.judged

    def noted(self: Checker, job: Job) -> Judged:
        assert isinstance(sys.stdout, io.TextIOWrapper)
        buffer = sys.stdout.buffer
        assert isinstance(buffer, io.BytesIO)  # what has left the program, whatever waits in it
        seen[job.path.name] = heads(buffer.getvalue().decode())
        return whole(self, job)

    monkeypatch.setattr(Checker, "judged", noted)
    return seen


def heads(text: str) -> list[str]:
    """The files of a sheet's blocks, in order."""
    return re.findall(r"^(\S+\.yaml)", text, re.MULTILINE)


@pytest.mark.parametrize("more", [(), ("--no-repairs",), ("--quiet",)])
def test_a_files_block_is_there_before_the_next_is_judged(
    yard: Path, heads_seen: dict[str, list[str]], more: tuple[str, ...]
) -> None:
    """In the order of the files; when `e` is judged, the blocks of `a` to `d` can be read."""
    ran = run(yard, "check", "--no-cache", "--jobs", "1", *more, ".")
    assert ran.returncode == 1
    assert {name: heads_seen[name] for name in NAMES} == {name: [*NAMES[:at]] for at, name in enumerate(NAMES)}
    assert heads(ran.stdout) == [*NAMES]


def test_so_it_is_where_a_run_shares_its_effort(
    yard: Path, heads_seen: dict[str, list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """All are judged first, to know who shares; then the block of each is there before the next is searched."""
    monkeypatch.setattr(effort, "EFFORT_OF_RUN", effort.EFFORT_OF_CHECK // 3)
    ran = run(yard, "check", "--no-cache", "--jobs", "1", ".")
    assert heads_seen["e.rig.yaml"] == [*NAMES[:4]]
    assert heads(ran.stdout) == [*NAMES]


def test_a_snag_list_is_held_against_the_whole_run(yard: Path, heads_seen: dict[str, list[str]]) -> None:
    """A file that moved is known by what all others have, so nothing is written before; then all of it is."""
    run(yard, "snags", "record", "-o", "known.snags.yaml", NAMES[0])
    ran = run(yard, "check", "--no-cache", "--snags", "known.snags.yaml", ".")
    assert heads_seen["e.rig.yaml"] == []
    assert heads(ran.stdout) == [*NAMES]
    assert ran.stdout.count("SNAG, ERROR") == 1 and ": 4 errors," in " ".join(ran.stdout.split())


def test_blueprints_stand_last_whatever_their_names(tmp_path: Path) -> None:
    """Behind `z`, a rig that is judged after them; and behind `works`, which places it, what is wrong in `leg`."""
    yard = placed_yard(tmp_path)
    (yard / "z.rig.yaml").write_text((yard / "b.rig.yaml").read_text("utf-8"), "utf-8")
    ran = run(yard, "check", "--no-cache", "--no-repairs", ".")
    assert heads(ran.stdout) == ["a.rig.yaml", "b.rig.yaml", "z.rig.yaml", "works.blueprint.yaml", "leg.blueprint.yaml"]


def test_a_blueprint_judged_alone_has_its_block(tmp_path: Path) -> None:
    """Fed with the 900 N*m that its inlet promises to stand, the rod for 300 N*m breaks: a block, then the sum."""
    ran = run(placed_yard(tmp_path), "check", "--no-cache", "--no-repairs", "leg.blueprint.yaml")
    assert heads(ran.stdout) == ["leg.blueprint.yaml"]
    assert "ERROR  rod" in ran.stdout
    assert ran.stdout.splitlines()[-3].startswith("Inspected 1 file")
