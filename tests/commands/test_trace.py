"""`lineshaft trace`: the table, the chain with its running ratio, the lubricant accounts; values by hand."""

import csv
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from lineshaft.cli import run
from lineshaft.commands.trace import command

pytestmark = pytest.mark.usefixtures("wide_page")

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
AS_RUN: dict[str, Any] = {"help_option_names": ["-h", "--help"]}
"""What a command inherits from the group: click keeps its first option of help for the whole process."""


def _rows(*arguments: str) -> dict[str, str]:
    ran = CliRunner().invoke(command, list(arguments), standalone_mode=False, **AS_RUN)
    assert ran.exception is None
    return {line.split()[0]: line for line in ran.output.splitlines() if line.strip()}


def test_the_table_shows_what_leaves_each_part() -> None:
    """900 N·m at 8 rad/s is 7.2 kW; 5/2 increasing at 96 % gives 345.6 N·m at 20 rad/s, 6.912 kW; iron carries 75 %."""
    rows = _rows(str(SAMPLES / "small-saw.rig.yaml"))
    assert all(text in rows["wheel"] for text in ("900 N·m", "8 rad/s", "7.2 kW"))
    assert all(text in rows["step"] for text in ("345.6 N·m", "20 rad/s", "6.912 kW", "75 %"))


def test_the_chain_multiplies_the_ratios() -> None:
    """From the stage on the line is geared up 5/2; before it 1 : 1. 20 rad/s is 191 turns a minute."""
    rows = _rows(str(SAMPLES / "small-saw.rig.yaml"), "saw", "--units", "rpm")
    assert "1 : 1" in rows["lay"]
    assert "increases 5/2 : 1" in rows["saw"]
    assert "191 rpm" in rows["saw"]


def test_the_limit_that_counts_stands_with_its_value_and_a_bar() -> None:
    """What arrives at the stage counts, 900 of 1,200 N·m: 75 %, and 345.6 leave. Of the saw's limits torque counts:
    345.6 of 2,000 N·m are 17.28 %, and 20 of 120 rad/s are 16.67 %.
    """
    rows = _rows(str(SAMPLES / "small-saw.rig.yaml"))
    assert rows["step"].split("  ")[-2:] == ["torque 1.2 kN·m", "========.. 75 %"]
    assert "900 N·m  345.6 N·m   8 rad/s  20 rad/s" in rows["step"]
    assert rows["saw"].split("  ")[-2:] == ["torque 2 kN·m", "==........ 17.28 %"]
    assert rows["wheel"].rstrip().endswith("none")


def test_a_bar_beyond_the_limit_ends_in_an_arrow() -> None:
    """900 · 5/2 = 2,250 of 1,200 N·m are 187.5 %."""
    assert "=========> 187.5 %" in _rows(str(SAMPLES / "overloaded-step.rig.yaml"))["step"]


def test_branches_are_set_in_below_their_splitter(capsys: pytest.CaptureFixture[str]) -> None:
    """The wheel's line divides: the saw's line first, then the pump's, each with its first part marked."""
    assert run(["trace", str(SAMPLES / "slow-saw.rig.yaml")]) == 0
    rows = [line[:8].rstrip() for line in capsys.readouterr().out.splitlines()[2:]]
    assert rows == ["wheel", "divide", "- lay", "  saw", "- pump"]


def test_what_two_lines_drive_stands_once_and_the_second_names_it(capsys: pytest.CaptureFixture[str]) -> None:
    """Both wheels end in one combiner: its line follows the first, and the second says that it joins."""
    assert run(["trace", str(SAMPLES / "two-wheels.rig.yaml")]) == 0
    rows = [line.split() for line in capsys.readouterr().out.splitlines()[2:]]
    names = [row[1] if row[0] == "-" else row[0] for row in rows]
    (twice,) = {name for name in names if names.count(name) > 1}
    assert rows[-1] == [twice, "joins", "the", "line", "above"]
    assert len(names) == 11  # ten parts, one of them named again
    assert "900 N·m, 900 N·m  1.8 kN·m" in _rows(str(SAMPLES / "two-wheels.rig.yaml"), "first-saw")["gather"]


def test_the_chain_shows_the_outlet_of_a_splitter_that_leads_there() -> None:
    """900 N·m divided 2 : 3: 360 go to the saw, 540 to the pump; the tree shows both."""
    sample = str(SAMPLES / "slow-saw.rig.yaml")
    assert "360 N·m" in _rows(sample, "saw")["divide"]
    assert "2.88 kW" in _rows(sample, "saw")["divide"]
    assert "540 N·m" in _rows(sample, "pump")["divide"]
    assert "360 N·m, 540 N·m" in _rows(sample)["divide"]


def test_the_csv_has_each_outlet_in_si(tmp_path: Path) -> None:
    """2 : 3 of 900 N·m at 8 rad/s: 360 and 540; the iron shaft carries 360 of its 1,200."""
    file = tmp_path / "t.csv"
    assert run(["trace", str(SAMPLES / "slow-saw.rig.yaml"), "--write", f"csv={file}"]) == 0
    with file.open(encoding="utf-8", newline="") as opened:
        rows = {(row["part"], row["outlet"]): row for row in csv.DictReader(opened)}
    assert [rows["divide", outlet]["torque out"] for outlet in ("saw", "pump")] == ["360", "540"]
    lay = rows["lay", ""]
    assert (lay["limit of"], lay["limit"], lay["share"], lay["speed in"]) == ("torque", "1200", "0.3", "8")
    assert (rows["wheel", ""]["torque in"], rows["saw", ""]["torque out"]) == ("", "")


def test_lubricant_accounts() -> None:
    """3 mL/s made, 0.2 mL/s used; 1 L alone lasts 5,000 s, which is 1 h 23 min."""
    row = _rows(str(SAMPLES / "charged-press.rig.yaml"), "--lubricant")["flax"]
    assert all(text in row for text in ("1 L", "3 mL/s", "0.2 mL/s", "2.8 mL/s", "does not run dry", "1 h 23 min"))


def test_an_unknown_part_names_the_nearest() -> None:
    """`swa` is not there; `saw` is near."""
    ran = CliRunner().invoke(command, [str(SAMPLES / "small-saw.rig.yaml"), "swa"], standalone_mode=False, **AS_RUN)
    assert "did you mean saw?" in str(ran.exception)
