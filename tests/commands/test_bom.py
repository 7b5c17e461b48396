"""`lineshaft bom`: what it prints and writes, by hand, with names that mean harm."""

import csv
import json
from pathlib import Path

import pytest

from lineshaft.cli import run

_CATALOGUE = """\
catalogue: 1
name: Shop
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 10 N*m, speed: 10 rad/s}}
  shaft: {kind: shaft, made-of: {GEAR: 3, bar: 1}}
  mill: {kind: driven-machine, needs: {torque: 1 N*m}, made-of: {GEAR: 3}}
components:
  GEAR: {made-of: {plate: 5}, yields: 8}
raw:
  plate: {worth: 2}
  bar: {worth: 0.5}
"""
_RIG = """\
rig: 1
name: Trial
catalogue: shop.catalogue.yaml
parts:
  wheel: {item: wheel}
  first: {item: shaft, driven-by: wheel}
  second: {item: shaft, driven-by: first}
  mill: {item: mill, driven-by: second}
"""


@pytest.fixture(autouse=True)
def _there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    _files()


def _files(gear: str = "gear") -> None:
    Path("shop.catalogue.yaml").write_text(_CATALOGUE.replace("GEAR", gear), encoding="utf-8")
    Path("trial.rig.yaml").write_text(_RIG, encoding="utf-8")


def test_table(capsys: pytest.CaptureFixture[str]) -> None:
    """9 gears: 2 makings of 8, 7 left over, 10 plates worth 20; 2 bars worth 1; 21 in all; the wheel costs nothing."""
    assert run(["bom", "trial.rig.yaml"]) == 0
    lines = [line.split() for line in capsys.readouterr().out.splitlines()]
    assert ["plate", "10", "2", "20"] in lines
    assert ["bar", "2", "0.5", "1"] in lines
    assert ["gear", "9", "2", "7"] in lines
    assert lines[-1] == ["worth", "21", "in", "all"]


def test_items_stand_first_and_lubricants_last(capsys: pytest.CaptureFixture[str]) -> None:
    """Three stages of one ratio in two grades, 7 L charged and 2 · 1.5 L filled of one oil: 10 L of it."""
    Path("shop.catalogue.yaml").write_text(
        """\
catalogue: 1
edition: "1"
grades: {iron: {torque-limit: 900 N*m}, steel: {torque-limit: 3 kN*m}}
lubricants: [seal-oil]
items:
  wheel: {kind: prime-mover, output: {torque: 10 N*m, speed: 10 rad/s}}
  stage:
    kind: gear-stage
    grades: [iron, steel]
    ratios: [5/2]
    lubricant: {kind: seal-oil, holds: 6 L, uses: 1 L/h}
  mill: {kind: driven-machine, needs: {torque: 1 N*m}}
""",
        "utf-8",
    )
    stage = "ratio: 5/2, set: reduce, grade"
    Path("trial.rig.yaml").write_text(
        f"""\
rig: 1
catalogue: shop.catalogue.yaml
parts:
  wheel: {{item: wheel}}
  a: {{item: stage, {stage}: iron, driven-by: wheel}}
  b: {{item: stage, {stage}: steel, driven-by: a}}
  c: {{item: stage, {stage}: iron, driven-by: b}}
  mill: {{item: mill, driven-by: c}}
lubrication:
  low: {{lubricant: seal-oil, tank: {{holds: 9 L, charge: 7 L}}, feeds: [c]}}
commissioning:
  - fill: {{part: a, with: 1.5 L}}
  - fill: {{part: b, with: 1.5 L}}
  - start: wheel
""",
        "utf-8",
    )
    assert run(["bom", "trial.rig.yaml"]) == 0
    lines = [line.split() for line in capsys.readouterr().out.splitlines()]
    assert lines[2:6] == [
        ["2", "×", "stage", "5/2", "iron"],
        ["1", "×", "mill"],
        ["1", "×", "stage", "5/2", "steel"],
        ["1", "×", "wheel"],
    ]
    assert ["seal-oil", "10", "L"] in lines
    assert run(["bom", "trial.rig.yaml", "--write", "json=-"]) == 0
    assert json.loads(capsys.readouterr().out)["lubricants"] == [{"name": "seal-oil", "litres": 10.0}]


