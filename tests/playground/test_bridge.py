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
    north = ask("build", name=NAMES[0], part="north", settings={"item": "creek-wheel"}, new=True)["edits"]
    text = _made(text, north)
    files = {**TEXTS, NAMES[0]: text}
    assert ask("show", files, name=NAMES[0], day=DAY)["offers"]["drivers"] == ["north"]
    settings = {"item": "divider", "driven-by": "north", "shares": "{first: 1, second: 1}", "ratio": ""}
    text = _made(text, ask("build", files, name=NAMES[0], part="halve", settings=settings, new=True)["edits"])
    assert "\n  north:  {item: creek-wheel}\n  halve:  {item: divider, driven-by: north, shares: {first: 1" in text
    drivers = ask("show", {**TEXTS, NAMES[0]: text}, name=NAMES[0], day=DAY)["offers"]["drivers"]
    assert drivers == ["halve.first", "halve.second"]


def test_a_part_is_changed_in_its_settings_alone(ask: Any) -> None:
    """A stage becomes another, then a shaft, which has neither ratio nor direction; the rest of the line stays."""
    text = TEXTS[NAMES[0]]
    other = {"item": "steel-stage", "ratio": "3", "set": "reduce", "driven-by": "lay", "grade": ""}
    found = _made(text, ask("build", name=NAMES[0], part="step", settings=other, new=False)["edits"])
    assert "  step:   {item: steel-stage, ratio: 3, set: reduce, driven-by: lay}\n" in found
    shaft = {"item": "iron-shaft", "ratio": "", "set": "", "driven-by": "lay"}
    found = _made(text, ask("build", name=NAMES[0], part="step", settings=shaft, new=False)["edits"])
    assert "  step:   {item: iron-shaft, driven-by: lay}\n" in found


@pytest.mark.parametrize(("part", "words"), [("step", "there is a part step already"), ("a b", "letters, digits")])
def test_a_name_that_will_not_do_is_refused_in_words(ask: Any, part: str, words: str) -> None:
    """Nothing is written."""
    assert words in ask("build", name=NAMES[0], part=part, settings={"item": "iron-shaft"}, new=True)["refused"]


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
