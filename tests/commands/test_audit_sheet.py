"""The sheet of readings of `lineshaft audit`: printed, filled in by a spreadsheet, read back; by hand."""

import json
from pathlib import Path

import pytest
from command_runner import run

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
MILL, SAW = str(SAMPLES / "inherited-mill.rig.yaml"), str(SAMPLES / "small-saw.rig.yaml")


def test_a_sheet_lists_what_tells_something_with_room_for_what_is_read(tmp_path: Path) -> None:
    """Wheel 900 N·m at 8 rad/s, stage and saw 900 / 2.5 · 0.96 = 345.6 N·m at 20; shaft and clutch pass on alone."""
    ran = run(tmp_path, "audit", SAW, "--sheet")
    assert ran.returncode == 0, ran.stderr
    rows = [line for line in ran.stdout.splitlines() if line.startswith("| ")]
    assert rows[2:] == [
        "| wheel | 900 |  | 8 |  |",
        "| step | 345.6 |  | 20 |  |",
        "| saw | 345.6 |  | 20 |  |",
    ]
    assert "29 CFR 1910.147" in ran.stdout


def test_a_sheet_that_is_read_back_as_it_is_says_what_the_rig_says(tmp_path: Path) -> None:
    """What was read stands in it already: the same readings and explanations, in SI and by a sheet in rpm."""
    before = json.loads(run(tmp_path, "audit", MILL, "--write", "json=-").stdout)
    for units in ("si", "rpm"):
        assert run(tmp_path, "audit", MILL, "--sheet", "--units", units, "--write", "csv=s.csv").returncode == 0
        ran = run(tmp_path, "audit", MILL, "--readings", "s.csv", "--write", "json=-")
        assert ran.returncode == 1, ran.stderr
        after = json.loads(ran.stdout)
        taken = [
            sorted((one["at"], one["quantity"], round(one["read"], 6), one["tolerance"]) for one in found["readings"])
            for found in (before, after)
        ]
        assert taken[0] == taken[1]
        said, again = (
            [[d["message"] for d in one["deviations"]] for one in found["explanations"]] for found in (before, after)
        )
        assert said == again


def test_a_spreadsheet_of_another_tongue_is_read(tmp_path: Path) -> None:
    """Semicolons and decimal commas. Set to reduce, the stage gives 900 · 2.5 · 0.96 = 2,160 N·m at 3.2 rad/s, which is
    3.2 · 60 / 2π = 30.558 rpm.
    """
    rows = "At;Torque read [kN*m];Speed read [rpm]\r\nsaw;2,16;30,56\r\nstep;;\r\n"
    (tmp_path / "s.csv").write_text(rows, "utf-8-sig")
    ran = run(tmp_path, "audit", SAW, "--readings", "s.csv")
    assert ran.returncode == 1, ran.stderr
    assert "step is set to reduce, not to increase" in ran.stdout


def test_a_reading_of_the_sheet_counts_in_place_of_the_rigs(tmp_path: Path) -> None:
    """All five were read anew and are what is computed: nothing disagrees any more; a cell may have its own unit."""
    (tmp_path / "s.csv").write_text(
        "at,torque,speed\nlay,0.8 kN*m,14\nfan.stone,160,\nsaw,153.6,35\npole,61.44,35\npump,240,14\n", "utf-8"
    )
    ran = run(tmp_path, "audit", MILL, "--readings", "s.csv")
    assert ran.returncode == 0, ran.stdout
    assert "Every reading agrees" in ran.stdout


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("swa,150,\n", "row 2: there is no part swa; did you mean saw?"),
        ("saw,150,\nsaw,151,\n", "row 3: the place is read in row 2 already"),
        ("saw,150 kg,\n", "row 2: torque: "),
        (",150,\n", "row 2: says no place"),
        ("saw,,\n", "no row has a torque or a speed"),
        ("wheel.east,150,\n", "row 2: wheel has one outlet without a name"),
    ],
)
def test_what_is_wrong_is_told_by_its_row(tmp_path: Path, rows: str, said: str) -> None:
    """Exit 2, and nothing is audited."""
    (tmp_path / "s.csv").write_text("at,torque,speed\n" + rows, "utf-8")
    ran = run(tmp_path, "audit", SAW, "--readings", "s.csv")
    assert ran.returncode == 2
    assert said in ran.stderr
    assert ran.stdout == ""


def test_a_sheet_is_not_applied(tmp_path: Path) -> None:
    """Both together are a slip."""
    assert run(tmp_path, "audit", SAW, "--sheet", "--apply", "1").returncode == 2
    assert run(tmp_path, "audit", SAW, "--sheet", "--write", "json=-").returncode == 2
