"""`lineshaft audit` on the inherited mill and on hand-made rigs: what it says, writes and changes."""

import json
import shutil
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from lineshaft.cli import run
from lineshaft.schema.validation.schemas import schema_text

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"


@pytest.fixture(autouse=True)
def _works(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A copy of the samples in a repository of its own, and there."""
    (tmp_path / ".git").mkdir()
    shutil.copytree(SAMPLES, tmp_path / "works")
    monkeypatch.chdir(tmp_path / "works")


def _audit(capsys: pytest.CaptureFixture[str], rig: str, code: int) -> dict[str, Any]:
    assert run(["audit", rig, "--write", "json=-"]) == code
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    jsonschema.Draft202012Validator(json.loads(schema_text("audit"))).validate(document)
    return document


def _found(explanation: dict[str, Any]) -> list[tuple[str, str]]:
    return [(deviation["kind"], deviation["part"]) for deviation in explanation["deviations"]]


def test_the_inherited_mill_is_explained(capsys: pytest.CaptureFixture[str]) -> None:
    """The two hidden deviations come first: a head of 3 m, and the stone's stage the other way round.

    By the turbine's table 3 m gives 600 N*m at 12 rad/s; the pole gets 120 x 5/2 x 0.96 = 288 N*m, 3.2 times its 90;
    the saw 300 / (5/2) x 0.96 = 115.2 N*m of 150; the stone 12 / (5/2) = 4.8 rad/s of 20.
    """
    document = _audit(capsys, "inherited-mill.rig.yaml", 1)
    first = document["explanations"][0]
    assert _found(first) == [("lower-head", "turbine"), ("other-way", "stone-step")]
    assert first["deviations"][0]["value"] == 3.0
    assert first["file_agrees"]
    assert [(e["start"]["line"], e["text"]) for e in first["edits"]] == [(12, "3 m"), (17, "reduce")]
    errors = {(f["rule"], f["part"]): f for f in first["findings"] if f["level"] == "error"}
    assert errors.keys() == {
        ("torque-over-limit", "pole"),
        ("machine-underdriven", "saw"),
        ("machine-underdriven", "stone"),
    }
    assert errors["torque-over-limit", "pole"]["values"]["times_limit"]["value"] == pytest.approx(3.2)
    assert errors["torque-over-limit", "pole"]["compared"] == "new"
    assert document["not_covered"] == {"at_all": ["stone"], "in_torque": []}


def test_apply_makes_the_file_match_the_build(capsys: pytest.CaptureFixture[str]) -> None:
    """Afterwards nothing disagrees; two values are changed in the file and nothing else."""
    file = Path("inherited-mill.rig.yaml")
    before = file.read_text("utf-8").splitlines()
    assert run(["audit", file.name, "--apply", "1"]) == 0
    after = file.read_text("utf-8").splitlines()
    changed = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert [new for _, new in changed] == [
        "  turbine:    {item: ebb-turbine, head: 3 m}",
        "  stone-step: {item: open-stage, ratio: 5/2, set: reduce, driven-by: fan.stone}",
    ]
    capsys.readouterr()
    document = _audit(capsys, file.name, 0)
    assert {reading["verdict"] for reading in document["readings"]} == {"agrees"}
    assert document["explanations"] == []


def test_diff_changes_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    """The difference is shown, the file left alone."""
    file = Path("inherited-mill.rig.yaml")
    before = file.read_bytes()
    assert run(["audit", file.name, "--apply", "1", "--diff"]) == 0
    assert "+  turbine:    {item: ebb-turbine, head: 3 m}" in capsys.readouterr().out
    assert file.read_bytes() == before


def test_what_agrees_exits_clean(capsys: pytest.CaptureFixture[str]) -> None:
    """The lagoon's one reading lies within its tolerance; a rig without readings has nothing to disagree."""
    assert run(["audit", "lagoon.rig.yaml"]) == 0
    assert "Every reading agrees" in capsys.readouterr().out
    assert run(["audit", "small-saw.rig.yaml"]) == 0
    assert "No readings" in capsys.readouterr().out


@pytest.mark.parametrize(
    "arguments",
    [
        ["nowhere.rig.yaml"],
        ["catalogues"],
        ["inherited-mill.rig.yaml", "--apply", "99"],
        ["inherited-mill.rig.yaml", "--apply", "best"],
        ["inherited-mill.rig.yaml", "--diff"],
        ["inherited-mill.rig.yaml", "--write", "csv=-"],
        ["lagoon.rig.yaml", "--apply", "1"],
    ],
)
def test_what_cannot_be_done_is_2(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """A message on stderr and nothing written."""
    before = Path("inherited-mill.rig.yaml").read_bytes()
    assert run(["audit", *arguments]) == 2
    assert capsys.readouterr().err.startswith("lineshaft: ")
    assert Path("inherited-mill.rig.yaml").read_bytes() == before


def _stripped(
    capsys: pytest.CaptureFixture[str], part: str, readings: str, deviation: str
) -> tuple[str, dict[str, Any]]:
    """The mill with other readings; the file's text after explanation 1 is applied, and the audit before."""
    file = Path("inherited-mill.rig.yaml")
    text = file.read_text("utf-8")
    file.write_text(text[: text.index("readings:")] + f"readings:\n{readings}", encoding="utf-8")
    document = _audit(capsys, file.name, 1)
    assert _found(document["explanations"][0]) == [(deviation, part)]
    return file.read_text("utf-8"), document


def test_a_worn_stage_is_told_by_hand(capsys: pytest.CaptureFixture[str]) -> None:
    """The saw's torque is 10 % short of 153.6 N*m at full speed: its stage keeps 0.9 x 0.96 = 0.864."""
    readings = "  - {at: saw, torque: 138.2 N*m, speed: 35 rad/s}\n  - {at: fan.saw, torque: 400 N*m}\n"
    before, document = _stripped(capsys, "saw-step", readings, "torque-lost")
    first = document["explanations"][0]
    assert first["deviations"][0]["value"] == pytest.approx(0.9, abs=0.01)
    assert "0.864" in first["deviations"][0]["by_hand"]
    assert (first["edits"], first["file_agrees"]) == ([], False)
    assert run(["audit", "inherited-mill.rig.yaml", "--apply", "1"]) == 2
    assert "efficiency" in capsys.readouterr().err
    assert Path("inherited-mill.rig.yaml").read_text("utf-8") == before


def test_a_part_that_is_not_coupled_loses_its_driver(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing turns at the pole while the stage above it is as computed: the pole is not coupled; `driven-by` goes."""
    readings = "  - {at: stone-step, torque: 61.44 N*m}\n  - {at: pole, torque: 0 N*m, speed: 0 rad/s}\n"
    _stripped(capsys, "pole", readings, "not-coupled")
    assert run(["audit", "inherited-mill.rig.yaml", "--apply", "1"]) == 0
    assert "  pole:       {item: elm-shaft}\n" in Path("inherited-mill.rig.yaml").read_text("utf-8")
    capsys.readouterr()
    _audit(capsys, "inherited-mill.rig.yaml", 0)


def test_one_further_reading_tells_two_apart(capsys: pytest.CaptureFixture[str]) -> None:
    """The pump rests: its clutch is open, or it is not coupled itself. The clutch's outlet tells: 240 N*m or none."""
    readings = "  - {at: pump, torque: 0 N*m, speed: 0 rad/s}\n  - {at: saw, speed: 35 rad/s}\n"
    _, document = _stripped(capsys, "clutch", readings, "clutch-open")
    assert [_found(e) for e in document["explanations"]] == [
        [("clutch-open", "clutch")],
        [("not-coupled", "pump")],
        [("wrong-reading", "pump")],
    ]
    assert document["next_reading"]["at"] == "clutch"
    assert document["next_reading"]["quantity"] == "torque"
    groups = [(group["low"], group["explanations"]) for group in document["next_reading"]["groups"]]
    assert groups == [(0.0, [1]), (240.0, [2, 3])]


def test_what_stands_in_a_blueprint_is_changed_by_hand(capsys: pytest.CaptureFixture[str]) -> None:
    """The second of three legs has its stage the other way round: 183.7 x 3 x 0.96 = 529 N*m at 8 / 3 rad/s.

    The blueprint is written once for all three, so no edit of the rig's file says it of one.
    """
    file = Path("three-stones.rig.yaml")
    readings = "readings:\n  - {at: leg-b/step, torque: 529 N*m, speed: 2.667 rad/s}\n  - {at: pump, torque: 328 N*m}\n"
    before = file.read_text("utf-8") + readings
    file.write_text(before, encoding="utf-8")
    first = _audit(capsys, file.name, 1)["explanations"][0]
    assert _found(first) == [("other-way", "leg-b/step")]
    assert (first["edits"], first["file_agrees"]) == ([], False)
    assert "stone-leg.blueprint.yaml" in first["deviations"][0]["by_hand"]
    assert run(["audit", file.name, "--apply", "1"]) == 2
    assert "blueprint" in capsys.readouterr().err
    assert file.read_text("utf-8") == before


def test_what_a_use_gives_its_blueprint_is_changed_in_that_use(capsys: pytest.CaptureFixture[str]) -> None:
    """The second leg's ratio is its own `with:`; 183.7 / 2.5 x 0.96 = 70.5 N*m at 20 rad/s is 5/2 : 1."""
    file = Path("three-stones.rig.yaml")
    readings = "readings:\n  - {at: leg-b/step, torque: 70.5 N*m, speed: 20 rad/s}\n"
    file.write_text(file.read_text("utf-8") + readings, encoding="utf-8")
    first = _audit(capsys, file.name, 1)["explanations"][0]
    assert _found(first) == [("other-ratio", "leg-b/step")]
    assert "parameter ratio" in first["deviations"][0]["by_hand"]
    assert "`with`" in first["deviations"][0]["by_hand"]


def test_the_same_document_every_time(capsys: pytest.CaptureFixture[str]) -> None:
    """Two runs write the same bytes."""
    run(["audit", "inherited-mill.rig.yaml", "--write", "json=-"])
    one = capsys.readouterr().out
    run(["audit", "inherited-mill.rig.yaml", "--write", "json=-"])
    assert capsys.readouterr().out == one


def test_names_that_mean_harm_are_harmless(capsys: pytest.CaptureFixture[str]) -> None:
    """The rig's name and the file's lines go to a terminal or a log: no escape, no log command gets through."""
    file = Path("inherited-mill.rig.yaml")
    text = file.read_text("utf-8").replace("name: Inherited mill", 'name: "\\e[31m::error::##[group]"')
    file.write_text(text.replace("head: 4 m}", "head: 4 m, label: '::warning::##[x]'}"), encoding="utf-8")
    assert run(["audit", file.name]) == 1
    shown = capsys.readouterr().out
    assert "\x1b" not in shown
    assert "::" not in shown
    assert "##" not in shown


def test_lines_next_to_one_another_are_told_one_by_one(capsys: pytest.CaptureFixture[str]) -> None:
    """Two turbines on neighbouring lines, both at 3 m where 5 m are written: by the table 500 N·m at 11 rad/s each."""
    Path("heads.catalogue.yaml").write_text(
        """catalogue: 1
edition: "1"
items:
  turbine:
    kind: prime-mover
    table: {by: head, points: [[3 m, 500 N*m, 11 rad/s], [5 m, 900 N*m, 15 rad/s]]}
  gather: {kind: combiner, inlets: 2}
  saw: {kind: driven-machine, needs: {torque: 90 N*m}}
""",
        encoding="utf-8",
    )
    rig = """rig: 1
catalogue: heads.catalogue.yaml
parts:
  east: {item: turbine, head: 5 m}
  west: {item: turbine, head: 5 m}
  join: {item: gather, driven-by: [east, west]}
  saw: {item: saw, driven-by: join}
readings:
  - {at: east, torque: 500 N*m, speed: 11 rad/s}
  - {at: west, torque: 500 N*m, speed: 11 rad/s}
  - {at: saw, torque: 1 kN*m, speed: 11 rad/s}
"""
    Path("heads.rig.yaml").write_text(rig, encoding="utf-8")
    assert run(["audit", "heads.rig.yaml"]) == 1
    lines = [line.strip() for line in capsys.readouterr().out.splitlines()]
    assert "edit 1, line 4: east: {item: turbine, head: 3 m}" in lines
    assert "edit 1, line 5: west: {item: turbine, head: 3 m}" in lines
