"""Two ratios of one item that are equal in value: a part could not say which it is, so the catalogue is refused."""

import json
from pathlib import Path

import pytest

from lineshaft.cli import run

CATALOGUE = """catalogue: 1
name: Trial
edition: "1"
raw: {bar: {worth: 5.8}}
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  stage:
    kind: gear-stage
    ratios:
      5/2: {made-of: {bar: 3}}
      SECOND: {made-of: {bar: 7}}
  mill: {kind: driven-machine}
"""
RIG = """rig: 1
name: Trial
catalogue: t.catalogue.yaml
parts:
  wheel: {item: wheel}
  step: {item: stage, ratio: 5/2, set: reduce, driven-by: wheel}
  mill: {item: mill, driven-by: step}
"""


def _rig(folder: Path, catalogue: str) -> str:
    (folder / "t.catalogue.yaml").write_text(catalogue, "utf-8")
    (folder / "t.rig.yaml").write_text(RIG, "utf-8")
    return str(folder / "t.rig.yaml")


@pytest.mark.parametrize("second", ["2.5", "75/30"])
def test_two_spellings_of_one_ratio_are_refused_with_both_lines(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], second: str
) -> None:
    """5/2 on line 10 is 2.5 and 75/30 on line 11."""
    rig = _rig(tmp_path, CATALOGUE.replace("SECOND", second))
    assert run(["check", "--no-cache", rig]) == 1
    said = " ".join(capsys.readouterr().out.split())
    assert "t.catalogue.yaml:11:7 (bad-quantity)" in said
    assert f"{second} on line 11 and 5/2 on line 10 are one ratio" in said


def test_in_a_list_of_ratios_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A list says nothing of goods, but the same ratio twice is still one of them too many."""
    start = CATALOGUE.index("    ratios:")
    text = f"{CATALOGUE[:start]}    ratios: [3, 7, 21/7]\n{CATALOGUE[CATALOGUE.index('  mill:'):]}"
    run(["check", "--no-cache", _rig(tmp_path, text)])
    assert "21/7 on line 9 and 3 on line 9 are one ratio" in " ".join(capsys.readouterr().out.split())


def test_ratios_that_differ_are_taken_and_billed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Three bars of 5.8 are 17.4: in the table, in CSV and in JSON, and not the double above it."""
    rig = _rig(tmp_path, CATALOGUE.replace("SECOND", "7"))
    assert run(["check", "--no-cache", "--fail-on", "error", rig]) in (0, 1)
    capsys.readouterr()
    assert run(["bom", rig, "--write", "csv=-"]) == 0
    assert capsys.readouterr().out.splitlines() == [
        "kind,name,count,makings,worth,ratio,grade",
        "item,mill,1,,,,",
        "item,stage,1,,,5/2,",
        "item,wheel,1,,,,",
        "raw,bar,3,,17.4,,",
    ]
    assert run(["bom", rig, "--write", "json=-"]) == 0
    bill = json.loads(capsys.readouterr().out, parse_float=str)
    assert bill["worth"] == "17.4"
    assert [(good["name"], good["count"], good["worth"]) for good in bill["raw"]] == [("bar", 3, "17.4")]
    assert run(["bom", rig]) == 0
    rows = [line.split() for line in capsys.readouterr().out.splitlines()]
    assert ["1", "×", "stage", "5/2"] in rows
    assert ["bar", "3", "5.8", "17.4"] in rows
    assert ["worth", "17.4", "in", "all"] in rows
