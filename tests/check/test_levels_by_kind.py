"""A policy may give a rule a level at parts of one kind: loose ends of machines, not those of shafts."""

from pathlib import Path

import pytest
from command_runner import run

CATALOGUE = """catalogue: 1
edition: "7"
items:
  w: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  s: {kind: shaft}
  m: {kind: driven-machine, needs: {torque: 90 N*m}}
"""
PARTS = "parts:\n  wheel: {item: w}\n  bar: {item: s, driven-by: wheel}\n  mill: {item: m}\n"
RIG = f"rig: 1\ncatalogue: a.catalogue.yaml\n{PARTS}"


def _yard(folder: Path, levels: str) -> Path:
    (folder / ".git").mkdir()
    (folder / "a.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (folder / "a.rig.yaml").write_text(RIG, "utf-8")
    (folder / "lineshaft.policy.yaml").write_text(f"policy: 1\nlevels: {{{levels}}}\n", "utf-8")
    return folder


@pytest.mark.parametrize(
    ("levels", "counted"),
    [
        ("", "0 errors, 2 warnings, 0 notes"),
        ("loose-end: {driven-machine: error}", "1 error, 1 warning, 0 notes"),
        ("loose-end: {driven-machine: error, shaft: note}", "1 error, 0 warnings, 1 note"),
        ("loose-end: {clutch: error}", "0 errors, 2 warnings, 0 notes"),
        ("loose-end: error", "2 errors, 0 warnings, 0 notes"),
    ],
)
def test_a_level_by_kind_holds_at_parts_of_that_kind_alone(tmp_path: Path, levels: str, counted: str) -> None:
    """By hand: the shaft's open end and the machine that nothing drives are the two loose ends."""
    assert counted in run(_yard(tmp_path, levels), "check", "--no-repairs", "a.rig.yaml").stdout


def test_inside_a_blueprint_it_holds_as_well(tmp_path: Path) -> None:
    """A machine that nothing drives, placed with a blueprint, is an error in the rig's verdict."""
    _yard(tmp_path, "loose-end: {driven-machine: error}")
    inside = "takes: {}\ninlets: {drive: {torque-up-to: 1 kN*m, speed-up-to: 9 rad/s}}\n"
    parts = "parts:\n  bar: {item: s, driven-by: drive}\n  mill: {item: m}\noutlets: {out: bar}\n"
    text = f"blueprint: 1\ncatalogue: a.catalogue.yaml\n{inside}{parts}"
    (tmp_path / "leg.blueprint.yaml").write_text(text, "utf-8")
    leg = "leg: {blueprint: leg.blueprint.yaml, driven-by: {drive: wheel}}"
    rig = f"rig: 1\ncatalogue: a.catalogue.yaml\nparts:\n  wheel: {{item: w}}\n  {leg}\n"
    (tmp_path / "a.rig.yaml").write_text(rig, "utf-8")
    shown = run(tmp_path, "check", "--no-repairs", "a.rig.yaml").stdout
    assert "1 error, 1 warning" in shown


@pytest.mark.parametrize(
    ("levels", "told"),
    [
        ("loose-end: {driven-machin: error}", "driven-machine"),
        ("loose-end: {shaft: off}", "note, warning or error"),
        ("loose-ends: {shaft: note}", "did you mean loose-end?"),
        ("loose-end: {}", "lineshaft.policy.yaml"),
        ("loose-end: [error]", "lineshaft.policy.yaml"),
    ],
)
def test_a_level_that_would_hold_for_nothing_is_refused(tmp_path: Path, levels: str, told: str) -> None:
    """Exit 2, at its place in the policy: nothing is judged by a policy that means something else."""
    ran = run(_yard(tmp_path, levels), "check", "a.rig.yaml")
    assert ran.returncode == 2
    assert told in ran.stdout
