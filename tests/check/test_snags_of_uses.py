"""Each use of a blueprint has a snag of its own, in the rig that places it, by the part's name there."""

import json
from pathlib import Path
from typing import Any

import pytest
import yaml
from commands.placed_yard import placed_yard

from lineshaft.cli import run

# leg-a gets 2 of 5 of one wheel's 900 N*m, 360; leg-b 3 of 5 of another's, 540. Each press needs 600.
TWO_WHEELS = """rig: 1
name: Two wheels
catalogue: c.catalogue.yaml
parts:
  one: {item: wheel}
  two: {item: wheel}
  half: {item: divider, driven-by: one, shares: {a: 2, b: 3}}
  rest: {item: divider, driven-by: two, shares: {a: 3, b: 2}}
  leg-a: {blueprint: leg.blueprint.yaml, driven-by: half.a}
  leg-b: {blueprint: leg.blueprint.yaml, driven-by: rest.a}
  spare: {item: shaft, driven-by: half.b}
"""
LIST = "yard.snags.yaml"


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Shafts that stand anything, so that the presses alone are short."""
    monkeypatch.chdir(placed_yard(tmp_path))
    catalogue = tmp_path / "c.catalogue.yaml"
    catalogue.write_text(catalogue.read_text("utf-8").replace("300 N*m", "3000 N*m"), "utf-8")
    (tmp_path / "two.rig.yaml").write_text(TWO_WHEELS, "utf-8")
    return tmp_path


def record(*paths: str) -> list[dict[str, Any]]:
    """The rows of the list that is recorded."""
    assert run(["snags", "record", *paths, "-o", LIST, "--date", "2026-03-02"]) == 0
    return list(yaml.safe_load(Path(LIST).read_text("utf-8"))["findings"])


def check(capsys: pytest.CaptureFixture[str], *paths: str) -> tuple[int, dict[str, Any], str]:
    """Exit code, the finding on the press, and the sheet."""
    capsys.readouterr()
    code = run(["check", *paths, "--no-cache", "--snags", LIST, "--write", "json=found.json"])
    found = json.loads(Path("found.json").read_text("utf-8"))
    stock = next(f for f in found["findings"] if f["rule"] == "machine-underdriven")
    return code, {**stock, "summary": found["summary"]}, capsys.readouterr().out


def test_a_row_a_use_in_the_rig_that_places_it(yard: Path) -> None:
    """600 / 360 = 5/3 and 600 / 540 = 10/9; in rig `b`, 600 / 200 = 3, through the works."""
    rows = [row for row in record("two.rig.yaml", "b.rig.yaml") if row["rule"] == "machine-underdriven"]
    assert [(row["file"], row["rig"], row["part"]) for row in rows] == [
        ("b.rig.yaml", "B", "works/leg-a/stock"),
        ("two.rig.yaml", "Two wheels", "leg-a/stock"),
        ("two.rig.yaml", "Two wheels", "leg-b/stock"),
    ]
    assert [row["value"] for row in rows] == pytest.approx([3, 5 / 3, 10 / 9], rel=1e-5)


def test_what_is_recorded_of_each_use_passes(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One finding, a snag, since each of its uses is."""
    record("two.rig.yaml")
    code, stock, _ = check(capsys, "two.rig.yaml")
    assert (code, stock["summary"]["errors"]) == (0, 0)
    assert stock["snag"]["value"] == pytest.approx(5 / 3, rel=1e-5)
    assert [use["snag"]["value"] for use in stock["uses"]] == pytest.approx([5 / 3, 10 / 9], rel=1e-5)


