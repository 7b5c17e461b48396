"""`lineshaft sweep`: table, CSV, JSON and curve; what is refused and what to write instead."""

import csv
import json
import shutil
from pathlib import Path
from xml.etree import ElementTree as ET

import jsonschema
import pytest

from lineshaft.cli import run

pytestmark = pytest.mark.usefixtures("wide_page")

ROOT = Path(__file__).resolve().parents[2]
LAGOON = "sample_rigs/lagoon.rig.yaml"


@pytest.fixture(autouse=True)
def _at_the_root(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)


def test_what_breaks_first_is_said_first(capsys: pytest.CaptureFixture[str]) -> None:
    """The pole of 90 N·m at 90·7·20 / (400·g) = 3.21211 m of head."""
    assert run(["sweep", LAGOON, "--over", "turbine.head=2m..12m"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[1] == "pole breaks first: its torque limit holds at 3.212 m and not at 3.213 m"
    assert any(line.split()[:3] == ["12", "m", "373.6"] for line in lines)


def test_what_is_over_from_the_start_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    """At 4 m the pole carries 400·g·4 / 20 / 7 = 112.1 N·m of its 90 already."""
    assert run(["sweep", LAGOON, "--over", "turbine.head=4m..12m"]) == 0
    assert capsys.readouterr().out.splitlines()[1] == "at 4 m already over a limit: pole (torque)"


def test_nothing_breaks_in_a_low_range(capsys: pytest.CaptureFixture[str]) -> None:
    """From 2 m to 3 m the pole carries 84.06 N·m at most, and the stone has its 40 N·m from the first value on."""
    assert run(["sweep", LAGOON, "--over", "turbine.head=2m..3m"]) == 0
    assert capsys.readouterr().out.splitlines()[1] == "nothing breaks from 2 m to 3 m"


def test_a_machine_that_starves_is_not_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    """The stone needs 40 N·m: 40·7·20 / (400·g) = 1.4276 m of head. Half of 900 N·m at 9 rad/s give no saw 10 rad/s."""
    assert run(["sweep", LAGOON, "--over", "turbine.head=1m..3m"]) == 0
    said = "at 1 m already short of what is needed: stone; stone gets what it needs from 1.428 m on"
    assert capsys.readouterr().out.splitlines()[1] == said
    assert run(["sweep", "sample_rigs/slow-saw.rig.yaml", "--over", "wheel.speed=4rad/s..9rad/s"]) == 0
    said = "from 4 rad/s to 9 rad/s short of what is needed: saw; nothing breaks"
    assert capsys.readouterr().out.splitlines()[1] == said


def test_a_ratio_goes_through_those_that_its_item_comes_in(capsys: pytest.CaptureFixture[str]) -> None:
    """The open stage comes in 5/2 and 3. At 5/2 the saw gets 900 / 2.5 · 0.96 / 2 = 172.8 N·m of the 150 that it needs,
    at 3 it gets 144: it starves at the second, with nothing in between.
    """
    rig = "sample_rigs/starved-saw.rig.yaml"
    for over in ("step.ratio", "step.ratio=2..7/2"):
        assert run(["sweep", rig, "--over", over, "--write", "json=-"]) == 0
        document = json.loads(capsys.readouterr().out)
        assert document["values"] == [2.5, 3]
        assert document["first"] == "saw starves first: it gets what it needs at 2.5 and not at 3"
    assert run(["sweep", rig, "--over", "step.ratio=3..4"]) == 2
    assert "comes in 5/2, 3: a sweep takes two of these or more" in capsys.readouterr().err


def test_what_breaks_between_values_without_a_solution_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two wheels of 900 N·m agree at 6 rad/s alone, and there the pump takes 1,800 N·m of 100."""
    (tmp_path / "c.catalogue.yaml").write_text(
        """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 6 rad/s}}
  gatherer: {kind: combiner, inlets: 2}
  pump: {kind: driven-machine, limits: {torque: 100 N*m}}
""",
        "utf-8",
    )
    rig = tmp_path / "two.rig.yaml"
    rig.write_text(
        """rig: 1
catalogue: c.catalogue.yaml
parts:
  one: {item: wheel}
  other: {item: wheel}
  gather: {item: gatherer, driven-by: [one, other]}
  pump: {item: pump, driven-by: gather}
