"""One prime mover and one machine: whole rigs, by hand; written out they pass every check."""

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
grades: {iron: {torque-limit: 1100 N*m, speed-limit: 300 rad/s}}
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  dry: {kind: gear-stage, grade: iron, ratios: {5/2: {made-of: {bar: 3}}}}
  wet: {kind: gear-stage, grade: iron, ratios: {5: {made-of: {bar: 7}}},
    lubricant: {kind: oil, holds: 3 L, uses: 0.1 mL/s}}
  mill: {kind: driven-machine, needs: {torque: 150 N*m, speed: 10 rad/s},
    work: {unit: sack, times: [[10 rad/s, 60 s], [50 rad/s, 20 s]], between: linear}}
raw: {bar: {worth: 1.5}}
"""
_WISH = """\
rig: 1
name: Trial   # a wish
catalogue: shop.catalogue.yaml
parts:
  wheel: {item: wheel}
  mill:  {item: mill}   # the one that matters
"""


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    (tmp_path / "shop.catalogue.yaml").write_text(_CATALOGUE)
    (tmp_path / "trial.rig.yaml").write_text(_WISH)
    return tmp_path


def _designs(yard: Path, *more: str) -> dict[str, object]:
    ran = run(yard, "design", "trial.rig.yaml", "--write", "json=-", *more)
    assert ran.returncode in (0, 1), ran.stderr
    document: dict[str, object] = json.loads(ran.stdout)
    jsonschema.Draft202012Validator(json.loads(schema_text("design"))).validate(document)
    return document


def test_the_front_by_hand(yard: Path) -> None:
    """5/2 costs 3 bars (4.5) and gives 20 rad/s: 50 s a sack, 72 an hour; 5 costs 7 (10.5), 40 rad/s: 30 s, 120.

    Both in line give 100 rad/s and 72 N*m of the 150 that the mill needs; nothing else reaches its 10 rad/s.
    """
    found = _designs(yard)
    told = [
        (one["shown_for"], one["repair"]["worth"], one["parts_added"], round(one["machines"][0]["rate"], 9))
        for one in found["designs"]
    ]  # type: ignore[index, union-attr, attr-defined]
    assert told == [(["least-cost", "fewest-parts"], 4.5, 1, 72), (["highest-rates"], 10.5, 1, 120)]
    assert found["complete"] is True


@pytest.mark.parametrize("number", ["1", "2"])
def test_an_applied_design_passes_with_notes_only_and_keeps_every_other_byte(yard: Path, number: str) -> None:
    """Lines that it does not change stay, the machine's comment with them; the start-up list is simulated and holds."""
    assert run(yard, "design", "trial.rig.yaml", "--apply", number).returncode == 0
    text = (yard / "trial.rig.yaml").read_text()
    assert text.startswith("rig: 1\nname: Trial   # a wish\n") and "# the one that matters\n" in text
    assert run(yard, "check", "trial.rig.yaml", "--fail-on", "warning", "--no-cache").returncode == 0
    held = run(yard, "commission", "trial.rig.yaml")
    assert held.returncode == 0 and "The list holds" in held.stdout


def test_diff_changes_nothing(yard: Path) -> None:
    """And shows what `--apply` would write."""
    ran = run(yard, "design", "trial.rig.yaml", "--apply", "1", "--diff")
    assert "+  mill:  {item: mill, driven-by:" in ran.stdout
    assert (yard / "trial.rig.yaml").read_text() == _WISH


def test_most_cost_and_most_parts_leave_out_what_goes_beyond(yard: Path) -> None:
    """A cost of 4.5 is allowed by 4.5, and not by 4.4."""
    assert len(_designs(yard, "--most-cost", "4.5")["designs"]) == 1  # type: ignore[arg-type]
    none = run(yard, "design", "trial.rig.yaml", "--most-cost", "4.4")
    assert none.returncode == 1 and "the cheapest costs 4.5" in none.stdout
    assert run(yard, "design", "trial.rig.yaml", "--most-parts", "0").returncode == 1


