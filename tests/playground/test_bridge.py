"""What the page asks of lineshaft, asked here: the same verdicts as the command's, and figures at each part."""

import json
import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from typing import Any

import pytest
from command_runner import run

from lineshaft.api import Edit, apply_edits
from lineshaft.schema.text.span import Position, Span

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "sample_rigs"
DAY = "2026-11-25"
NAMES = ("overloaded-step.rig.yaml", "catalogues/tern-harbour.catalogue.yaml")
TEXTS = {name: (SAMPLES / name).read_text("utf-8") for name in NAMES}


@pytest.fixture
def bridge(monkeypatch: pytest.MonkeyPatch) -> Any:
    """The module, as the worker runs it."""
    monkeypatch.syspath_prepend(str(ROOT / "docs" / "playground" / "src"))
    spec = spec_from_file_location("bridge", ROOT / "docs" / "playground" / "src" / "bridge.py")
    assert spec is not None and spec.loader is not None
    module = module_from_spec(spec)
    monkeypatch.setitem(sys.modules, "bridge", module)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def ask(bridge: Any, tmp_path: Path) -> Any:
    """Puts a question as the worker does."""
    works = bridge.Works(tmp_path.resolve() / "works")

    def asked(operation: str, files: dict[str, str] = TEXTS, **arguments: object) -> Any:
        question = {"operation": operation, "files": files, "arguments": arguments}
        return json.loads(bridge.answered(works, json.dumps(question)))

    return asked


@pytest.mark.parametrize("repairs", [True, False])
def test_it_judges_as_the_command_does(ask: Any, repairs: bool, tmp_path: Path) -> None:
    """All files of the page, from their folder."""
    found = ask("judge", day=DAY, repairs=repairs)
    words = ["check", "--no-cache", "--date", DAY, "--write", "json=-", "."]
    ran = run(tmp_path / "works", *words, *(() if repairs else ("--no-repairs",)))
    assert found["document"] == json.loads(ran.stdout)
    assert found["code"] == ran.returncode == 1
    assert bool(found["document"]["findings"][0]["repairs"]) is repairs


def test_figures_stand_at_each_part(ask: Any) -> None:
    """By hand: 900 N·m at 8 rad/s, times 5/2 is 2.25 kN·m at 3.2 rad/s; of 1.2 kN·m 187.5 %, shown as 188 %."""
    shown = ask("show", name=NAMES[0], day=DAY)
    assert shown["drawing"].startswith("<svg") or shown["drawing"].startswith("<?xml")
    step = {part["name"]: part for part in shown["figures"]}["step"]
    assert (step["in"], step["out"], step["power"]) == ("900 N·m at 8 rad/s", "2.25 kN·m at 3.2 rad/s", "7.2 kW")
    assert step["limits"][0] == {"of": "torque", "limit": "1.2 kN·m", "share": "188 %", "over": True}
    line = TEXTS[NAMES[0]].splitlines()[step["start"]["line"] - 1]
    assert line[step["start"]["column"] - 1 : step["end"]["column"] - 1] == "step"


def test_what_changes_is_judged_anew(ask: Any) -> None:
    """Texts and whole files come and go between two questions."""
    assert ask("judge", day=DAY, repairs=False)["document"]["summary"]["errors"] == 1
    mended = {**TEXTS, NAMES[0]: TEXTS[NAMES[0]].replace("iron-stage", "steel-stage")}
    assert ask("judge", mended, day=DAY, repairs=False)["document"]["summary"]["errors"] == 0
    figures = {part["name"]: part for part in ask("show", mended, name=NAMES[0], day=DAY)["figures"]}
    assert figures["step"]["item"] == "steel-stage"
    alone = ask("judge", {NAMES[0]: TEXTS[NAMES[0]]}, day=DAY, repairs=False)["document"]["findings"]
    assert [finding["rule"] for finding in alone] == ["unknown-reference"]


