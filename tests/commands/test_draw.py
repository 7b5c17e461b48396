"""`lineshaft draw`: values by hand, every text a stranger's, the same bytes under any hash seed."""

import os
import re
import shutil
import subprocess
import sys
from dataclasses import replace
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from rig_maker import make_rig
from write.made_report_models import report_model_of
from write.made_runs import HOSTILE

from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.cli import run
from lineshaft.commands.one_rig import checker
from lineshaft.report_model.schematic import schematic
from lineshaft.schema.text.span import TOP
from lineshaft.write.drawing.film_page import film_page
from lineshaft.write.drawing.geometry import Box
from lineshaft.write.drawing.marks import Marks
from lineshaft.write.drawing.page import svg_page
from lineshaft.write.drawing.svg import laid_out

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
SVG = "{http://www.w3.org/2000/svg}"


def drawn(name: Path, folder: Path, *options: str) -> ET.Element:
    """The drawing of a rig file, parsed."""
    target = folder / "drawn.svg"
    assert run(["draw", str(name), "-o", str(target), *options]) == 0
    return ET.fromstring(target.read_bytes())


def texts_of_cards(page: ET.Element) -> dict[str, list[str]]:
    """The lines in each card, by the card's title."""
    return {str(card.findtext(f"{SVG}title")): texts(card) for card in page.iter(f"{SVG}g") if card.get("id")}


def texts(page: ET.Element) -> list[str]:
    """All lines of text in a drawing."""
    return ["".join(element.itertext()) for element in page.iter(f"{SVG}text")]


def test_loads_shares_and_findings(tmp_path: Path) -> None:
    """900 N·m reduced 5/2 is 2.25 kN·m at 3.2 rad/s, 7.2 kW; 2250 / 1200 is 1.875 times, in three figures 1.88."""
    page = drawn(SAMPLES / "overloaded-step.rig.yaml", tmp_path)
    shown = texts(page)
    loads = ("900 N·m", "8 rad/s", "7.2 kW", "2.25 kN·m", "3.2 rad/s")
    for line in (*loads, "iron-stage, reduces 5/2 : 1", "75 % of 1.2 kN·m"):
        assert line in shown
    step = texts_of_cards(page)["step: stage, reducing speed"]
    assert {"E1", "2.25 of 1.2 kN·m", "1.88×"} <= set(step)
    assert any(line.startswith("torque-over-limit at step: carries 2.25 kN·m") for line in shown)
    assert "Does not hold: 1 error" in shown


def test_who_hears_the_drawing_learns_the_same(tmp_path: Path) -> None:
    """The description names the parts with what they do and carry, and the findings by their numbers."""
    heard = drawn(SAMPLES / "overloaded-step.rig.yaml", tmp_path).findtext(f"{SVG}desc") or ""
    assert "step (iron-stage) reduces 5/2 : 1, filled with 6 L, 188 % of torque limit: OVER" in heard
    assert "E1: torque-over-limit at step: carries 2.25 kN·m, may carry 1.2 kN·m: 1.88 times." in heard


def test_the_bar_is_as_long_as_the_share(tmp_path: Path) -> None:
    """The limit stands at 88 of 132 px: a shaft at 75 % fills 66 px, a stage past it 88, hatched beyond."""
    page = drawn(SAMPLES / "overloaded-step.rig.yaml", tmp_path)
    bars = [element.get("width") for element in page.iter(f"{SVG}rect") if element.get("class") == "bar"]
    assert bars[:2] == ["66", "88"]
    cards = {card.findtext(f"{SVG}title"): card for card in page.iter(f"{SVG}g") if card.get("id")}
    hatched = [name for name, card in cards.items() if any(one.get("class") == "hatch" for one in card)]
    assert hatched == ["step: stage, reducing speed"]


def test_outlets_are_named_and_divided(tmp_path: Path) -> None:
    """Of 392.266 N·m a seventh goes to the stone (56.0 N·m), six sevenths to the saw (336 N·m)."""
    shown = texts(drawn(SAMPLES / "lagoon.rig.yaml", tmp_path))
    for line in ("stone", "saw", "divider, divides 1 : 6", "56 N·m", "336 N·m"):
        assert line in shown


@pytest.mark.parametrize("name", ["lagoon", "whole-works"])
def test_smallest_and_largest_sample(name: str, tmp_path: Path) -> None:
    """A card for each part, a line for each connection, a title, a description, and no text under 12 px."""
    page = drawn(SAMPLES / f"{name}.rig.yaml", tmp_path, "--whole")
    parts = (SAMPLES / f"{name}.rig.yaml").read_text("utf-8").count("{item:")
    assert len(texts_of_cards(page)) == parts
    assert sum(element.get("class", "").startswith("wire") for element in page.iter(f"{SVG}path")) == parts - 1
    assert page.get("role") == "img"
    assert page.get("aria-labelledby") == "drawing-title drawing-desc"
    style = page.findtext(f"{SVG}style") or ""
    sizes = re.findall(r"font(?:-size)?:([0-9.]+)px", style)
    assert min(float(size) for size in sizes) >= 12
    assert "prefers-color-scheme:dark" in style


@pytest.mark.parametrize("parts", [5, 150])
def test_legible_at_5_and_150_parts(parts: int, tmp_path: Path) -> None:
    """By the widest estimate of its text no label or card lies on another, and all text stays inside the page."""
    made = make_rig(7, parts)
    (tmp_path / made.catalogue).write_text(made.catalogue_text, "utf-8")
    (tmp_path / "a.rig.yaml").write_text(made.text, "utf-8")
    drawing = laid_out(schematic(checker().solved(tmp_path / "a.rig.yaml")), Marks({}))
    boxes = [*drawing.places.boxes, *drawing.places.labels]
    assert len(boxes) == parts + len(drawing.labels)
    assert [1 for one, other in combinations(boxes, 2) if _overlap(one, other)] == []


