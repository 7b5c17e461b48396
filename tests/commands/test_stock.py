"""Stock files and build sheets through the command: what is there, what is to be got, what is wrong with a file."""

import csv
import json
from pathlib import Path

import jsonschema
import pytest
from command_runner import run

from lineshaft.schema.validation.schemas import schema_text

_CATALOGUE = """\
catalogue: 1
name: Shop
edition: "1"
lubricants: [oil]
grades: {iron: {torque-limit: 3 kN*m}, oak: {torque-limit: 70 N*m}}
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  stage: {kind: gear-stage, grades: [iron, oak], ratios: {5/2: {made-of: {gear: 5}}, 3: {made-of: {gear: 6}}},
    lubricant: {kind: oil, holds: 3 L, uses: 0.1 mL/s}}
  split: {kind: splitter, outlets: 2, shares: any, made-of: {bar: 5}}
  mill: {kind: driven-machine, needs: {torque: 1 N*m}, made-of: {bar: 3}}
components:
  gear: {made-of: {plate: 5}, yields: 7}
raw:
  plate: {worth: 3}
  bar: {worth: 0.5}
"""
_RIG = """\
rig: 1
name: Trial
catalogue: shop.catalogue.yaml
parts:
  wheel: {item: wheel}
  step: {item: stage, grade: iron, ratio: 5/2, set: increase, driven-by: wheel}
  half: {item: split, shares: {a: 3, b: 5}, driven-by: step}
  mill: {item: mill, driven-by: half.a}
  other: {item: mill, driven-by: half.b}
commissioning:
  - fill: {part: step, with: 3 L}
  - set: {part: step, to: increase}
  - start: wheel
"""
_STOCK = """\
stock: 1
catalogue: shop.catalogue.yaml
goods: {gear: 3, bar: 7}
items:
  - {item: stage, ratio: 5/2, grade: oak, count: 3}
  - {item: mill, count: 1}
"""


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    for name, text in (("shop.catalogue", _CATALOGUE), ("trial.rig", _RIG), ("own.stock", _STOCK)):
        (tmp_path / f"{name}.yaml").write_text(text)
    return tmp_path


def test_the_bill_says_what_is_there_and_what_is_to_be_got(yard: Path) -> None:
    """The stages in stock are of oak, so one is made: 5 gears, 3 there, one making of 7 from 5 plates, none there.

    Bars: 5 for the splitter and 3 for the one mill that is not there; 7 are there, 1 is to be got: 15 + 0.5.
    """
    ran = run(yard, "bom", "trial.rig.yaml", "--stock", "own.stock.yaml")
    assert ran.returncode == 0
    assert "to get: 1 bar, 5 plate; worth 15.5 in all" in ran.stdout
    assert [line.split() for line in ran.stdout.splitlines() if line.startswith("gear ")] == [
        ["gear", "5", "3", "1", "5"]
    ]


