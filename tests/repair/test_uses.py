"""What is wrong in a placed blueprint because of what feeds it is mended, and its machines are sized, in the rig."""

import json
from pathlib import Path
from typing import Any

import pytest

from lineshaft.cli import run

CATALOGUE = """catalogue: 1
name: Tern Harbour bench
edition: "1"
grades:
  iron: {torque-limit: 2.7 kN*m}
  steel: {torque-limit: 9 kN*m}
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  pole: {kind: shaft, torque-limit: 6 kN*m, made-of: {bar: 1}}
  iron-stage: {kind: gear-stage, grade: iron, ratios: {5/2: {made-of: {bar: 5}}, 3: {made-of: {bar: 6}}}}
  steel-stage: {kind: gear-stage, grade: steel, ratios: {3: {made-of: {bar: 14}}, 7: {made-of: {bar: 30}}}}
  divide: {kind: splitter, outlets: 2, shares: [[2, 3], [1, 1]], made-of: {bar: 3}}
  stone: {kind: driven-machine, needs: {torque: 1.9 kN*m, speed: 2 rad/s}}
  fan: {kind: driven-machine, needs: {torque: 90 N*m, speed: SLOWEST rad/s}}
raw: {bar: {worth: 1}}
"""
LEG = """blueprint: 1
name: Leg
catalogue: c.catalogue.yaml
inlets: {in: {torque-up-to: 2.8 kN*m, speed-up-to: 30 rad/s}}
parts:
  lay: {item: pole, driven-by: in}
  stock: {item: stone, driven-by: lay}
"""
RIG = """rig: 1
name: Two legs
catalogue: c.catalogue.yaml
edition: "1"
parts:
  wheel: {item: wheel}
  lay: {item: pole, driven-by: wheel}
  leg-a: {blueprint: leg.blueprint.yaml, driven-by: lay}
  other: {item: wheel}
  # the second leg
  leg-b:
    blueprint: leg.blueprint.yaml
    driven-by: {in: other}  # straight from it
"""
STEP = "{item: iron-stage, ratio: 5/2, set: reduce, driven-by: "


@pytest.fixture(autouse=True)
def _there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / ".git").mkdir()
    monkeypatch.chdir(tmp_path)
    _write()


def _write(rig: str = RIG, leg: str = LEG, slowest: str = "1.5") -> None:
    texts = {"c.catalogue": CATALOGUE.replace("SLOWEST", slowest), "leg.blueprint": leg, "a.rig": rig}
    for name, text in texts.items():
        Path(f"{name}.yaml").write_text(text, "utf-8")


def _rig() -> str:
    return Path("a.rig.yaml").read_text("utf-8")


def _sized(machine: str, *more: str, code: int = 0) -> dict[str, Any]:
    assert run(["size", "a.rig.yaml", machine, "--write", "json=size.json", *more]) == code
    found: dict[str, Any] = json.loads(Path("size.json").read_text("utf-8"))
    return found


def _told(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = 1) -> str:
    capsys.readouterr()
    assert run([*arguments]) == code
    return " ".join(capsys.readouterr().out.split())


def test_a_machine_in_a_use_is_sized_by_what_feeds_the_use() -> None:
    """900 N·m at 8 rad/s, 1,900 at 2 wanted: 5/2 gives 2,250 at 3.2, over by 350 and 1.2.

    3 : 1 gives the iron its limit, 2,700 N·m, and the leg no more than the promised 2,800: it is dearer and no better.
    """
    document = _sized("leg-b/stock")
    (chain,) = document["chains"]
    assert [(s["item"], s["ratio"], s["set"]) for s in chain["stages"]] == [("iron-stage", "5/2", "reduce")]
    assert (chain["repair"]["worth"], chain["parts_added"]) == (5, 1)
    assert {name: m["value"] for name, m in chain["gets"].items()} == pytest.approx(
        {"torque": 2250, "speed": 3.2, "power": 7200}
    )
    over = {name: m["value"] for name, m in chain["left_over"].items()}
    assert over == pytest.approx({"torque": 350, "speed": 1.2, "power": 7200 - 1900 * 2})
    assert document["from"] == "other"