def _overlap(one: Box, other: Box) -> bool:
    across = min(one.left + one.width, other.left + other.width) - max(one.left, other.left)
    return across > 0.1 and min(one.top + one.height, other.top + other.height) - max(one.top, other.top) > 0.1


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_a_strangers_text_stays_text(text: str) -> None:
    """Whatever stands in names, labels, outlets and messages: well-formed XML, no element and no control of theirs."""
    made = report_model_of(text)
    finding = JudgedFinding("torque-over-limit", "error", text, TOP, ("lubrication", text), text, (text,))
    findings = (finding, replace(finding, level="note"), replace(finding, route=("commissioning", 0)))
    for raw in (svg_page(made.schematic, findings), film_page(made.schematic, made.checklist, findings, "si", None)):
        assert_harmless(raw)


def assert_harmless(raw: bytes) -> None:
    """Well-formed, nothing but our elements, nothing that a terminal, a browser or a runner obeys."""
    page = ET.fromstring(raw)
    known = {"svg", "title", "desc", "style", "rect", "g", "path", "text"}
    assert {element.tag.removeprefix(SVG) for element in page.iter()} <= known
    shown = raw.decode("utf-8")
    assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ufffe\uffff]", shown)
    assert "::error" not in shown
    assert "##[" not in shown


def test_no_two_bytes_differ() -> None:
    """Under three hash seeds the largest sample gives the same drawing."""
    outputs = set()
    for seed in ("0", "1", "4711"):
        command = [sys.executable, "-P", "-m", "lineshaft", "draw", "sample_rigs/whole-works.rig.yaml"]
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        ran = subprocess.run(command, cwd=SAMPLES.parent, env=environment, capture_output=True, check=True, timeout=60)
        outputs.add(ran.stdout)
    assert len(outputs) == 1


def test_a_finding_at_a_blueprint_is_marked_at_its_first_part(tmp_path: Path) -> None:
    """The promise of `leg` is broken: the mark stands in the card of leg/divide, the first part of the blueprint."""
    page = drawn(SAMPLES / "broken-promise.rig.yaml", tmp_path)
    assert {"E1", "leg: 1.2 of 1 kN·m", "promised"} <= set(texts_of_cards(page)["leg/divide: splitter"])


def test_waived_findings_are_marked_as_waived(tmp_path: Path) -> None:
    """A waiver up to twice the limit covers 1.875 times until its day, and not the day after."""
    text = (SAMPLES / "overloaded-step.rig.yaml").read_text("utf-8")
    why = "waivers: [{rule: torque-over-limit, part: step, up-to: 2, reason: test, until: 2027-03-31}]\n"
    shutil.copytree(SAMPLES / "catalogues", tmp_path / "catalogues")
    rig = tmp_path / "a.rig.yaml"
    rig.write_text(text + why, "utf-8")
    for day, mark in (("2027-03-31", "E1 waived"), ("2027-04-01", "E1")):
        target = tmp_path / "a.svg"
        assert run(["draw", str(rig), "-o", str(target), "--date", day]) == 0
        assert mark in texts(ET.fromstring(target.read_bytes()))


def test_unsolved_parts_are_drawn_and_said(tmp_path: Path) -> None:
    """Below a combiner whose inlets disagree nothing is solved: dashed cards that say so."""
    page = drawn(SAMPLES / "unequal-wheels.rig.yaml", tmp_path)
    assert "not solved" in texts(page)
    assert any("unsolved" in element.get("class", "") for element in page.iter(f"{SVG}rect"))


def test_only_the_paths_to_a_part(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """To the press lead six parts; a part that is not there is refused, and the nearest name told."""
    page = drawn(SAMPLES / "whole-works.rig.yaml", tmp_path, "--only", "press")
    assert len(texts_of_cards(page)) == 7
    assert "Only the paths to press are drawn." in texts(page)
    assert run(["draw", str(SAMPLES / "whole-works.rig.yaml"), "--only", "pres", "-o", str(tmp_path / "a.svg")]) == 2
    assert "did you mean press?" in capsys.readouterr().err


def test_a_large_rig_folds_unless_it_is_wanted_whole(tmp_path: Path) -> None:
    """Of 38 parts 15 are like others: 23 cards that say so; with --whole 38."""
    page = drawn(SAMPLES / "whole-works.rig.yaml", tmp_path)
    assert len(texts_of_cards(page)) == 23
    assert any(line.startswith("15 of 38 parts are folded") for line in texts(page))
    assert "× 4 alike: stone-b," in texts(page)
    assert len(texts_of_cards(drawn(SAMPLES / "whole-works.rig.yaml", tmp_path, "--whole"))) == 38


def test_where_it_cannot_write(capsys: pytest.CaptureFixture[str]) -> None:
    """A folder that is not there: exit 2 and the path."""
    assert run(["draw", str(SAMPLES / "lagoon.rig.yaml"), "-o", "none/there/a.svg"]) == 2
    assert "cannot write none/there/a.svg" in capsys.readouterr().err


def test_the_readmes_drawing_is_what_the_program_draws(
    capfdbinary: pytest.CaptureFixture[bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The committed drawing is what the README's command writes today."""
    monkeypatch.chdir(SAMPLES.parent)
    assert run(["draw", "sample_rigs/overloaded-step.rig.yaml", "--date", "2026-11-25"]) == 0
    assert capfdbinary.readouterr().out == (SAMPLES.parent / "docs" / "overloaded-step.svg").read_bytes()