def test_json_and_csv_have_the_stock_too(yard: Path) -> None:
    """The JSON keeps its keys and gains `stock`, by its schema; the CSV has two columns more."""
    ran = run(
        yard, "bom", "trial.rig.yaml", "--stock", "own.stock.yaml", "--write", "json=a.json", "--write", "csv=a.csv"
    )
    assert ran.returncode == 0
    document = json.loads((yard / "a.json").read_text())
    jsonschema.Draft202012Validator(json.loads(schema_text("bill"))).validate(document)
    assert document["worth"] == 20.5  # 5 plates and 11 bars, as without a stock
    assert document["stock"]["worth"] == 15.5 and document["stock"]["file"] == "own.stock.yaml"
    rows = list(csv.DictReader((yard / "a.csv").open()))
    assert [(r["needed" if "needed" in r else "count"], r["there"], r["get"]) for r in rows if r["name"] == "bar"] == [
        ("8", "7", "1")
    ]


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ("goods: {bars: 3}", "3:9: there is no good bars in the catalogue; did you mean bar?"),
        ("goods: {mill: 3}", "3:9: mill is an item: list it under `items`"),
        ("goods: {bar: -3}", "3:14: -3 is out of range"),
        ("items: [{item: mill, count: 1.5}]", "3:29: expected a whole number, found `1.5`"),
        ("items: [{item: mil, count: 1}]", "3:16: there is no item mil in the catalogue; did you mean mill?"),
        ("items: [{item: stage, grade: oak, count: 1}]", "3:16: stage comes in ratios: say which, 5/2, 3"),
        ("items: [{item: stage, ratio: 3, count: 1}]", "3:16: stage is made in several grades: say which, iron, oak"),
        (
            "items: [{item: stage, ratio: 7, grade: oak, count: 1}]",
            "3:30: stage does not come in 7 : 1; it offers 5/2, 3",
        ),
        ("items: [{item: stage, ratio: 0.4, grade: oak, count: 1}]", "3:30: 0.4 is below 1"),
        ("items: [{item: mill, grade: oak, count: 1}]", "3:29: mill is not made in oak; it offers no grade"),
    ],
)
def test_what_is_wrong_with_a_stock_is_told_at_its_place(yard: Path, line: str, wanted: str) -> None:
    """By `check`, which fails, and by whoever is given the file, which then shows no bill."""
    (yard / "bad.stock.yaml").write_text(f"stock: 1\ncatalogue: shop.catalogue.yaml\n{line}\n")
    place = ":".join(wanted.split(":")[:2])
    checked = run(yard, "check", "bad.stock.yaml", "--format", "short")
    assert checked.returncode == 1 and f"bad.stock.yaml:{place} " in checked.stdout
    asked = run(yard, "bom", "trial.rig.yaml", "--stock", "bad.stock.yaml")
    assert asked.returncode == 2 and asked.stdout == ""
    assert f"bad.stock.yaml:{wanted}" in asked.stderr


@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        ("stock: 1\ngoods: {bar: 3}\n", "1:1", "`catalogue` is missing"),
        ("stock: 1\ncatalogue: shop: one\n", "2:16", "a second colon"),
        ("stock: 1\ncatalogue: shed.catalogue.yaml\n", "2:12", "the file shed.catalogue.yaml is not there"),
    ],
)
def test_a_stock_without_a_catalogue_is_told_so(yard: Path, text: str, place: str, words: str) -> None:
    """And nothing of the goods in it, which nobody can look up."""
    (yard / "bad.stock.yaml").write_text(text)
    checked = run(yard, "check", "bad.stock.yaml", "--format", "short")
    assert checked.returncode == 1
    (told,) = [line for line in checked.stdout.splitlines() if line.startswith("bad.stock.yaml:")]
    assert told.startswith(f"bad.stock.yaml:{place} ") and words in told
    assert run(yard, "bom", "trial.rig.yaml", "--stock", "bad.stock.yaml").returncode == 2


def test_a_stock_of_another_catalogue_is_refused(yard: Path) -> None:
    """At the line that names the other one."""
    (yard / "far.catalogue.yaml").write_text(_CATALOGUE)
    (yard / "far.stock.yaml").write_text(_STOCK.replace("shop.", "far."))
    ran = run(yard, "bom", "trial.rig.yaml", "--stock", "far.stock.yaml")
    assert ran.returncode == 2
    assert "far.stock.yaml:2:12: this stock is of another catalogue than trial.rig.yaml" in ran.stderr


def test_a_stock_is_judged_with_its_folder_and_under_both_endings(yard: Path) -> None:
    """`.yml` as `.yaml`; a sound one has no finding."""
    (yard / "own.stock.yaml").rename(yard / "own.stock.yml")
    ran = run(yard, "check", ".", "--write", "json=-")
    assert ran.returncode == 0
    assert "own.stock" not in json.dumps(json.loads(ran.stdout)["findings"])
    assert run(yard, "bom", "trial.rig.yaml", "--stock", "own.stock.yml").returncode == 0


