"""What the page asks of lineshaft, asked here: the same verdicts as the command's, and figures at each part."""

import json
import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from typing import Any

import pytest
from command_runner import run

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "sample_rigs"
DAY = "2026-11-25"
NAMES = ("overloaded-step.rig.yaml", "catalogues/tern-harbour.catalogue.yaml")
TEXTS = {name: (SAMPLES / name).read_text("utf-8") for name in NAMES}


@pytest.fixture
def bridge(monkeypatch: pytest.MonkeyPatch) -> Any:
    """The module, as the worker runs it."""
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
    assert ask("show", name=NAMES[1], day=DAY) == {"drawing": "", "figures": []}
    assert ask("show", {**TEXTS, NAMES[0]: "rig: ["}, name=NAMES[0], day=DAY)["drawing"] == ""


@pytest.mark.parametrize("name", ["../a.rig.yaml", "/a.rig.yaml", "a//b.rig.yaml", ".git/a.rig.yaml", "a\\b.rig.yaml"])
def test_a_name_never_leads_out(ask: Any, name: str) -> None:
    """Bundles and links come from anywhere."""
    with pytest.raises(ValueError, match="no name for a file here"):
        ask("judge", {name: "rig: 1\n"}, day=DAY, repairs=False)
