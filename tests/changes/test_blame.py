"""Who is to blame together, who is not, and what is only not seen any more; 700 N·m at 9 rad/s, by hand."""

import json
import subprocess
from pathlib import Path
from typing import Any

from command_runner import run

CATALOGUE = """catalogue: 1
name: Tern Harbour works
edition: "EDITION"
items:
  wheel: {kind: prime-mover, output: {torque: 700 N*m, speed: 9 rad/s}}
  step: {kind: gear-stage, ratios: [5/2, 3]}
  lay: {kind: shaft, torque-limit: 1900 N*m, speed-limit: 90 rad/s}
  saw: {kind: driven-machine, needs: {torque: 10 N*m}}
"""
RIG = """rig: 1
name: Mill
catalogue: new.catalogue.yaml
parts:
  w: {item: wheel}
  s: {item: step, ratio: 5/2, set: reduce, driven-by: w}
  l: {item: lay, driven-by: s}
  m: {item: saw, driven-by: l}
"""


def test_a_rating_that_changes_nothing_is_not_to_blame(tmp_path: Path) -> None:
    """Reduced 3 : 1 it is 2,100 N·m of 1,900: the ratio is to blame, whatever became of the speed limit."""
    _repository(tmp_path, CATALOGUE)
    (tmp_path / "t.rig.yaml").write_text(RIG.replace("ratio: 5/2", "ratio: 3"), "utf-8")
    (tmp_path / "new.catalogue.yaml").write_text(CATALOGUE.replace("90 rad/s", "95 rad/s"), "utf-8")
    (broken,) = _impact(tmp_path, "--base", "HEAD")["broken"]
    assert broken["finding"]["rule"] == "torque-over-limit"
    assert (broken["blame"], broken["together"]) == ([], False)


def test_of_ratings_to_blame_together_none_is_idle(tmp_path: Path) -> None:
    """1,750 N·m of 1,900 become 2,500 of 1,700: 1,750 of 1,700 would be over too, and 2,500 of 1,900; speeds hold."""
    (tmp_path / "t.rig.yaml").write_text(RIG, "utf-8")
    changes = {"torque: 700": "torque: 1000", "1900 N*m": "1700 N*m", "90 rad/s": "95 rad/s", "10 N*m": "30 N*m"}
    newer = CATALOGUE.replace("EDITION", "2")
    for was, now in changes.items():
        newer = newer.replace(was, now)
    (tmp_path / "old.catalogue.yaml").write_text(CATALOGUE.replace("EDITION", "1"), "utf-8")
    (tmp_path / "new.catalogue.yaml").write_text(newer, "utf-8")
    (tmp_path / ".git").mkdir()
    (broken,) = _impact(tmp_path, "old.catalogue.yaml", "new.catalogue.yaml")["broken"]
    assert {(one["name"], one["rating"]) for one in broken["blame"]} == {("lay", "torque limit"), ("wheel", "torque")}
    assert broken["together"]


def test_what_is_not_solved_any_more_is_not_mended(tmp_path: Path) -> None:
    """The shaft was over its limit; without its driver nothing is known of it. A limit of 1,900 mends it."""
    _repository(tmp_path, CATALOGUE.replace("1900 N*m", "1300 N*m"))
    (tmp_path / "t.rig.yaml").write_text(RIG.replace("driven-by: w}", "driven-by: v}"), "utf-8")
    found = _impact(tmp_path, "--base", "HEAD")
    assert [one["finding"]["rule"] for one in found["broken"]] == ["unknown-reference"]
    assert found["mended"] == []
    _commit(tmp_path)
    (tmp_path / "t.rig.yaml").write_text(RIG, "utf-8")
    (tmp_path / "new.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    assert [one["rule"] for one in _impact(tmp_path, "--base", "HEAD", code=0)["mended"]] == ["unknown-reference"]
    assert [one["rule"] for one in _impact(tmp_path, "--base", "HEAD~1", code=0)["mended"]] == ["torque-over-limit"]


def _repository(folder: Path, catalogue: str) -> None:
    (folder / "t.rig.yaml").write_text(RIG, "utf-8")
    (folder / "new.catalogue.yaml").write_text(catalogue, "utf-8")
    _git(folder, "init", "-q")
    _commit(folder)


def _commit(folder: Path) -> None:
    _git(folder, "add", ".")
    _git(folder, "commit", "-qm", "One more state of the mill")


def _git(folder: Path, *arguments: str) -> None:
    who = ("-c", "user.name=Wright", "-c", "user.email=wright@tern.example", "-c", "commit.gpgsign=false")
    subprocess.run(["git", *who, *arguments], check=True, capture_output=True, timeout=60, cwd=folder)


def _impact(folder: Path, *arguments: str, code: int = 1) -> dict[str, Any]:
    ran = run(folder, "impact", *arguments, "--write", "json=-")
    assert ran.returncode == code, ran.stderr + ran.stdout
    (rig,) = json.loads(ran.stdout)["rigs"]
    assert isinstance(rig, dict)
    return rig
