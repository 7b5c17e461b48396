"""A policy's margins and application factors hold for designs: parts are chosen to keep them."""

import json
from pathlib import Path

import pytest
from command_runner import run

_CATALOGUE = """\
catalogue: 1
name: Shop
edition: "1"
grades: {iron: {torque-limit: 1100 N*m}, steel: {torque-limit: 5 kN*m}}
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  cheap: {kind: gear-stage, grade: iron, ratios: {5/2: {made-of: {bar: 3}}}}
  strong: {kind: gear-stage, grade: steel, ratios: {5/2: {made-of: {bar: 7}}}}
  mill: {kind: driven-machine, needs: {torque: 150 N*m, speed: 10 rad/s}, shock: moderate}
raw: {bar: {worth: 1.5}}
"""
_WISH = "rig: 1\nname: Trial\ncatalogue: shop.catalogue.yaml\nparts:\n  wheel: {item: wheel}\n  mill: {item: mill}\n"


@pytest.mark.parametrize(
    ("policy", "item"),
    [
        ("", "cheap"),  # 900 of 1,100 N*m
        ("margins: {torque: 1.2}\n", "cheap"),  # 1,100 / 900 = 1.222
        ("margins: {torque: 1.3}\n", "strong"),
        # A uniform driver and a moderate machine: K_A 1.5; 900 * 1.5 = 1,350
        ("margins: {torque: 1.0, application-factors: iso-6336}\n", "strong"),
        ("grades: {forbidden: [iron]}\n", "strong"),
    ],
)
def test_the_cheapest_that_keeps_the_policy_is_designed(tmp_path: Path, policy: str, item: str) -> None:
    """The first design has the cheap stage as long as that may be."""
    (tmp_path / "shop.catalogue.yaml").write_text(_CATALOGUE)
    (tmp_path / "trial.rig.yaml").write_text(_WISH)
    (tmp_path / "lineshaft.policy.yaml").write_text(f"policy: 1\n{policy}")
    ran = run(tmp_path, "design", "trial.rig.yaml", "--write", "json=-")
    assert ran.returncode == 0, ran.stdout
    assert f"item: {item}," in json.loads(ran.stdout)["designs"][0]["text"]


def test_a_budget_of_the_policy_holds_for_designs(tmp_path: Path) -> None:
    """A rig of three parts where two are allowed: what was found does not pass, and that is said."""
    (tmp_path / "shop.catalogue.yaml").write_text(_CATALOGUE)
    (tmp_path / "trial.rig.yaml").write_text(_WISH)
    (tmp_path / "lineshaft.policy.yaml").write_text("policy: 1\nbudget: {parts: 2}\n")
    ran = run(tmp_path, "design", "trial.rig.yaml")
    said = " ".join(ran.stdout.split())
    assert ran.returncode == 1 and "No design" in said and "budget-exceeded" in said
