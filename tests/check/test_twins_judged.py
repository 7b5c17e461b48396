"""Twins judged: one that breaks its rule and one that holds are sound, all else is told in words."""

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from lineshaft.check.finding import Measure, Reported, report
from lineshaft.check.rule import Rule
from lineshaft.check.rulebook import Rulebook, open_rulebook
from lineshaft.check.twins import judged_twins
from lineshaft.solve.solved_rig import SolvedRig

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


@pytest.mark.parametrize("twin", ["breaks", "holds"])
def test_a_twin_of_no_kind_that_is_judged_does_not_pass_in_silence(twins: Path, twin: str) -> None:
    """Its name is that of no file of ours, so that nothing would be found in it whatever it says."""
    (twins / "loose-end" / f"{twin}.sheet.yaml").write_text(BREAKS, "utf-8")
    assert _faults(twins) == (
        f"{twin}.sheet.yaml is not named like a file that is judged, {twin}.rig.yaml for instance",
    )


@pytest.mark.parametrize(
    ("text", "error"),
    [
        ("[", "JSONDecodeError"),
        ("7", "TypeError"),
        ("[{}]", "KeyError"),
        ('[{"rule": "loose-end", "line": "x", "part": "n", "level": "warning"}]', "ValueError"),
    ],
)
def test_what_is_written_down_in_no_form_is_told(twins: Path, text: str, error: str) -> None:
    """With what it has to be a list of."""
    (twins / "loose-end" / "expected.json").write_text(text, "utf-8")
    told = f"expected.json is no list of findings with rule, level, part and line ({error})"
    assert _faults(twins) == (told,)


def test_values_that_were_not_written_down_are_not_compared(twins: Path) -> None:
    """Place, part and level are."""
    said = {key: value for key, value in EXPECTED[0].items() if key != "values"}
    (twins / "loose-end" / "expected.json").write_text(json.dumps([said]), "utf-8")
    assert _faults(twins) == ()


@pytest.mark.parametrize(
    ("values", "sound"),
    [
        ({"torque": [900.0], "speed": [8.0], "relation": "all"}, True),
        ({"torque": [900.0], "speed": [8.0], "relation": "least"}, False),
        ({"torque": [900.0], "speed": [8.0, 8.0], "relation": "all"}, False),
        ({"torque": 900.0, "speed": [8.0], "relation": "all"}, False),
        ({"torque": [None], "speed": [8.0], "relation": "all"}, False),
        (["torque", "speed", "relation"], False),
    ],
)
def test_values_that_are_words_or_rows_are_compared_as_such(twins: Path, values: object, sound: bool) -> None:
    """A word is equal or not; rows have to be of one length. The wheel gives 900 N·m at 8 rad/s."""
    row = [("torque", Measure((900.0,), "N*m")), ("speed", Measure((8.0,), "rad/s")), ("relation", Measure("all", ""))]

    def check(rig: SolvedRig) -> Iterator[Reported]:
        yield report(rig.place(2), "n", ("is open",), row)

    book = Rulebook((Rule("loose-end", "warning", check),))
    said = [EXPECTED[0] | {"values": values}]
    (twins / "loose-end" / "expected.json").write_text(json.dumps(said), "utf-8")
    (twins / "loose-end" / "holds.rig.yaml").unlink()
    (outcome,) = judged_twins(twins.resolve(), book)
    no_holds = "no sound twin: loose-end/holds.rig.yaml is not there"
    assert outcome.faults[0] == no_holds and len(outcome.faults) == (1 if sound else 2)