def test_both_files_and_the_table(capsys: pytest.CaptureFixture[str]) -> None:
    """--write is repeatable; the files say the same as the table, which is still shown."""
    assert run(["bom", "trial.rig.yaml", "--write", "csv=b.csv", "--write", "json=b.json"]) == 0
    assert "worth 21 in all" in capsys.readouterr().out
    with Path("b.csv").open(encoding="utf-8", newline="") as opened:
        rows = list(csv.DictReader(opened))
    assert [(row["kind"], row["name"], row["count"], row["makings"]) for row in rows] == [
        ("item", "shaft", "2", ""),
        ("item", "mill", "1", ""),
        ("item", "wheel", "1", ""),
        ("raw", "bar", "2", ""),
        ("raw", "plate", "10", ""),
        ("component", "gear", "9", "2"),
    ]
    assert [float(row["worth"]) for row in rows[3:5]] == [1.0, 20.0]
    document = json.loads(Path("b.json").read_text(encoding="utf-8"))
    assert document["worth"] == 21
    assert document["components"] == [{"name": "gear", "needed": 9, "makings": 2, "yields": 8}]
    assert document["raw"][1] == {"name": "plate", "count": 10, "worth": 20}


def test_stdout_holds_the_document_alone(capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    """With `-` nothing but the JSON goes to stdout."""
    assert run(["bom", "trial.rig.yaml", "--write", "json=-"]) == 0
    assert json.loads(capfdbinary.readouterr().out)["format"] == "lineshaft-bill/1"


@pytest.mark.parametrize("name", ["=1+2", "+a", "-a", "@a", " =a", "=a,b"])
def test_no_cell_is_a_formula(name: str) -> None:
    """A name that a spreadsheet would run gets an apostrophe in front."""
    _files(f'"{name}"')
    assert run(["bom", "trial.rig.yaml", "--write", "csv=b.csv"]) == 0
    with Path("b.csv").open(encoding="utf-8", newline="") as opened:
        assert [row["name"] for row in csv.DictReader(opened)][-1] == f"'{name}"


@pytest.mark.parametrize("text", ["csv", "csv=", "xls=b", "=b"])
def test_what_write_does_not_take(text: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The message says what is taken."""
    assert run(["bom", "trial.rig.yaml", "--write", text]) == 2
    assert "FORMAT=FILE with one of csv, json" in capsys.readouterr().err


def test_a_component_that_contains_itself_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """A gear made of gears has no bill: exit 2 and the reason, no traceback."""
    text = Path("shop.catalogue.yaml").read_text(encoding="utf-8").replace("{plate: 5}", "{gear: 1}")
    Path("shop.catalogue.yaml").write_text(text, encoding="utf-8")
    assert run(["bom", "trial.rig.yaml"]) == 2
    assert "contains itself" in capsys.readouterr().err


def test_where_it_cannot_write(capsys: pytest.CaptureFixture[str]) -> None:
    """A folder that is not there: exit 2 and the path."""
    assert run(["bom", "trial.rig.yaml", "--write", "csv=none/b.csv"]) == 2
    assert "cannot write none/b.csv" in capsys.readouterr().err


def test_a_good_that_is_not_listed_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """Gears made of what the catalogue does not have: exit 2 and its name."""
    text = Path("shop.catalogue.yaml").read_text(encoding="utf-8").replace("{plate: 5}", "{plat: 5}")
    Path("shop.catalogue.yaml").write_text(text, encoding="utf-8")
    assert run(["bom", "trial.rig.yaml"]) == 2
    assert "plat is neither a component nor a raw good" in capsys.readouterr().err


def test_counts_past_every_number_are_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """400 levels of 1,000 each are 1e1200 plates: refused in words, no traceback."""
    levels = "".join(f"  c{n}: {{made-of: {{{f'c{n + 1}' if n < 399 else 'plate'}: 1000}}}}\n" for n in range(400))
    text = Path("shop.catalogue.yaml").read_text(encoding="utf-8")
    text = text.replace("{plate: 5}", "{c0: 1}").replace("raw:\n", f"{levels}raw:\n")
    Path("shop.catalogue.yaml").write_text(text, encoding="utf-8")
    assert run(["bom", "trial.rig.yaml"]) == 2
    assert "past every number" in capsys.readouterr().err