def test_a_first_stock_is_written_and_holds(yard: Path) -> None:
    """By the catalogue that is there, whatever its goods are called."""
    assert run(yard, "new", "stock").returncode == 0
    assert "catalogue: shop.catalogue.yaml" in (yard / "yard.stock.yaml").read_text()
    assert run(yard, "check", "yard.stock.yaml").returncode == 0
    assert run(yard, "bom", "trial.rig.yaml", "--stock", "yard.stock.yaml").returncode == 0


def test_the_build_sheet_goes_from_the_prime_mover_outward(yard: Path) -> None:
    """Three stretches: to the splitter, and to each machine; goods and lubricant stand with their stretch."""
    ran = run(yard, "bom", "trial.rig.yaml", "--by-stretch")
    assert ran.returncode == 0
    heads = [line for line in ran.stdout.splitlines() if line.startswith("## ")]
    assert heads == [
        "## Gather and make", "## Stretch 1: `wheel to half`", "## Stretch 2: `half.a to mill`",
        "## Stretch 3: `half.b to other`", "## Start",
    ]  # fmt: skip
    first = ran.stdout.partition("## Stretch 1")[2].partition("## Stretch 2")[0]
    assert "Take 5 `bar`, 5 `gear`." in first
    assert "- [ ] `step`: `stage`, `in iron`, `5/2 : 1`, `set to increase`, driven by `wheel`" in first
    assert "- [ ] `step`: `fill with 3 L of oil`" in first
    assert "29 CFR 1910.147" in ran.stdout
    assert [line for line in ran.stdout.splitlines() if line.endswith("`start wheel`")] == ["- [ ] 3. `start wheel`"]


def test_the_build_sheet_as_a_page_escapes_what_the_file_says(yard: Path) -> None:
    """Markup in the rig's name shows as text, and there is a box for each thing to do."""
    rig = yard / "trial.rig.yaml"
    rig.write_text(_RIG.replace("name: Trial", 'name: "<script>alert(1)</script> | `x`"'))
    ran = run(yard, "bom", "trial.rig.yaml", "--by-stretch", "--write", "html=a.html", "--write", "markdown=a.md")
    assert ran.returncode == 0
    page = (yard / "a.html").read_text()
    assert "<script>" not in page and "&lt;script&gt;" in page
    assert page.count('type="checkbox"') == (yard / "a.md").read_text().count("- [ ]") == 11
    assert "default-src &#39;none&#39;" in page


_SHORT = """\
rig: 1
name: Short
catalogue: shop.catalogue.yaml
parts:
  wheel: {item: wheel}
  mill: {item: hungry, driven-by: wheel}
"""
_HUNGRY = "  hungry: {kind: driven-machine, needs: {torque: 100 N*m, speed: 18 rad/s}}\ncomponents:"


@pytest.fixture
def short(yard: Path) -> Path:
    (yard / "shop.catalogue.yaml").write_text(_CATALOGUE.replace("components:", _HUNGRY))
    (yard / "short.rig.yaml").write_text(_SHORT)
    return yard


def test_a_repair_says_what_has_to_be_got(short: Path) -> None:
    """The mill is geared up by 5/2, oak stands 70 N*m alone: iron, 5 gears, 3 there: 5 plates for one making of 7."""
    ran = run(short, "repair", "short.rig.yaml", "--stock", "own.stock.yaml")
    assert "to get: 5 plate" in ran.stdout
    (short / "own.stock.yaml").write_text(_STOCK.replace("oak", "iron"))
    ran = run(short, "repair", "short.rig.yaml", "--stock", "own.stock.yaml", "--within-stock")
    assert "to get: nothing" in ran.stdout and "to get: 5" not in ran.stdout