def test_what_is_no_rig_has_nothing_to_draw(ask: Any) -> None:
    """A catalogue, and a rig that cannot be read."""
    shown = ask("show", name=NAMES[1], day=DAY)
    assert (shown["drawing"], shown["figures"], shown["offers"]["items"]) == ("", [], [])
    assert ask("show", {**TEXTS, NAMES[0]: "rig: ["}, name=NAMES[0], day=DAY)["drawing"] == ""


@pytest.mark.parametrize("name", ["../a.rig.yaml", "/a.rig.yaml", "a//b.rig.yaml", ".git/a.rig.yaml", "a\\b.rig.yaml"])
def test_a_name_never_leads_out(ask: Any, name: str) -> None:
    """Bundles and links come from anywhere."""
    with pytest.raises(ValueError, match="no name for a file here"):
        ask("judge", {name: "rig: 1\n"}, day=DAY, repairs=False)


def _made(text: str, edits: list[dict[str, Any]]) -> str:
    """The text with edits made."""
    spans = [Edit("", Span(*(Position(**edit[end]) for end in ("start", "end"))), edit["text"]) for edit in edits]
    return apply_edits(text, spans)


def test_what_a_rig_offers_to_build_with(ask: Any) -> None:
    """From the catalogue by hand: the ratios of the iron stage, grades where one is chosen, heads, inlets."""
    offers = ask("show", name=NAMES[0], day=DAY)["offers"]
    items = {item["name"]: item for item in offers["items"]}
    assert items["iron-stage"]["ratios"] == ["5/2", "3", "75/15", "96/16"]
    assert items["quay-shaft"]["grades"] == ["elm", "cast-iron", "forged-steel"]
    assert items["ebb-turbine"]["head"] and not items["creek-wheel"]["head"]
    assert (items["gatherer"]["inlets"], items["creek-wheel"]["inlets"], items["saw-frame"]["inlets"]) == (2, 0, 1)
    assert offers["drivers"] == []  # the roller ends the only line
    assert [part["name"] for part in offers["parts"]] == ["wheel", "lay", "step", "cross", "roller"]
    assert offers["parts"][2]["drivers"] == ["lay"]


def test_a_part_is_added_as_a_person_would_write_it(ask: Any) -> None:
    """On a line of its own behind the last, in the layout of that; what it leaves open is offered next."""
    text = TEXTS[NAMES[0]]
    north = ask("build", name=NAMES[0], part="north", settings={"item": "creek-wheel"}, way="add")["edits"]
    text = _made(text, north)
    files = {**TEXTS, NAMES[0]: text}
    assert ask("show", files, name=NAMES[0], day=DAY)["offers"]["drivers"] == ["north"]
    halves = {"outlets": "first, second", "weights": "1 : 1"}
    settings = {"item": "divider", "driven-by": "north", "ratio": "", **halves}
    text = _made(text, ask("build", files, name=NAMES[0], part="halve", settings=settings, way="add")["edits"])
    assert "\n  north:  {item: creek-wheel}\n  halve:  {item: divider, driven-by: north, shares: {first: 1" in text
    drivers = ask("show", {**TEXTS, NAMES[0]: text}, name=NAMES[0], day=DAY)["offers"]["drivers"]
    assert drivers == ["halve.first", "halve.second"]


def test_a_part_is_changed_in_its_settings_alone(ask: Any) -> None:
    """A stage becomes another, then a shaft, which has neither ratio nor direction; the rest of the line stays."""
    text = TEXTS[NAMES[0]]
    other = {"item": "steel-stage", "ratio": "3", "set": "reduce", "driven-by": "lay", "grade": ""}
    found = _made(text, ask("build", name=NAMES[0], part="step", settings=other, way="change")["edits"])
    assert "  step:   {item: steel-stage, ratio: 3, set: reduce, driven-by: lay}\n" in found
    shaft = {"item": "iron-shaft", "ratio": "", "set": "", "driven-by": "lay"}
    found = _made(text, ask("build", name=NAMES[0], part="step", settings=shaft, way="change")["edits"])
    assert "  step:   {item: iron-shaft, driven-by: lay}\n" in found


