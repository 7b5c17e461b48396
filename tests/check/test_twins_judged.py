"""Twins judged: one that breaks its rule and one that holds are sound, all else is told in words."""

import json
import shutil
from pathlib import Path

import pytest

from lineshaft.check.rulebook import open_rulebook
from lineshaft.check.twins import judged_twins

BOOK = open_rulebook()
CATALOGUE = """\
catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  mill: {kind: driven-machine}
"""
HOLDS = "rig: 1\ncatalogue: ../works.catalogue.yaml\nparts:\n  w: {item: wheel}\n  m: {item: mill, driven-by: w}\n"
BREAKS = HOLDS + "  n: {item: mill}\n"
EXPECTED = [{"rule": "loose-end", "level": "warning", "part": "n", "line": 6, "values": {"power": 0.0}}]


def _faults(folder: Path) -> tuple[str, ...]:
    outcomes = {outcome.rule: outcome.faults for outcome in judged_twins(folder.resolve(), BOOK)}
    assert len(outcomes) > 20  # all rules of the distribution that one has a folder for
    return outcomes["loose-end"]


@pytest.fixture
def twins(tmp_path: Path) -> Path:
    """A folder with sound twins of one rule."""
    (tmp_path / ".git").mkdir()
    (tmp_path / "works.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    own = tmp_path / "loose-end"
    own.mkdir()
    (own / "breaks.rig.yaml").write_text(BREAKS, "utf-8")
    (own / "holds.rig.yaml").write_text(HOLDS, "utf-8")
    (own / "expected.json").write_text(json.dumps(EXPECTED), "utf-8")
    return tmp_path


def test_sound_twins_have_no_faults(twins: Path) -> None:
    """One breaks the rule as was written down, one holds; without what was written down it is as good."""
    assert _faults(twins) == ()
    (twins / "loose-end" / "expected.json").unlink()
    assert _faults(twins) == ()


def test_a_twin_that_is_not_there_is_told(twins: Path) -> None:
    """Each by its name; nobody's folder has no outcome at all."""
    (twins / "loose-end" / "breaks.rig.yaml").unlink()
    assert _faults(twins)[0] == "no failing twin: loose-end/breaks.rig.yaml is not there"
    (twins / "loose-end" / "breaks.rig.yaml").write_text(BREAKS, "utf-8")
    (twins / "loose-end" / "holds.rig.yaml").unlink()
    assert _faults(twins) == ("no sound twin: loose-end/holds.rig.yaml is not there",)
    shutil.rmtree(twins / "loose-end")
    assert judged_twins(twins, BOOK) == ()


def test_twins_that_are_the_wrong_way_round_are_told(twins: Path) -> None:
    """The one that is to break does not; the one that is to hold has a finding at line 6."""
    (twins / "loose-end" / "breaks.rig.yaml").write_text(HOLDS, "utf-8")
    (twins / "loose-end" / "holds.rig.yaml").write_text(BREAKS, "utf-8")
    found = _faults(twins)
    assert found[0] == "breaks.rig.yaml does not break it"
    assert found[-1] == "holds.rig.yaml does not hold: loose-end at line 6"


@pytest.mark.parametrize(
    "change",
    [
        {"level": "error"},
        {"part": "m"},
        {"line": 5},
        {"values": {"power": 7.0}},
        {"values": {}},
        {"values": {"torque": 0.0}},
    ],
)
def test_what_was_written_down_otherwise_is_told(twins: Path, change: dict[str, object]) -> None:
    """Level, part, line, and each value by name and size."""
    (twins / "loose-end" / "expected.json").write_text(json.dumps([EXPECTED[0] | change]), "utf-8")
    assert len(_faults(twins)) == 1


def test_values_agree_within_a_billionth(twins: Path) -> None:
    """900 N·m at 8 rad/s are 7,200 W that end at the wheel's fork: 7,200.000001 is as good, 7,201 is not."""
    fork = BREAKS.replace("  n: {item: mill}\n", "  f: {item: fork, shares: {a: 1, b: 1}}\n")
    (twins / "works.catalogue.yaml").write_text(CATALOGUE + "  fork: {kind: splitter, shares: any}\n", "utf-8")
    text = fork.replace("m: {item: mill, driven-by: w}", "m: {item: mill, driven-by: f.a}")
    (twins / "loose-end" / "breaks.rig.yaml").write_text(
        text.replace("f: {item: fork,", "f: {item: fork, driven-by: w,"), "utf-8"
    )
    for power, faults in ((3600.000001, 0), (3601.0, 1)):
        said = {"rule": "loose-end", "level": "warning", "part": "f", "line": 6, "values": {"power": power}}
        (twins / "loose-end" / "expected.json").write_text(json.dumps([said]), "utf-8")
        assert len(_faults(twins)) == faults