def test_a_repair_that_takes_more_than_there_is_is_left_out_within_the_stock(short: Path) -> None:
    """And it is said that there are others."""
    (short / "own.stock.yaml").write_text("stock: 1\ncatalogue: shop.catalogue.yaml\n")
    ran = run(short, "repair", "short.rig.yaml", "--stock", "own.stock.yaml", "--within-stock")
    said = " ".join(ran.stdout.split())
    assert "each that was found takes more than the stock has" in said and "to get:" not in said


_TWO_SHORT = f"{_SHORT}  wheel-b: {{item: wheel}}\n  mill-b: {{item: hungry, driven-by: wheel-b}}\n"


@pytest.mark.parametrize(("stages", "mended"), [(0, 0), (1, 1), (2, 2)])
def test_all_repairs_together_take_no_more_than_the_stock_has(short: Path, stages: int, mended: int) -> None:
    """Each mill wants a stage of its own, and nothing else is there to make one of."""
    (short / "short.rig.yaml").write_text(_TWO_SHORT)
    stock = "stock: 1\ncatalogue: shop.catalogue.yaml\n"
    if stages:
        stock += f"items: [{{item: stage, ratio: 5/2, grade: iron, count: {stages}}}]\n"
    (short / "own.stock.yaml").write_text(stock)
    ran = run(short, "repair", "short.rig.yaml", "--stock", "own.stock.yaml", "--within-stock", "--apply", "best")
    assert (short / "short.rig.yaml").read_text().count("item: stage") == mended
    assert ran.returncode == (0 if mended == 2 else 1)
    assert " ".join(ran.stdout.split()).count("takes, with what is applied, more than the stock has") == 2 - mended


def test_a_sizing_stands_by_what_has_to_be_got(short: Path) -> None:
    """5/2 costs 5 gears and 3 costs 6; with a stage of 3 in stock nothing has to be got for that: it stands first."""
    stock = "stock: 1\ncatalogue: shop.catalogue.yaml\nitems: [{item: stage, ratio: 3, grade: iron, count: 1}]\n"
    (short / "own.stock.yaml").write_text(stock)
    # A work table, or the dearer chain would be no better than the cheaper one in anything.
    table = "work: {unit: sack, times: [[18 rad/s, 60 s], [70 rad/s, 20 s]], between: linear}"
    text = (short / "shop.catalogue.yaml").read_text()
    (short / "shop.catalogue.yaml").write_text(text.replace("speed: 18 rad/s}}", f"speed: 18 rad/s}}, {table}}}"))
    ran = run(short, "size", "short.rig.yaml", "mill", "--stock", "own.stock.yaml", "--write", "json=-")
    document = json.loads(ran.stdout)
    jsonschema.Draft202012Validator(json.loads(schema_text("size"))).validate(document)
    first = document["chains"][0]
    assert [stage["ratio"] for stage in first["stages"]] == ["3"] and first["to_get"] == {"worth": 0, "raw": {}}
    assert document["chains"][1]["to_get"]["raw"] == {"plate": 5}


@pytest.mark.parametrize("command", [("repair", "short.rig.yaml"), ("size", "short.rig.yaml", "mill")])
def test_within_stock_asks_for_a_stock(short: Path, command: tuple[str, ...]) -> None:
    """Bad usage, exit 2."""
    ran = run(short, *command, "--within-stock")
    assert ran.returncode == 2 and "--within-stock needs a stock" in ran.stderr


def test_a_stock_is_judged_with_those_that_use_a_changed_catalogue(yard: Path) -> None:
    """A good that the catalogue no longer has is told in the stock that counts it."""
    (yard / ".git").mkdir()
    text = (yard / "shop.catalogue.yaml").read_text()
    (yard / "shop.catalogue.yaml").write_text(text.replace("gear:", "cog:"))
    ran = run(yard, "check", "--users", "shop.catalogue.yaml", "--format", "short")
    assert ran.returncode == 1
    assert "own.stock.yaml:3:9  ERROR  unknown-reference  there is no good gear" in ran.stdout
