"""A suggestion is a proved repair, or names what is needed and no part that nobody proved."""

import json
from pathlib import Path

import pytest
from command_runner import run

CATALOGUE = """\
catalogue: 1
name: Stock
edition: "1"
grades:
  elm: {torque-limit: 140 N*m}
  iron: {torque-limit: 750 N*m}
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 12 rad/s}}
  rod: {kind: shaft, grades: [elm, iron]}
  step: {kind: gear-stage, grade: iron, ratios: {9/5: {}}}
  saw: {kind: driven-machine, needs: {torque: 150 N*m, speed: 20 rad/s}}
"""
STRONG = "  strong: {kind: gear-stage, ratios: {3: {made-of: {bar: 2}}}}\nraw: {bar: {worth: 1}}\n"
RIG = """\
rig: 1
name: Saw
catalogue: stock.catalogue.yaml
edition: "1"
parts:
  w: {item: wheel}
  saw: {item: saw, driven-by: w}
"""


def _findings(folder: Path, catalogue: str, rig: str, *more: str) -> list[dict[str, object]]:
    (folder / "stock.catalogue.yaml").write_text(catalogue, encoding="utf-8")
    (folder / "a.rig.yaml").write_text(rig, encoding="utf-8")
    ran = run(folder, "check", "--no-cache", *more, "--write", "json=-", "a.rig.yaml")
    found: list[dict[str, object]] = json.loads(ran.stdout)["findings"]
    return found


@pytest.mark.parametrize("more", [(), ("--no-repairs",)])
def test_a_stage_that_would_itself_break_is_not_named(tmp_path: Path, more: tuple[str, ...]) -> None:
    """900 N·m at 12 rad/s, and 20 are needed, 1.667 times. The one stage stands 750 N·m: none is named."""
    (finding,) = _findings(tmp_path, CATALOGUE, RIG, *more)
    assert finding["suggestion"] == "an increasing stage of at least 1.667 : 1"


def test_where_a_repair_is_proved_it_is_the_suggestion(tmp_path: Path) -> None:
    """A stage of 3 : 1 without a limit gives 300 N·m at 36 rad/s."""
    (finding,) = _findings(tmp_path, CATALOGUE + STRONG, RIG)
    assert finding["suggestion"] == "put strong 3 : 1 increasing, behind w as saw-step"
    repairs = finding["repairs"]
    assert isinstance(repairs, list)
    assert [repair["title"] for repair in repairs] == [finding["suggestion"]]


def test_a_grade_that_the_policy_forbids_is_not_suggested(tmp_path: Path) -> None:
    """A rod of elm under 450 N·m: iron stands it, unless it is forbidden."""
    rig = RIG.replace("  saw:", "  rod: {item: rod, grade: elm, driven-by: w}\n  saw:")
    catalogue = CATALOGUE.replace("900 N*m", "450 N*m")

    def said() -> str:
        found = _findings(tmp_path, catalogue, rig, "--no-repairs")
        return next(str(f["suggestion"]) for f in found if f["rule"] == "torque-over-limit")

    assert said().startswith("grade iron stands it (750 N·m); or an increasing stage")
    (tmp_path / "lineshaft.policy.yaml").write_text(
        "policy: 1\ncatalogue: stock.catalogue.yaml\ngrades: {forbidden: [iron]}\n", encoding="utf-8"
    )
    assert said().startswith("an increasing stage of at least 3.214 : 1 above it; the catalogue has none as large")