def test_the_chain_is_written_where_the_rig_says_what_feeds_that_use() -> None:
    """The other use, the comments and the blueprint stay as they are; the finding of that use is gone."""
    leg = Path("leg.blueprint.yaml").read_bytes()
    _sized("leg-b/stock", "--apply", "1")
    assert _rig() == RIG.replace("{in: other}", "{in: leg-b-step}").replace(
        "  # the second leg\n", f"  leg-b-step: {STEP}other}}\n  # the second leg\n"
    )
    assert Path("leg.blueprint.yaml").read_bytes() == leg
    assert _sized("leg-b/stock")["chains"][0]["parts_added"] == 0


def test_a_stage_that_stands_before_the_use_is_changed() -> None:
    """A 7 : 1 gives 6,300 N·m at 1.14 rad/s: too slow, and over the promise. 5/2 in iron is 25 cheaper."""
    rig = RIG.replace("{in: other}", "{in: step}").replace(
        "  # the", "  step: {item: steel-stage, ratio: 7, set: reduce, driven-by: other}\n  # the"
    )
    _write(rig)
    (first, *_) = _sized("leg-b/stock", "--apply", "1")["chains"]
    assert (first["repair"]["worth"], first["parts_added"]) == (5 - 30, 0)
    assert _rig() == rig.replace("steel-stage, ratio: 7", "iron-stage, ratio: 5/2")


def test_another_machine_in_the_blueprint_is_seen(capsys: pytest.CaptureFixture[str]) -> None:
    """900 · 3/5 = 540 N·m reach the stock: 1,900 takes 3.52 : 1 at least; 2 rad/s of 8 take 4 : 1 at most. By hand.

    None of 5/2, 3 and 7 is between. A fan that wants 2.9 rad/s leaves 8 / 2.9 = 2.76 at most: its need and the stock's
    exclude each other.
    """
    leg = LEG.replace("in: {torque-up-to: 2.8", "in: {torque-up-to: 9").replace(
        "  stock: {item: stone, driven-by: lay}",
        "  cut: {item: divide, shares: {stock: 3, fan: 2}, driven-by: lay}\n"
        "  stock: {item: stone, driven-by: cut.stock}\n  fan: {item: fan, driven-by: cut.fan}",
    )
    _write(leg=leg, slowest="1.5")
    told = _told(capsys, "size", "a.rig.yaml", "leg-b/stock", "--stages", "1")
    assert "the speed must become 0.25 to 0.2842 times what it is" in told
    _write(leg=leg, slowest="2.9")
    told = _told(capsys, "size", "a.rig.yaml", "leg-b/stock")
    assert "its needs, those of what else the line leads to and the limits of the line exclude each other" in told
    assert "at least 0.3625 times what it is, and may become at most 0.2842 times" in told


def test_the_power_that_reaches_a_machine_inside_is_what_counts(capsys: pytest.CaptureFixture[str]) -> None:
    """2/5 of 7.2 kW are 2.88 kW; 1,900 N·m at 2 rad/s take 3.8 kW. By hand."""
    leg = LEG.replace(
        "  stock: {item: stone, driven-by: lay}",
        "  cut: {item: divide, shares: {stock: 2, fan: 3}, driven-by: lay}\n"
        "  stock: {item: stone, driven-by: cut.stock}\n  fan: {item: fan, driven-by: cut.fan}",
    )
    _write(leg=leg)
    told = _told(capsys, "size", "a.rig.yaml", "leg-b/stock")
    assert "900 N·m at 8 rad/s are 7.2 kW, of which 2.88 kW reach it, and 1.9 kN·m at 2 rad/s take 3.8 kW" in told


def test_each_use_has_its_repair_and_the_list_says_which(capsys: pytest.CaptureFixture[str]) -> None:
    """Either use is 1,000 N·m short and gets a stage of its own; a check names the use that it shows one for."""
    told = _told(capsys, "repair", "a.rig.yaml")
    assert "1 put iron-stage 5/2 : 1 reducing, behind lay as leg-a-step (mends machine-underdriven leg-a/stock)" in told
    assert (
        "2 put iron-stage 5/2 : 1 reducing, behind other as leg-b-step (mends machine-underdriven leg-b/stock)" in told
    )
    told = _told(capsys, "check", "a.rig.yaml")
    assert "put iron-stage 5/2 : 1 reducing, behind lay as leg-a-step, for leg-a/stock; cost 5 more" in told
    assert run(["repair", "a.rig.yaml", "--apply", "2"]) == 0
    assert "leg-a-step" not in _rig()
    assert "driven-by: {in: leg-b-step}" in _rig()


