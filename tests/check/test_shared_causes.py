"""One start-up list that is missing is one finding with its stages named, told once and counted once.

By part it is kept all the same: for waivers, snag lists and repairs. Figures by hand: 900 N*m at 8 rad/s through
stages of 3 and 5/2 that should increase and are delivered reducing: 900 * 3 * 5/2 = 6,750 N*m reach the stone.
"""

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from command_runner import run

CATALOGUE = """\
catalogue: 1
edition: "5"
lubricants: [flax-oil]
items:
  creek-wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  open-stage: {kind: gear-stage, torque-limit: 9 kN*m, ratios: [5/2, 3]}
  wet-stage:
    kind: gear-stage
    torque-limit: 9 kN*m
    ratios: [5/2, 3]
    lubricant: {kind: flax-oil, holds: 6 L, uses: 0.3 mL/s}
  stone: {kind: driven-machine, needs: {torque: 40 N*m}, limits: {torque: 500 N*m}}
"""
RIG = """\
rig: 1
catalogue: yard.catalogue.yaml
parts:
  wheel: {item: creek-wheel}
  high: {item: open-stage, ratio: 3, set: increase, driven-by: wheel}
  low: {item: open-stage, ratio: 5/2, set: increase, driven-by: high}
  mill: {item: stone, driven-by: low}
"""
LEG = """\
blueprint: 1
catalogue: yard.catalogue.yaml
inlets: {in: {torque-up-to: 900 N*m, speed-up-to: 9 rad/s}}
parts:
  high: {item: open-stage, ratio: 3, set: increase, driven-by: in}
  low: {item: open-stage, ratio: 5/2, set: increase, driven-by: high}
  mill: {item: stone, driven-by: low}
"""


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """A repository with the catalogue and a rig without a list."""
    (tmp_path / ".git").mkdir()
    (tmp_path / "yard.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (tmp_path / "a.rig.yaml").write_text(RIG, "utf-8")
    return tmp_path


def found(folder: Path, *words: str) -> dict[str, Any]:
    """The document of a check, which its published schema accepts."""
    ran = run(folder, "check", "--no-cache", "--no-repairs", "--write", "json=-", *words)
    document: dict[str, Any] = json.loads(ran.stdout)
    jsonschema.validate(document, json.loads(run(folder, "schema", "findings").stdout))
    return document


def test_a_missing_list_is_one_finding_that_names_its_stages(yard: Path) -> None:
    """Told of the first of two that are equally bad: each is above the stone, which carries 13.5 times its 500 N*m."""
    document = found(yard, "a.rig.yaml")
    (one,) = document["findings"]
    assert document["summary"]["errors"] == document["rigs"][0]["errors"] == 1
    assert one["message"].startswith("no start-up list sets the direction of high and low; high is meant to increase")
    assert one["values"]["times_limit"] == {"value": 13.5, "unit": "1"}
    assert [(each["part"], each["start"]["line"], each["level"]) for each in one["alike"]] == [
        ("high", 5, "error"),
        ("low", 6, "error"),
    ]
    assert [cause["part"] for cause in one["because"]] == ["wheel", "high", "low", "mill", "low"]
    assert "low has it too" in " ".join(run(yard, "check", "--no-cache", "a.rig.yaml").stdout.split())


def test_one_stage_is_told_as_ever(yard: Path) -> None:
    """No sentence about several, no optional key."""
    short = "".join(line for line in RIG.splitlines(True) if "low:" not in line)
    text = short.replace("driven-by: low", "driven-by: high")
    (yard / "a.rig.yaml").write_text(text, "utf-8")
    (one,) = found(yard, "a.rig.yaml")["findings"]
    assert one["message"].startswith("is meant to increase")
    assert "alike" not in one


def test_stages_that_a_list_forgets_are_told_one_by_one(yard: Path) -> None:
    """There each has a place in the list of its own, before the step that turns it: the cause is not the same."""
    (yard / "a.rig.yaml").write_text(RIG + "commissioning:\n  - start: wheel\n", "utf-8")
    parts = [one["part"] for one in found(yard, "a.rig.yaml")["findings"] if "direction" in one["rule"]]
    assert parts == ["high", "low"]


def test_dry_stages_without_a_list_are_one_finding_too(yard: Path) -> None:
    """A finding of each rule: what sets the direction is not what fills."""
    (yard / "a.rig.yaml").write_text(RIG.replace("open-stage", "wet-stage"), "utf-8")
    rules = sorted(one["rule"] for one in found(yard, "a.rig.yaml")["findings"])
    assert rules == ["direction-before-commissioning", "lubricant-missing"]


def test_the_parts_are_recorded_and_pass_one_by_one(yard: Path) -> None:
    """A list of snags has a row for each; without the row for `low` that one is told alone."""
    run(yard, "snags", "record", "-o", "y.snags.yaml", "a.rig.yaml")
    text = (yard / "y.snags.yaml").read_text("utf-8")
    rows = [line for line in text.splitlines() if "direction" in line]
    assert len(rows) == 2
    assert found(yard, "--snags", "y.snags.yaml", "a.rig.yaml")["summary"]["errors"] == 0
    kept = [row for row in text.splitlines(True) if "part: low" not in row]
    (yard / "y.snags.yaml").write_text("".join(kept), "utf-8")
    left = [one for one in found(yard, "--snags", "y.snags.yaml", "a.rig.yaml")["findings"] if not one["snag"]]
    assert [one["part"] for one in left] == ["low"]
    assert "alike" not in left[0]


def test_the_repairs_are_listed_below_one_sentence(yard: Path) -> None:
    """`repair` says it once, and the one list mends both."""
    said = run(yard, "repair", "a.rig.yaml").stdout
    assert said.count("ERROR") == 1
    assert "add a commissioning list" in said
    assert run(yard, "repair", "--apply", "1", "a.rig.yaml").returncode == 0
    assert run(yard, "check", "--no-cache", "a.rig.yaml").returncode == 0


def test_stages_of_a_placed_blueprint_are_named_with_all_uses(yard: Path) -> None:
    """Two legs with two stages each, and no list anywhere: one finding in the blueprint's file, with four uses."""
    (yard / "leg.blueprint.yaml").write_text(LEG, "utf-8")
    (yard / "a.rig.yaml").write_text(
        "rig: 1\ncatalogue: yard.catalogue.yaml\nparts:\n  one: {item: creek-wheel}\n  two: {item: creek-wheel}\n"
        "  leg-a: {blueprint: leg.blueprint.yaml, driven-by: one}\n"
        "  leg-b: {blueprint: leg.blueprint.yaml, driven-by: two}\n",
        "utf-8",
    )
    document = found(yard, "a.rig.yaml")
    (one,) = document["findings"]
    assert one["file"] == "leg.blueprint.yaml"
    assert {use["part"] for use in one["uses"]} == {"leg-a/high", "leg-a/low", "leg-b/high", "leg-b/low"}
    assert document["summary"]["errors"] == 1
    assert run(yard, "check", "--no-cache", "a.rig.yaml").stdout.count("ERROR") == 1