WORKS = "works.rig.yaml"
BLUEPRINT = "blueprints/stone-leg.blueprint.yaml"
RIG = """rig: 1
catalogue: catalogues/tern-harbour.catalogue.yaml
edition: "3.1"
parts:
  wheel: {item: creek-wheel}
  fan:   {item: three-divider, driven-by: wheel, shares: {stones: 3, saw: 5, yard: 7}}  # the yard most
  halve: {item: divider, driven-by: fan.yard, shares: {near: 2, far: 3}}
  leg:   {blueprint: blueprints/stone-leg.blueprint.yaml, driven-by: {drive: fan.stones}}
  other: {blueprint: blueprints/stone-leg.blueprint.yaml, driven-by: leg.on}
  saw:   {item: saw-frame, driven-by: fan.saw}
  pump:  {item: bilge-pump, driven-by: other.on}
"""


@pytest.fixture
def works(ask: Any) -> Any:
    """Asks about a rig with splitters and placed blueprints; `build` gives the text as edited, or what was said."""
    shared = {NAMES[1]: TEXTS[NAMES[1]], BLUEPRINT: (SAMPLES / BLUEPRINT).read_text("utf-8")}

    def asked(operation: str, text: str = RIG, **arguments: Any) -> Any:
        files = {WORKS: text, **shared}
        if operation == "offers":
            return ask("show", files, name=WORKS, day=DAY)["offers"]
        answer = ask("build", files, name=WORKS, **arguments)
        return answer.get("refused") or _made(text, answer["edits"])

    return asked


def _line(text: str, name: str) -> str:
    return next(line.strip() for line in text.splitlines() if line.strip().startswith(f"{name}:"))


def test_shares_of_a_splitter_are_changed(works: Any) -> None:
    """Any numbers where the item takes any, else a row that it comes in, in either order; all else stays."""
    offers = works("offers")
    parts = {part["name"]: part["shares"] for part in offers["parts"]}
    assert parts["fan"] == {"stones": "3", "saw": "5", "yard": "7"} and parts["pump"] == {}
    items = {item["name"]: item for item in offers["items"]}
    assert items["three-divider"]["shares"] == [] and items["three-divider"]["outlets"] == 3
    assert {"2 : 3", "3 : 2", "1 : 1"} < set(items["divider"]["shares"])
    settings = {"item": "three-divider", "driven-by": "wheel", "outlets": "stones, saw, yard", "weights": "3:10 :7.5"}
    found = works("build", part="fan", settings=settings, way="change")
    assert _line(found, "fan") == (
        "fan:   {item: three-divider, driven-by: wheel, shares: {stones: 3, saw: 10, yard: 7.5}}  # the yard most"
    )
    assert works("build", part="fan", settings={**settings, "weights": "3 : 5 : 7"}, way="change") == RIG


def test_an_outlet_of_a_splitter_gets_another_name_where_it_drives_nothing(works: Any) -> None:
    """One that drives something stays, or what it drives would hang on nothing."""
    settings = {"item": "divider", "driven-by": "fan.yard", "outlets": "near, barn", "weights": "3 : 2"}
    found = works("build", part="halve", settings=settings, way="change")
    assert _line(found, "halve") == "halve: {item: divider, driven-by: fan.yard, shares: {near: 3, barn: 2}}"
    renamed = {"item": "three-divider", "outlets": "stones, mill, yard", "weights": "3 : 5 : 7"}
    assert "fan.saw drives something" in works("build", part="fan", settings=renamed, way="change")
    shaft = {"item": "iron-shaft", "driven-by": "fan.yard", "outlets": "", "weights": ""}
    found = works("build", part="halve", settings=shaft, way="change")
    assert _line(found, "halve") == "halve: {item: iron-shaft, driven-by: fan.yard}"


