"""Edits that say a deviation, in files written in flow and in block style; each file is read again."""

from pathlib import Path

import pytest

from lineshaft.cli import run

CATALOGUE = """\
catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 1000 N*m, speed: 10 rad/s}}
  stage: {kind: gear-stage, ratios: [5/2, 5]}
  clutch: {kind: clutch}
  sharer: {kind: splitter, outlets: 2, shares: any}
  mill: {kind: driven-machine, needs: {torque: 1 N*m}}
"""
RIG = """\
rig: 1
name: In blocks
catalogue: made.catalogue.yaml
parts:
  wheel: {item: wheel}
  clutch:
    item: clutch  # by the door
    driven-by: wheel
  fork:
    driven-by: clutch
    item: sharer
    shares:
      a: 2
      b: 3   # the heavy one
  stage:
    item: stage
    driven-by: fork.a
    ratio: 5/2
    set: increase
  left:
    item: mill
    driven-by: stage
    label: left mill
  right: {item: mill, driven-by: fork.b}
"""
# As written: fork 400 and 600 N*m at 10 rad/s; left 160 N*m at 25 rad/s.
CASES = {
    "other-way": ("{at: left, torque: 1000 N*m, speed: 4 rad/s}", "    set: increase", "    set: reduce"),
    "other-ratio": ("{at: left, torque: 80 N*m, speed: 50 rad/s}", "    ratio: 5/2", "    ratio: 5"),
    "clutch-open": (
        "{at: wheel, torque: 1000 N*m}, {at: clutch, torque: 0 N*m}",
        "    driven-by: wheel",
        "    driven-by: wheel\n    engaged: false",
    ),
    "estimated-shares": (
        "{at: fork.a, torque: 300 N*m}, {at: fork.b, torque: 700 N*m}",
        "      a: 2\n      b: 3   # the heavy one",
        "      a: 3\n      b: 7   # the heavy one",
    ),
    "not-coupled": ("{at: stage, torque: 160 N*m}, {at: left, speed: 0 rad/s}", "    driven-by: stage\n", ""),
    "not-coupled, its driver first": (
        "{at: clutch, speed: 10 rad/s}, {at: fork.b, speed: 0 rad/s}",
        "    driven-by: clutch\n    item: sharer",
        "    item: sharer",
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_the_file_is_made_to_match(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """One place changes, everything else stays as it was, and afterwards every reading agrees."""
    readings, old, new = CASES[name]
    lines = "".join(f"  - {one}}}\n" for one in readings.removesuffix("}").split("}, "))
    before = f"{RIG}readings:\n{lines}"
    assert before.count(old) == 1
    (tmp_path / ".git").mkdir()
    file = tmp_path / "made.rig.yaml"
    file.write_text(before, encoding="utf-8")
    (tmp_path / "made.catalogue.yaml").write_text(CATALOGUE, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert run(["audit", file.name]) == 1
    assert run(["audit", file.name, "--apply", "1"]) == 0
    assert file.read_text("utf-8") == before.replace(old, new)
    capsys.readouterr()
    assert run(["audit", file.name]) == 0
    assert "Every reading agrees" in capsys.readouterr().out