def test_uses_that_nothing_was_found_for_are_named(capsys: pytest.CaptureFixture[str]) -> None:
    """A wheel of a fifth of the torque drives the second leg: 180 N·m at 8 rad/s are 1.44 kW of the 3.8 it takes."""
    catalogue = Path("c.catalogue.yaml").read_text("utf-8")
    weak = "  weak: {kind: prime-mover, output: {torque: 180 N*m, speed: 8 rad/s}}\n  pole:"
    Path("c.catalogue.yaml").write_text(catalogue.replace("  pole:", weak), "utf-8")
    Path("a.rig.yaml").write_text(RIG.replace("other: {item: wheel}", "other: {item: weak}"), "utf-8")
    told = _told(capsys, "repair", "a.rig.yaml")
    assert "in a.rig.yaml as leg-b/stock, the worst of 2" in told
    assert "(mends machine-underdriven leg-a/stock)" in told
    assert "no proved repair: leg.blueprint.yaml does not have it when judged alone" in told
    Path("a.rig.yaml").write_text(
        RIG.replace("wheel: {item: wheel}", "wheel: {item: weak}")
        .replace(
            "other: {item: wheel}",
            "other: {item: wheel}\n  slow: {item: steel-stage, ratio: 7, set: increase, driven-by: other}",
        )
        .replace("{in: other}", "{in: slow}"),
        "utf-8",
    )
    told = _told(capsys, "repair", "a.rig.yaml")
    assert "in a.rig.yaml as leg-b/stock, the worst of 2" in told
    assert "no proved repair for leg-a/stock: leg.blueprint.yaml does not have it when judged alone" in told


def test_the_best_together_mends_both_uses(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing is left out, and the file holds."""
    assert run(["repair", "a.rig.yaml", "--apply", "best"]) == 0
    assert _rig().count(STEP) == 2
    assert _told(capsys, "check", "a.rig.yaml", code=0).endswith("0 errors, 0 warnings, 0 notes.")


def test_one_repair_above_both_uses_names_neither(capsys: pytest.CaptureFixture[str]) -> None:
    """1.8 kN·m at 8 rad/s halved: a stage above the splitter serves both legs for the worth of one.

    It carries 1,800 · 3 = 5,400 N·m, which takes steel, for 14; each leg gets 2,700 N·m at 2.67 rad/s.
    """
    rig = """rig: 1
catalogue: c.catalogue.yaml
parts:
  wheel: {item: wheel}
  more: {item: wheel}
  both: {item: gather, driven-by: [wheel, more]}
  halves: {item: divide, shares: {a: 1, b: 1}, driven-by: both}
  leg-a: {blueprint: leg.blueprint.yaml, driven-by: halves.a}
  leg-b: {blueprint: leg.blueprint.yaml, driven-by: halves.b}
"""
    _write(rig)
    catalogue = Path("c.catalogue.yaml")
    catalogue.write_text(
        catalogue.read_text("utf-8").replace(
            "  stone:", "  gather: {kind: combiner, inlets: 2, made-of: {bar: 9}}\n  stone:"
        ),
        "utf-8",
    )
    capsys.readouterr()
    assert run(["check", "a.rig.yaml", "--write", "json=-"]) == 1
    (finding,) = json.loads(capsys.readouterr().out)["findings"]
    titles = [repair["title"] for repair in finding["repairs"]]
    assert titles[0].endswith("as leg-a-step, for leg-a/stock")
    assert titles[1] == "put steel-stage 3 : 1 reducing, behind both as halves-step"


def test_a_fault_of_the_blueprint_itself_is_left_to_the_blueprint(capsys: pytest.CaptureFixture[str]) -> None:
    """A pole that carries more at the promised edge than it stands is no matter of what feeds it here."""
    _write(
        leg=LEG.replace("torque-up-to: 2.8 kN*m", "torque-up-to: 7 kN*m"),
        rig=RIG.replace("driven-by: lay", "driven-by: step").replace(
            "  leg-a:", "  step: {item: steel-stage, ratio: 7, set: reduce, driven-by: lay}\n  leg-a:"
        ),
    )
    told = _told(capsys, "repair", "a.rig.yaml")
    assert "it stands in leg.blueprint.yaml, a shared one" in told