def test_another_use_that_got_twelve_times_worse_is_not_hidden(
    yard: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The second leg gets 1 of 20 of 900 N*m, 45, where it had 540; the first is as recorded, and stays a snag."""
    record("two.rig.yaml")
    text = TWO_WHEELS.replace("shares: {a: 3, b: 2}", "shares: {a: 1, b: 19}")
    (yard / "two.rig.yaml").write_text(text, "utf-8")
    code, stock, sheet = check(capsys, "two.rig.yaml")
    assert (code, stock["snag"]) == (1, None)
    assert stock["message"].startswith("gets 45 N·m and needs 600 N·m; worse than the snag that was recorded")
    assert [use["snag"] is not None for use in stock["uses"]] == [True, False]
    assert "in two.rig.yaml as leg-b/stock, the worst of 2; also leg-a/stock (a snag)" in sheet


def test_a_use_that_is_new_fails(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A third leg at the end of the first wheel: 3 of 5, 540 N*m of 600, is no snag though the same press is."""
    record("two.rig.yaml")
    text = TWO_WHEELS.replace("  spare: {item: shaft,", "  leg-c: {blueprint: leg.blueprint.yaml,")
    (yard / "two.rig.yaml").write_text(text, "utf-8")
    code, stock, _ = check(capsys, "two.rig.yaml")
    assert (code, stock["level"]) == (1, "error")
    assert [(use["part"], use["snag"] is not None) for use in stock["uses"]] == [
        ("leg-a/stock", True),
        ("leg-b/stock", True),
        ("leg-c/stock", False),
    ]


def test_one_use_gets_better_and_the_list_gets_shorter(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The second leg gets 7 of 9 of 900 N*m, 700 of 600: its row goes, the other stays."""
    record("two.rig.yaml")
    text = TWO_WHEELS.replace("shares: {a: 3, b: 2}", "shares: {a: 7, b: 2}")
    (yard / "two.rig.yaml").write_text(text, "utf-8")
    _, _, sheet = check(capsys, "two.rig.yaml")
    assert "snag machine-underdriven: leg-b/stock in two.rig.yaml is gone" in sheet
    assert run(["snags", "record", "two.rig.yaml", "--update", "-o", LIST]) == 0
    rows = yaml.safe_load((yard / LIST).read_text("utf-8"))["findings"]
    assert [row["part"] for row in rows if row["rule"] == "machine-underdriven"] == ["leg-a/stock"]


def test_an_old_row_covers_the_blueprint_by_itself_and_that_is_said(
    yard: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A row on the leg's file lets no use pass; it holds where the leg is judged by itself."""
    leg = (yard / "leg.blueprint.yaml").read_text("utf-8")
    (yard / "leg.blueprint.yaml").write_text(leg.replace("torque-up-to: 900", "torque-up-to: 500"), "utf-8")
    row = "{rule: machine-underdriven, file: leg.blueprint.yaml, part: stock, of: times_torque_needed, value: 1.7}"
    (yard / LIST).write_text(f"snags: 1\nfindings:\n  - {row}\n", "utf-8")
    code, stock, sheet = check(capsys, "two.rig.yaml")
    assert (code, [use["snag"] for use in stock["uses"]]) == (1, [None, None])
    words = " ".join(sheet.split())
    assert "notice: snags of leg.blueprint.yaml: they cover the blueprint judged by itself; 2 findings" in words
    code, stock, sheet = check(capsys, "leg.blueprint.yaml")
    # Alone it gets the 500 N*m that its inlet promises: 600 / 500 = 1.2 times, better than the 1.7 that is recorded.
    assert (code, stock["snag"]["value"]) == (0, 1.7)
    assert "judged by itself" not in sheet


@pytest.mark.parametrize("command", [["trace", "two.rig.yaml", "stock"], ["size", "two.rig.yaml", "stock"]])
def test_a_part_of_a_blueprint_is_asked_for_by_its_name_in_the_rig(
    yard: Path, capsys: pytest.CaptureFixture[str], command: list[str]
) -> None:
    """`stock` alone is in neither leg or in both: the hint says how it is named."""
    assert run(command) == 2
    hint = "a part of a blueprint is named with where that stands: leg-a/stock, leg-b/stock"
    assert hint in capsys.readouterr().err


@pytest.mark.parametrize(
    "line",
    [
        "waivers: [{rule: machine-underdriven, part: stock, reason: x, until: 2027-03-31}]\n",
        "commissioning: [start: stock]\n",
        "readings: [{at: stock, torque: 7 N*m}]\n",
        "  more: {item: press, driven-by: stock}\n",
    ],
)
def test_a_hint_stands_where_a_rig_writes_the_name_alone(
    yard: Path, capsys: pytest.CaptureFixture[str], line: str
) -> None:
    """In waivers, steps, readings and where something is driven by it."""
    (yard / "two.rig.yaml").write_text(TWO_WHEELS + line, "utf-8")
    assert run(["check", "--no-cache", "--write", "json=-", "two.rig.yaml"]) == 1
    found = json.loads(capsys.readouterr().out)["findings"]
    message = next(f["message"] for f in found if f["rule"] == "unknown-reference")
    assert message == (
        "there is no part stock in this file; a part of a blueprint is named with where that stands:"
        " leg-a/stock, leg-b/stock"
    )


def test_size_knows_a_use_by_its_whole_name(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """It says what comes to that use, 3 of 5 of 900 N·m; by its name in the blueprint alone it is not found."""
    assert run(["size", "two.rig.yaml", "leg-b/stock"]) in (0, 1)
    assert "From rest come 540 N·m" in capsys.readouterr().out
    assert run(["size", "two.rig.yaml", "stock"]) == 2
    assert "has no part 'stock'" in capsys.readouterr().err