""",
        "utf-8",
    )
    assert run(["sweep", str(rig), "--over", "one.speed=4rad/s..8rad/s", "--steps", "2"]) == 0
    wanted = "pump is over its torque limit at 6 rad/s; at 2 of 3 values not every part can be solved"
    assert capsys.readouterr().out.splitlines()[1] == wanted


def test_files_say_the_same(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The JSON and CSV hold the crossing and a row for each value; the curve is well-formed and described."""
    writes = [f"--write={name}={tmp_path / name}" for name in ("json", "csv", "svg")]
    assert run(["sweep", LAGOON, "--over", "turbine.head=2m..12m", "--steps", "2", *writes]) == 0
    document = json.loads((tmp_path / "json").read_text("utf-8"))
    assert document["values"] == [2, 7, 12]
    first = document["crossings"][0]
    assert (first["part"], first["holds"], first["fails"]) == ("pole", 3.212, 3.213)
    with (tmp_path / "csv").open(encoding="utf-8", newline="") as opened:
        rows = [row for row in csv.DictReader(opened) if row["part"] == "pole" and "torque" in row["what"]]
    assert [float(row["result"]) for row in rows] == pytest.approx([n * 9.80665 * 400 / 140 / 90 for n in (2, 7, 12)])
    page = ET.fromstring((tmp_path / "svg").read_bytes())
    assert "pole breaks first" in (page.findtext("{http://www.w3.org/2000/svg}desc") or "")


def test_the_json_fits_its_published_schema(capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    """What is written is what `lineshaft schema sweep` describes, and a stray key is refused."""
    assert run(["schema", "sweep"]) == 0
    schema = jsonschema.Draft202012Validator(json.loads(capfdbinary.readouterr().out))
    wheels = "sample_rigs/two-wheels.rig.yaml"
    for rig, over in ((LAGOON, "turbine.head=2m..12m"), (wheels, "north.speed=4rad/s..8rad/s"), (wheels, "step.ratio")):
        assert run(["sweep", rig, "--over", over, "--write", "json=-"]) == 0
        document = json.loads(capfdbinary.readouterr().out)
        schema.validate(document)
        assert not schema.is_valid({**document, "stray": 1})


@pytest.mark.parametrize(
    ("over", "said"),
    [
        ("turbine.head=2..12m", "2"),
        ("turbine.head=12m..2m", "write the smaller value first"),
        ("turbine.heat=2m..12m", "what can be swept: turbine.head"),
        ("turbin.head=2m..12m", "did you mean turbine?"),
        ("pole.head=2m..12m", "turbine.head"),
        ("turbine.head", "PART.SETTING=FROM..TO"),
        ("turbine.head=2kg..12m", "kg"),
    ],
)
def test_what_is_refused(over: str, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 2, and the message says what to write."""
    assert run(["sweep", LAGOON, "--over", over]) == 2
    assert said in capsys.readouterr().err


def test_outside_a_table_nothing_is_known(capsys: pytest.CaptureFixture[str]) -> None:
    """The ebb turbine's table goes from 2 m to 6 m."""
    rigs = sorted((ROOT / "sample_rigs").glob("*.rig.yaml"))
    path, lines = next((p, t.splitlines()) for p in rigs if "ebb-turbine" in (t := p.read_text("utf-8")))
    name = next(line.partition(":")[0].strip() for line in lines if "ebb-turbine" in line)
    assert run(["sweep", str(path), "--over", f"{name}.head=1m..6m"]) == 2
    assert "goes from 2 m to 6 m" in capsys.readouterr().err


def test_a_check_agrees_on_both_sides(tmp_path: Path) -> None:
    """With the head written into the rig itself, a check passes at 3.212 m and finds the pole over at 3.213 m."""
    shutil.copytree(ROOT / "sample_rigs" / "catalogues", tmp_path / "catalogues")
    rig = tmp_path / "a.rig.yaml"
    text = (ROOT / LAGOON).read_text("utf-8")
    assert "head: 2 m" in text
    for head, code in (("3.212 m", 0), ("3.213 m", 1)):
        rig.write_text(text.replace("head: 2 m", f"head: {head}"), "utf-8")
        assert run(["check", "--no-repairs", str(rig)]) == code


def test_what_holds_in_rpm_holds_at_the_rpm_that_are_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """9.0111 rad/s are 9.0111 · 30 / pi = 86.0497 rpm: 86.04 hold, 86.05 do not; JSON has 9.011 and 9.012."""
    head = 'catalogue: 1\nname: Tern Harbour works\nedition: "1"\nitems:\n'
    wheel = "  w: {kind: prime-mover, output: {torque: 700 N*m, speed: 9 rad/s}}\n"
    lay = "  lay: {kind: shaft, speed-limit: 9.0111 rad/s}\n"
    (tmp_path / "t.catalogue.yaml").write_text(head + wheel + lay, "utf-8")
    rig = tmp_path / "t.rig.yaml"
    parts = "{w: {item: w}, l: {item: lay, driven-by: w}}"
    rig.write_text(f"rig: 1\ncatalogue: t.catalogue.yaml\nparts: {parts}\n", "utf-8")
    over, found = ["sweep", str(rig), "--over", "w.speed=50rpm..120rpm"], tmp_path / "found.json"
    assert run([*over, "--units", "rpm", "--write", f"json={found}"]) == 0
    said = capsys.readouterr().out.splitlines()[1]
    assert said == "l breaks first: its speed limit holds at 86.04 rpm and not at 86.05 rpm"
    (crossing,) = json.loads(found.read_text("utf-8"))["crossings"]
    assert (crossing["holds"], crossing["fails"]) == (9.011, 9.012)
