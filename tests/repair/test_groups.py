"""Findings that one repair mends stand in a group: searched for once, shown once, counted one by one."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from command_runner import run

CATALOGUE = """
catalogue: 1
edition: "1"
grades: {cast: {torque-limit: 1000 N*m}, forged: {torque-limit: 6 kN*m}}
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  stage: {kind: gear-stage, grade: forged, ratios: {5/2: {made-of: {gear: 2}}, 3: {made-of: {gear: 3}}}}
  shaft: {kind: shaft, grades: [cast, forged]}
  saw: {kind: driven-machine, needs: {torque: 150 N*m, speed: 7 rad/s}}
raw: {gear: {worth: 1.5}}
"""
# 900 N*m at 8 rad/s; reduced 5/2 it is 2250 N*m at 3.2 rad/s: both shafts carry 2.25 times what cast iron stands, and
# the saw is 3.8 rad/s short. Turned the other way round: 360 N*m at 20 rad/s, and all three are mended.
RIG = """
rig: 1
catalogue: c.catalogue.yaml
parts:
  wheel: {item: wheel}
  step: {item: stage, ratio: 5/2, set: reduce, driven-by: wheel}
  near: {item: shaft, grade: cast, driven-by: step}
  far: {item: shaft, grade: cast, driven-by: near}
  saw: {item: saw, driven-by: far}
"""
APART = """
rig: 1
catalogue: c.catalogue.yaml
parts:
  wheel-a: {item: wheel}
  step-a: {item: stage, ratio: 5/2, set: reduce, driven-by: wheel-a}
  near-a: {item: shaft, grade: cast, driven-by: step-a}
  saw-a: {item: saw, driven-by: near-a}
  wheel-b: {item: wheel}
  step-b: {item: stage, ratio: 3, set: reduce, driven-by: wheel-b}
  near-b: {item: shaft, grade: cast, driven-by: step-b}
  saw-b: {item: saw, driven-by: near-b}
"""


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """A folder with the catalogue and both rigs."""
    (tmp_path / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (tmp_path / "one.rig.yaml").write_text(RIG, "utf-8")
    (tmp_path / "two.rig.yaml").write_text(APART, "utf-8")
    return tmp_path


def _findings(yard: Path, rig: str) -> list[dict[str, Any]]:
    ran = run(yard, "check", "--no-cache", "--write", "json=-", rig)
    found: list[dict[str, Any]] = json.loads(ran.stdout)["findings"]
    return found


def test_what_one_repair_mends_is_one_group(yard: Path) -> None:
    """Two shafts and the saw hang on one stage: three findings, counted as three, in one group with one repair."""
    found = _findings(yard, "one.rig.yaml")
    assert [(f["rule"], f["part"]) for f in found] == [
        ("torque-over-limit", "near"),
        ("torque-over-limit", "far"),
        ("machine-underdriven", "saw"),
    ]
    assert len({f["group"] for f in found}) == 1
    first = [f["repairs"][0]["edits"] for f in found]
    assert first[0] == first[1] == first[2]


def test_each_cause_has_a_group_of_its_own(yard: Path) -> None:
    """Two lines that share nothing: a shaft and a saw each."""
    found = _findings(yard, "two.rig.yaml")
    groups = {f["part"]: f["group"] for f in found}
    assert groups["near-a"] == groups["saw-a"] != groups["near-b"] == groups["saw-b"]


def test_a_finding_with_no_other_stands_in_no_group(yard: Path) -> None:
    """A saw that runs without its speed being asked for: the shaft alone is over its limit."""
    text = CATALOGUE.replace(", speed: 7 rad/s", "")
    (yard / "c.catalogue.yaml").write_text(text, "utf-8")
    strong = RIG.replace("far: {item: shaft, grade: cast", "far: {item: shaft, grade: forged")
    (yard / "one.rig.yaml").write_text(strong, "utf-8")
    (only,) = _findings(yard, "one.rig.yaml")
    assert "group" not in only


def test_a_group_is_shown_with_its_repairs_once(yard: Path) -> None:
    """In the sheet at the first, in `repair` under the heads of all three."""
    sheet = run(yard, "check", "--no-cache", "one.rig.yaml").stdout
    (first, *_) = re.findall(r"repair  proved \(\w+\): ([^;\n]+)", sheet)
    assert sheet.count(f"): {first}") == 1
    assert sheet.count(f"repair  as for finding 1: {first}") == 2
    shown = run(yard, "repair", "one.rig.yaml").stdout
    heads = [line.split()[1] for line in shown.splitlines() if line.startswith("ERROR")]
    assert heads == ["near", "far", "saw"]
    assert sum(line.strip().startswith("1 ") for line in shown.splitlines()) == 1


def test_the_number_counts_what_is_shown(yard: Path) -> None:
    """The first of a group mends all of it; one behind the last is refused."""
    shown = run(yard, "repair", "one.rig.yaml").stdout
    numbers = [int(line.split()[0]) for line in shown.splitlines() if line.split()[:1] and line.split()[0].isdigit()]
    assert numbers == list(range(1, len(numbers) + 1))
    assert run(yard, "repair", "--apply", str(len(numbers) + 1), "one.rig.yaml").returncode == 2
    assert run(yard, "repair", "--apply", "1", "one.rig.yaml").returncode == 0
    assert run(yard, "check", "--no-cache", "one.rig.yaml").returncode == 0


def test_all_together_names_as_left_out_only_what_is_there_afterwards(yard: Path) -> None:
    """Both lines are mended by two repairs: nothing is left out, and the exit code says so."""
    ran = run(yard, "repair", "--apply", "best", "two.rig.yaml")
    assert (ran.returncode, ran.stdout.count("left out")) == (0, 0)
    assert ran.stdout.count("applied: ") == 2
    assert run(yard, "check", "--no-cache", "two.rig.yaml").returncode == 0