@pytest.mark.parametrize(
    ("outlets", "weights", "words"),
    [("a, b", "3 : 5 : 7", "give 2 shares"), ("a, b", "3 : 0", "above 0"), ("a, a", "3 : 5", "name of its own")],
)
def test_shares_that_will_not_do_are_refused_in_words(works: Any, outlets: str, weights: str, words: str) -> None:
    """Nothing is written."""
    settings = {"item": "divider", "driven-by": "fan.yard", "outlets": outlets, "weights": weights}
    assert words in works("build", part="halve", settings=settings, way="change")


def test_outlets_of_a_placed_blueprint_drive_parts(works: Any) -> None:
    """By the names that the file gives them: those that are free are offered, and a part keeps the one it has."""
    offers = works("offers")
    assert offers["drivers"] == ["halve.far", "halve.near"]
    assert {part["name"]: part["drivers"] for part in offers["parts"]}["pump"] == ["other.on"]
    settings = {"item": "grindstone", "driven-by": "other.on"}
    found = works("build", part="pump", settings=settings, way="change")
    assert _line(found, "pump") == "pump:  {item: grindstone, driven-by: other.on}"
    alone = RIG[: RIG.index("  pump:")]
    assert works("offers", alone)["drivers"] == ["halve.far", "halve.near", "other.on"]
    added = works("build", alone, part="pump", settings={**settings, "item": "bilge-pump"}, way="add")
    assert added == RIG


def test_what_drives_a_placed_blueprint_is_changed(works: Any) -> None:
    """By inlet or plain, as the line has it; nothing at all, and something again."""
    placed = works("offers")["placed"]
    assert placed == [
        {"name": "leg", "inlets": [{"name": "drive", "driver": "fan.stones"}]},
        {"name": "other", "inlets": [{"name": "drive", "driver": "leg.on"}]},
    ]
    start = "{blueprint: blueprints/stone-leg.blueprint.yaml"
    found = works("build", part="leg", settings={"drive": "halve.near"}, way="feed")
    assert _line(found, "leg") == f"leg:   {start}, driven-by: {{drive: halve.near}}}}"
    found = works("build", part="other", settings={"drive": "halve.far"}, way="feed")
    assert _line(found, "other") == f"other: {start}, driven-by: halve.far}}"
    bare = works("build", part="other", settings={"drive": ""}, way="feed")
    assert _line(bare, "other") == f"other: {start}}}"
    assert works("offers", bare)["placed"][1]["inlets"] == [{"name": "drive", "driver": ""}]
    again = works("build", bare, part="other", settings={"drive": "leg.on"}, way="feed")
    assert _line(again, "other") == f"other: {start}, driven-by: {{drive: leg.on}}}}"
    assert works("build", part="leg", settings={"drive": "fan.stones"}, way="feed") == RIG
    assert "no blueprint saw" in works("build", part="saw", settings={}, way="feed")


@pytest.mark.parametrize(("part", "words"), [("step", "there is a part step already"), ("a b", "letters, digits")])
def test_a_name_that_will_not_do_is_refused_in_words(ask: Any, part: str, words: str) -> None:
    """Nothing is written."""
    assert words in ask("build", name=NAMES[0], part=part, settings={"item": "iron-shaft"}, way="add")["refused"]


def test_first_files_are_those_of_the_command(ask: Any, tmp_path: Path) -> None:
    """A catalogue, then a rig that uses it and holds; an earlier file is never written over."""
    name = "works.catalogue.yaml"
    text = ask("begin", {}, kind="catalogue", name=name)["text"]
    run(tmp_path, "new", "catalogue", name)
    assert text == (tmp_path / name).read_text("utf-8")
    rig = ask("begin", {name: text}, kind="rig", name="first.rig.yaml")["text"]
    assert ask("judge", {name: text, "first.rig.yaml": rig}, day=DAY, repairs=False)["code"] == 0
    assert "already" in ask("begin", {name: text}, kind="catalogue", name=name)["refused"]
    assert "no name" in ask("begin", {}, kind="rig", name="../a.rig.yaml")["refused"]
    assert ask("begin", {}, kind="rig", name="notes.txt")["refused"]