def test_too_little_power_is_said_with_what_is_lacking(yard: Path) -> None:
    """The wheel gives 7.2 kW; 900 N*m at 10 rad/s take 9 kW, 1.8 kW more."""
    (yard / "shop.catalogue.yaml").write_text(_CATALOGUE.replace("torque: 150 N*m", "torque: 900 N*m"))
    ran = run(yard, "design", "trial.rig.yaml")
    assert ran.returncode == 1
    said = " ".join(ran.stdout.split())
    assert "mill takes at least 9 kW" in said and "1.8 kW is lacking" in said


def test_a_stock_orders_by_what_is_to_be_got(yard: Path) -> None:
    """With the wet stage in stock it costs nothing to get, and is faster: the dry one is beaten."""
    stock = "stock: 1\ncatalogue: shop.catalogue.yaml\nitems: [{item: wet, ratio: 5, count: 1}]\n"
    (yard / "own.stock.yaml").write_text(stock)
    found = _designs(yard, "--stock", "own.stock.yaml")
    designs = found["designs"]
    assert [one["stock"]["worth"] for one in designs] == [0]  # type: ignore[index, attr-defined]
    assert [round(one["machines"][0]["rate"]) for one in designs] == [120]  # type: ignore[index, attr-defined]


def test_within_stock_leaves_out_what_something_is_to_be_got_for(yard: Path) -> None:
    """Two bars do not make a stage; three do."""
    for bars, code in ((2, 1), (3, 0)):
        (yard / "own.stock.yaml").write_text(f"stock: 1\ncatalogue: shop.catalogue.yaml\ngoods: {{bar: {bars}}}\n")
        ran = run(yard, "design", "trial.rig.yaml", "--stock", "own.stock.yaml", "--within-stock")
        assert ran.returncode == code, ran.stdout


def test_drawings_stand_side_by_side_in_one_file(yard: Path) -> None:
    """One for each design, and no name twice in the file."""
    ran = run(yard, "design", "trial.rig.yaml", "--write", "svg=a.svg")
    assert ran.returncode == 0
    text = (yard / "a.svg").read_text()
    assert text.count("Drawing of Trial") == 2 and text.count(" id=") == 0
    assert "Design 1: least cost, fewest parts" in text


@pytest.mark.parametrize(
    ("was", "now", "place", "said"),
    [
        ("{item: mill} ", "{item: mil} ", "6:17", "there is no item mil"),
        ("  mill:", "  lay: {item: dry, ratio: 5/2, set: reduce}\n  mill:", "6:3", "nothing drives lay"),
        ("{item: mill} ", "{item: mill, driven-by: wheel} ", "4:1", "every machine is driven"),
        ("{item: mill} ", "{item: mill, target: {time: 5 s}} ", "6:31", "no speed in the work table of mill"),
    ],
)
def test_what_is_no_wish_is_told_at_its_place(yard: Path, was: str, now: str, place: str, said: str) -> None:
    """Exit 2, and nothing is written."""
    text = _WISH.replace(was, now)
    (yard / "trial.rig.yaml").write_text(text)
    ran = run(yard, "design", "trial.rig.yaml", "--apply", "1")
    assert ran.returncode == 2 and ran.stdout == ""
    assert f"trial.rig.yaml:{place}: " in ran.stderr and said in ran.stderr
    assert (yard / "trial.rig.yaml").read_text() == text


def test_a_wish_with_readings_is_told_so(yard: Path) -> None:
    """They are of a build that stands."""
    (yard / "trial.rig.yaml").write_text(_WISH + "readings:\n  - {at: wheel, speed: 8 rad/s}\n")
    ran = run(yard, "design", "trial.rig.yaml")
    assert ran.returncode == 2 and "trial.rig.yaml:8:5: readings are of a build that stands" in ran.stderr
