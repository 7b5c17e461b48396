"""``--units rpm`` rules all text and pictures for people; JSON and CSV stay SI. 8 rad/s are 8 · 30/π = 76.39 rpm."""

import csv
import json
from pathlib import Path

import pytest

from lineshaft.check.finding import Text, seconds, speed, times, torque
from lineshaft.cli import run
from lineshaft.write.shown_units import words

CATALOGUE = """catalogue: 1
name: Trial
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  rod: {kind: shaft, torque-limit: 700 N*m, speed-limit: 30 rad/s}
  mill:
    kind: driven-machine
    needs: {speed: 9 rad/s}
    work: {unit: sack, times: [[3 rad/s, 90 s], [13 rad/s, 40 s]], between: linear}
"""
RIG = """rig: 1
name: Trial
catalogue: t.catalogue.yaml
parts:
  wheel: {item: wheel}
  rod: {item: rod, driven-by: wheel}
  mill: {item: mill, driven-by: rod}
"""
FOR_PEOPLE = ("html", "markdown", "junit", "github", "gitlab", "sarif")


@pytest.fixture(autouse=True)
def _there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / ".git").mkdir()
    (tmp_path / "t.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (tmp_path / "t.rig.yaml").write_text(RIG, "utf-8")
    monkeypatch.chdir(tmp_path)


def _told(target: Path) -> str:
    """What a document says of the findings; of SARIF without the pages of the rules, which speak of both units."""
    text = target.read_text("utf-8")
    return text if target.suffix != ".sarif" else json.dumps(json.loads(text)["runs"][0]["results"])


@pytest.mark.parametrize("form", FOR_PEOPLE)
def test_what_people_read_of_a_check_is_in_their_units(tmp_path: Path, form: str) -> None:
    """Every writer for people shows the wheel's 8 rad/s as 76.39 rpm, and no speed in rad/s besides."""
    target = tmp_path / f"out.{form}"
    run(["check", "--no-cache", "--no-repairs", "t.rig.yaml", "--units", "rpm", "--write", f"{form}={target}"])
    text = _told(target)
    assert "76.39 rpm" in text
    assert "rad/s" not in text


@pytest.mark.parametrize("form", FOR_PEOPLE)
def test_without_the_option_they_are_si(tmp_path: Path, form: str) -> None:
    """The same files without --units."""
    target = tmp_path / f"out.{form}"
    run(["check", "--no-cache", "--no-repairs", "t.rig.yaml", "--write", f"{form}={target}"])
    text = _told(target)
    assert "8 rad/s" in text
    assert "rpm" not in text


def test_json_stays_si(capsys: pytest.CaptureFixture[str]) -> None:
    """Byte by byte the same document."""
    documents = []
    for units in ("si", "rpm"):
        run(["check", "--no-cache", "--no-repairs", "t.rig.yaml", "--units", units, "--write", "json=-"])
        documents.append(capsys.readouterr().out)
    assert documents[0] == documents[1]
    assert "rpm" not in documents[0]


def test_the_curve_of_a_machine_has_its_axis_in_turns_a_minute(tmp_path: Path) -> None:
    """The table goes from 3 to 13 rad/s, 28.65 to 124.1 rpm: marks up to 120 on an axis named in rpm."""
    target = tmp_path / "report.html"
    run(["check", "--no-cache", "--no-repairs", "t.rig.yaml", "--units", "rpm", "--write", f"html={target}"])
    text = target.read_text("utf-8")
    assert "speed [rpm]" in text
    assert ">120<" in text
    assert "stalled at 76.39 rpm" in text


def test_repair_speaks_in_the_units_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    """The mill gets 8 rad/s and needs 9, which is 85.94 rpm."""
    run(["repair", "t.rig.yaml", "--units", "rpm"])
    out = capsys.readouterr().out
    assert "gets 76.39 rpm and needs 85.94 rpm" in out
    assert "rad/s" not in out


def test_sweep_shows_text_and_curve_in_the_units_asked_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """From 6 to 33 rad/s is 57.3 to 315.1 rpm; the rod breaks past 30 rad/s, 286.5 rpm. CSV and JSON stay SI."""
    over = ["sweep", "t.rig.yaml", "--over", "wheel.speed=6rad/s..33rad/s", "--steps", "3"]
    files = {name: tmp_path / f"out.{name}" for name in ("svg", "csv", "json")}
    writes = [f"--write={name}={path}" for name, path in files.items()]
    assert run([*over, "--units", "rpm", *writes]) == 0
    out = capsys.readouterr().out
    assert "wheel.speed from 57.3 rpm to 315.1 rpm in 4 values; the rig has 76.39 rpm" in out
    assert "rad/s" not in out
    svg = files["svg"].read_text("utf-8")
    assert "wheel.speed [rpm]" in svg
    assert "as declared: 76" in svg
    assert "rad/s" not in svg
    rows = list(csv.DictReader(files["csv"].read_text("utf-8").splitlines()))
    assert (rows[0]["value"], rows[0]["unit"]) == ("6", "rad/s")
    document = json.loads(files["json"].read_text("utf-8"))
    assert document["values"] == [6, 15, 24, 33]
    assert "rpm" not in document["first"]


@pytest.mark.parametrize(
    "command",
    [
        ["trace", "t.rig.yaml"],
        ["size", "t.rig.yaml", "mill"],
        ["commission", "t.rig.yaml"],
        ["audit", "t.rig.yaml"],
        ["draw", "t.rig.yaml"],
    ],
    ids=lambda command: command[0],
)
def test_no_other_command_falls_back_to_radians(capsys: pytest.CaptureFixture[str], command: list[str]) -> None:
    """Whatever they say of speeds they say in rpm."""
    Path("t.rig.yaml").write_text(RIG + "readings:\n  - {at: rod, speed: 5 rad/s}\n", "utf-8")
    run([*command, "--units", "rpm"])
    shown = capsys.readouterr()
    assert "rad/s" not in shown.out + shown.err


@pytest.mark.parametrize(("text", "si", "rpm"), [
    (("turns at ", speed(9.0103), ", may turn at ", speed(9.01)), "turns at 9.0103 rad/s, may turn at 9.01 rad/s",
     "turns at 86.042 rpm, may turn at 86.039 rpm"),
    ((torque(900.02), " of ", torque(900.0), ": ", times(1.0000222), " times"),
     "900.02 N·m of 900 N·m: 1.00002 times", None),
    ((torque(900.0), " of ", torque(900.0), ": ", times(1.0), " times"), "900 N·m of 900 N·m: 1 times", None),
    ((torque(9e5), ", ", speed(9e5)), "900 kN·m, 900,000 rad/s", "900 kN·m, 8,594,367 rpm"),
    ((torque(1e3), " and ", torque(1e3 * (1 + 1e-12))), "1 kN·m and 1 kN·m", None),
    (("gets ", torque(71.23), " and ", torque(3.0)), "gets 71.23 N·m and 3 N·m", None),
    ((seconds(7_200.0), " and ", seconds(7_201.0)), "2 h and 2 h", None),
])  # fmt: skip
def test_numbers_that_differ_are_told_apart(text: Text, si: str, rpm: str | None) -> None:
    """Four figures, and more where two numbers of a message would be shown alike, or a number just over one as one."""
    assert words(text) == si
    assert rpm is None or words(text, "rpm") == rpm
