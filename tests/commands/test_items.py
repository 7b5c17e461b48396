"""`items` shows what a catalogue offers, and `units` what may be written."""

from pathlib import Path

import pytest
from command_runner import run

from lineshaft.schema.quantities.quantity import quantity
from lineshaft.schema.quantities.units import INTERNAL_UNIT, LISTED

pytestmark = pytest.mark.usefixtures("wide_page")

ROOT = Path(__file__).resolve().parents[2]
CATALOGUE = """catalogue: 1
name: Quay yard
edition: "7"
lubricants: [flax-oil]
grades:
  bog-oak: {torque-limit: 70 N*m, speed-limit: 45 rad/s}
  bronze: {torque-limit: 1.3 kN*m}
items:
  kettle-wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}, shock: light}
  any-shaft: {kind: shaft, grades: [bog-oak, bronze]}
  bronze-stage:
    kind: gear-stage
    grade: bronze
    speed-limit: 33 rad/s
    lubricant: {kind: flax-oil, holds: 5 L, uses: 0.3 mL/s}
    ratios: {5/2: {made-of: {wheel: 2}}, 7: {made-of: {wheel: 3}}}
  parter: {kind: splitter, outlets: 2, shares: [[3, 5]]}
  fuller: {kind: driven-machine, needs: {torque: 90 N*m, power: 300 W}}
raw: {wheel: {worth: 3}}
"""


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """A folder with that catalogue and a rig that uses it."""
    (tmp_path / "quay.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    rig = "rig: 1\ncatalogue: quay.catalogue.yaml\nparts:\n  w: {item: kettle-wheel}\n"
    (tmp_path / "quay.rig.yaml").write_text(rig, "utf-8")
    return tmp_path


def _row(text: str, start: str) -> str:
    return next(line for line in text.splitlines() if line.startswith(start))


@pytest.mark.parametrize("named", [(), (".",), ("quay.catalogue.yaml",), ("quay.rig.yaml",)], ids=str)
def test_the_catalogue_is_found_from_folder_rig_and_itself(yard: Path, named: tuple[str, ...]) -> None:
    """Whatever of the works is named, its catalogue is shown."""
    ran = run(yard, "items", *named)
    assert ran.returncode == 0, ran.stderr
    assert "quay.catalogue.yaml  “Quay yard”  (edition 7, 5 items)" in ran.stdout


def test_ratios_limits_needs_and_makings_are_shown(yard: Path) -> None:
    """As written above, by hand: an item's own limit stands in place of its grade's."""
    text = run(yard, "items").stdout
    stage = _row(text, "bronze-stage  7")
    assert "1.3 kN·m, 33 rad/s" in stage and "3 wheel" in stage and "flax-oil: holds 5 L, uses 0.3 mL/s" in stage
    assert "2 wheel" in _row(text, "bronze-stage  5/2")
    assert "bog-oak | bronze" in _row(text, "any-shaft")
    assert "70 N·m, 45 rad/s | 1.3 kN·m" in _row(text, "any-shaft")
    assert "3 : 5" in _row(text, "parter")
    assert "90 N·m, 300 W" in _row(text, "fuller")


def test_one_kind_alone_and_speeds_in_rpm(yard: Path) -> None:
    """8 rad/s is 8 · 60 / 2π = 76.39 turns a minute."""
    text = run(yard, "items", "--kind", "prime-mover", "--units", "rpm").stdout
    assert "900 N·m, 76.39 rpm" in text
    assert "bronze" not in text


def test_an_earlier_edition_is_not_offered(yard: Path) -> None:
    """It is there to say what changed, and nobody builds by it."""
    old = CATALOGUE.replace('"7"', '"6"')
    (yard / "quay-6.catalogue.yaml").write_text(old, "utf-8")
    new = CATALOGUE.replace('edition: "7"\n', 'edition: "7"\nearlier: {"6": quay-6.catalogue.yaml}\n')
    (yard / "quay.catalogue.yaml").write_text(new, "utf-8")
    text = run(yard, "items").stdout
    assert "edition 7" in text and "edition 6" not in text


def test_the_policy_says_which_catalogue_holds(yard: Path) -> None:
    """As in `check`: a site's catalogue stands in place of all others."""
    (yard / "site").mkdir()
    (yard / "site" / "own.catalogue.yaml").write_text(CATALOGUE.replace("Quay yard", "Own yard"), "utf-8")
    (yard / "lineshaft.policy.yaml").write_text("policy: 1\ncatalogue: site/own.catalogue.yaml\n", "utf-8")
    assert "Own yard" in run(yard, "items", "quay.rig.yaml").stdout
    assert "Quay yard" not in run(yard, "items").stdout


@pytest.mark.parametrize(
    ("named", "told"),
    [
        ("nothing.rig.yaml", "does not exist"),
        ("empty", "lineshaft new catalogue"),
        ("notes.txt", "neither a catalogue"),
        ("faulty.catalogue.yaml", "faulty.catalogue.yaml line 4"),
    ],
)
def test_what_cannot_be_shown_is_told_with_what_to_do(yard: Path, named: str, told: str) -> None:
    """Exit 2 and one sentence."""
    empty = yard / "away" / ".git"
    empty.mkdir(parents=True)
    (yard / "notes.txt").write_text("x", "utf-8")
    faulty = 'catalogue: 1\nedition: "7"\nitems:\n  w: {kind: prime-mover, output: {torque: 9, speed: 8 rad/s}}\n'
    (yard / "faulty.catalogue.yaml").write_text(faulty, "utf-8")
    ran = run(yard, "items", "away" if named == "empty" else named)
    assert ran.returncode == 2
    assert told in ran.stderr


def test_every_unit_is_listed_and_every_example_can_be_read() -> None:
    """The table comes from the list that the reader goes by; what it shows `for instance` is read by that reader."""
    text = run(ROOT, "units").stdout
    for kind, units in LISTED.items():
        if kind == "share":
            continue
        row = _row(text, f"{kind} ")
        for unit in units:
            assert unit.symbol in row
        assert isinstance(quantity(row.rpartition("  ")[2].strip(), kind), float), INTERNAL_UNIT[kind]
