"""What a catalogue's values come to, by hand, and what is wrong with them: each fault at its place."""

from pathlib import Path

import pytest

from lineshaft.schema.loading import Loaded, Loader
from lineshaft.schema.model.catalogue import Catalogue, Output
from lineshaft.schema.text.fault import Fault
from lineshaft.schema.text.repository import Repository

HEAD = 'catalogue: 1\nedition: "1"\nlubricants: [flax-oil]\nitems:\n'
WHEEL = "wheel: {kind: prime-mover, output: {torque: 600 N*m, power: 1.8 kW}}"
MILL = "mill: {kind: driven-machine, work: {unit: sack, times: [[9 rad/s, 30 s], [%s, 7 s]], between: linear}%s}"


def read(folder: Path, *items: str, below: str = "") -> tuple[Catalogue | None, tuple[Fault, ...]]:
    """A catalogue whose items begin on line 5, in column 3."""
    root = folder.resolve()
    (root / "c.catalogue.yaml").write_text(HEAD + "".join(f"  {item}\n" for item in items) + below, "utf-8")
    return Loader(Repository(root, root)).catalogue(root / "c.catalogue.yaml")


def rig(folder: Path, *parts: str, items: tuple[str, ...], below: str = "") -> Loaded:
    """A rig whose parts begin on line 4, in column 3."""
    read(folder, *items)
    root = folder.resolve()
    text = "rig: 1\ncatalogue: c.catalogue.yaml\nparts:\n" + "".join(f"  {part}\n" for part in parts) + below
    (root / "a.rig.yaml").write_text(text, "utf-8")
    return Loader(Repository(root, root)).rig(root / "a.rig.yaml")


def test_a_power_and_a_torque_make_a_speed(tmp_path: Path) -> None:
    """P = T·ω: 1800 W at 600 N·m are 3 rad/s."""
    catalogue, faults = read(tmp_path, WHEEL)
    assert faults == ()
    assert catalogue is not None
    assert catalogue.items["wheel"].source == Output(pytest.approx(600), pytest.approx(3))


def test_a_raw_good_may_be_worth_nothing(tmp_path: Path) -> None:
    """Water that is there for the taking: 0, as where no worth is written."""
    catalogue, faults = read(tmp_path, WHEEL, below="raw: {water: {worth: 0}, clay: {}, bar: {worth: 0.7}}\n")
    assert faults == ()
    assert catalogue is not None
    assert dict(catalogue.raw) == {"water": 0, "clay": 0, "bar": 0.7}


# Columns by hand: two blanks and the item's text before.
BAD = [
    (
        "rod: {kind: shaft, section: {diameter: 50, allowable-shear: 41 MPa}}",
        ("bad-quantity", 42),
        "50 has no unit",
    ),
    (
        "rod: {kind: shaft, section: {diameter: 50 mm, allowable-shear: 41 mm}}",
        ("bad-quantity", 66),
        "mm",
    ),
    (MILL % ("7 rad/s", ""), ("bad-quantity", 58), "the speeds of a table must rise from row to row"),
    (
        MILL % ("11 rad/s", ", makes: {lubricant: flaxoil, amount: 30 mL}"),
        ("unknown-reference", 131),
        "there is no lubricant flaxoil; did you mean flax-oil?",
    ),
    (
        "sluice: {kind: prime-mover, table: {by: head, points: [[6 m, 900 N*m, 6 rad/s], [3 m, 700 N*m, 5 rad/s]]}}",
        ("bad-quantity", 57),
        "the heads of a table must rise from row to row",
    ),
]


@pytest.mark.parametrize(("item", "where", "words"), BAD)
def test_a_bad_value_is_told_once_at_its_place(tmp_path: Path, item: str, where: tuple[str, int], words: str) -> None:
    """On the item's line, and nothing follows from it."""
    _, (fault,) = read(tmp_path, item)
    assert (fault.rule, fault.span.start.column) == where
    assert fault.span.start.line == 5
    assert words in fault.message


def test_a_prime_mover_with_a_faulty_output_is_not_told_that_it_takes_no_head(tmp_path: Path) -> None:
    """What it takes is not known before its output is mended: only that is told."""
    bad = "ebb: {kind: prime-mover, output: {torque: 900, speed: 8 rad/s}}"
    loaded = rig(tmp_path, "ebb: {item: ebb, head: 3 m}", items=(bad,))
    assert [(fault.rule, fault.file) for fault in loaded.faults] == [("bad-quantity", "c.catalogue.yaml")]
    good = bad.replace("900", "900 N*m")
    assert [fault.rule for fault in rig(tmp_path, "ebb: {item: ebb, head: 3 m}", items=(good,)).faults] == [
        "not-offered"
    ]


FORK = "fork: {kind: splitter, shares: [[2, 3], [1, 1, 1]]}"


def test_a_splitter_of_two_or_three_outlets_takes_either_row_of_its_shares(tmp_path: Path) -> None:
    """3 : 2 and 1 : 1 : 1 are offered, 2 : 3 : 1 is not: told with both rows."""
    line = "fork: {item: fork, driven-by: wheel, shares: {%s}}"
    for shares in ("a: 3, b: 2", "a: 5, b: 5, c: 5"):
        assert rig(tmp_path, "wheel: {item: wheel}", line % shares, items=(WHEEL, FORK)).faults == ()
    (fault,) = rig(tmp_path, "wheel: {item: wheel}", line % "a: 2, b: 3, c: 1", items=(WHEEL, FORK)).faults
    assert (fault.rule, fault.span.start) == ("not-offered", (5, 48))
    assert fault.message == "fork does not share 2 : 3 : 1; it offers 2 : 3, 1 : 1 : 1"


def test_a_press_whose_item_is_not_there_is_told_once(tmp_path: Path) -> None:
    """Whether it makes the lubricant is not known before."""
    below = "lubrication: {oil: {lubricant: flax-oil, tank: {holds: 3 L}, supplied-by: press, feeds: [wheel]}}\n"
    parts = ("wheel: {item: wheel}", "press: {item: pres, driven-by: wheel}")
    (fault,) = rig(tmp_path, *parts, items=(WHEEL, MILL % ("11 rad/s", "")), below=below).faults
    assert (fault.rule, fault.span.start) == ("unknown-reference", (5, 17))
