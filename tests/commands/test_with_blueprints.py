"""The commands on one rig that places blueprints: tables, bills, lists and repairs; values by hand."""

import json
from pathlib import Path

import pytest

from lineshaft.cli import run

pytestmark = pytest.mark.usefixtures("wide_page")

CATALOGUE = """catalogue: 1
edition: "1"
lubricants: [flax-oil]
items:
  wheel: {kind: prime-mover, output: {torque: 150 N*m, speed: 8 rad/s}, made-of: {plank: 5}}
  stage:
    kind: gear-stage
    ratios: {5/2: {made-of: {gear: 3}}, 5: {made-of: {gear: 5}}}
    lubricant: {kind: flax-oil, holds: 6 L, uses: 1 mL/s}
  rod: {kind: shaft, torque-limit: 400 N*m, made-of: {plank: 1}}
  mill: {kind: driven-machine, needs: {torque: 20 N*m}}
components: {gear: {made-of: {iron: 4}, yields: 8}}
raw: {iron: {worth: 1}, plank: {worth: 2}}
"""
LEG = """blueprint: 1
catalogue: c.catalogue.yaml
takes: {ratio: {kind: ratio, default: 5/2}}
inlets: {in: {torque-up-to: 150 N*m, speed-up-to: 40 rad/s}}
parts:
  step: {item: stage, ratio: $ratio, set: increase, driven-by: in}
outlets: {out: step}
commissioning:
  - fill: {part: step, with: 5 L}
  - set: {part: step, to: increase}
"""
RIG = """rig: 1
catalogue: c.catalogue.yaml
parts:
  wheel: {item: wheel}
  one: {blueprint: leg.blueprint.yaml, driven-by: wheel}
  two: {blueprint: leg.blueprint.yaml, driven-by: one.out}
  mill: {item: mill, driven-by: two.out}
"""


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A wheel of 150 N*m, two legs in line and a mill: 24 N*m at 50 rad/s."""
    for name, text in {"c.catalogue": CATALOGUE, "leg.blueprint": LEG, "a.rig": RIG}.items():
        (tmp_path / f"{name}.yaml").write_text(text, "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def said(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str]:
    code = run(list(arguments))
    return code, capsys.readouterr().out


def test_a_chain_names_the_file_of_each_part(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The inner stage stands on line 6 of the blueprint; 150 / (5/2) / (5/2) = 24 N*m arrive."""
    code, text = said(capsys, "trace", "a.rig.yaml", "mill")
    assert code == 0
    assert [line.split()[0] for line in text.splitlines()[2:]] == ["wheel", "one/step", "two/step", "mill"]
    assert text.count("leg.blueprint.yaml line 6") == 2
    assert "24 N·m" in text.splitlines()[-1]


def test_a_bill_counts_every_use_and_rounds_once(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two stages of three gears: six gears are one making of eight, four iron; five planks: 4 + 10 = 14."""
    code, text = said(capsys, "bom", "a.rig.yaml", "--write", "json=-")
    document = json.loads(text)
    assert (code, document["worth"]) == (0, 14)
    assert {row["name"]: row["count"] for row in document["raw"]} == {"iron": 4, "plank": 5}


def test_a_proposed_list_adds_what_the_blueprints_do_not_bring(
    yard: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Neither fills nor sets twice; the written list then holds, and the check of the rig is clean."""
    assert run(["check", "a.rig.yaml"]) == 0
    code, text = said(capsys, "commission", "a.rig.yaml", "--apply")
    assert code == 0
    assert "2 steps, behind 4 that its blueprints bring" in text
    written = (yard / "a.rig.yaml").read_text("utf-8")
    assert written == RIG + "commissioning:\n  - couple: one/step\n  - start: wheel\n"
    code, text = said(capsys, "commission", "a.rig.yaml")
    assert (code, "The list holds" in text) == (0, True)
    assert run(["check", "--fail-on", "note", "a.rig.yaml"]) == 0


_CLUTCHED = """blueprint: 1
catalogue: c.catalogue.yaml
inlets: {in: {torque-up-to: 150 N*m, speed-up-to: 40 rad/s}}
parts:
  clutch: {item: clutch, engaged: false, driven-by: in}
  rod: {item: rod, driven-by: clutch}
outlets: {out: rod}
commissioning:
  - engage: clutch
"""


@pytest.mark.parametrize("limit", ["400 N*m", "90 N*m"])
def test_a_proposed_list_opens_what_is_declared_open(
    yard: Path, capsys: pytest.CaptureFixture[str], limit: str
) -> None:
    """The blueprint's own list closes its clutch: of a rod of 90 N·m that would break at 150, it is safe to open it."""
    clutch = "  clutch: {kind: clutch}\n  rod:"
    (yard / "c.catalogue.yaml").write_text(CATALOGUE.replace("400 N*m", limit).replace("  rod:", clutch), "utf-8")
    (yard / "leg.blueprint.yaml").write_text(_CLUTCHED, "utf-8")
    one = RIG.replace("  two: {blueprint: leg.blueprint.yaml, driven-by: one.out}\n", "").replace("two.out", "one.out")
    (yard / "a.rig.yaml").write_text(one, "utf-8")
    code, text = said(capsys, "commission", "a.rig.yaml", "--apply")
    assert (code, "No safe order exists" in text) == (0, False)
    steps = "commissioning:\n  - disengage: one/clutch\n  - couple: one/clutch\n  - start: wheel\n"
    assert (yard / "a.rig.yaml").read_text("utf-8").endswith(steps)
    code, text = said(capsys, "commission", "a.rig.yaml")
    assert (code, "The list holds" in text) == (0, True)


def test_without_a_list_of_the_rigs_own_the_blueprints_steps_still_count(
    yard: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Set and filled before all is started at once; without the `set` each stage turns the wrong way."""
    assert said(capsys, "check", "--fail-on", "note", "a.rig.yaml")[0] == 0
    (yard / "leg.blueprint.yaml").write_text(LEG.replace("  - set: {part: step, to: increase}\n", ""), "utf-8")
    code, text = said(capsys, "check", "--write", "json=-", "--fail-on", "warning", "a.rig.yaml")
    (finding,) = json.loads(text)["findings"]
    assert (code, finding["rule"], finding["file"]) == (1, "direction-before-commissioning", "leg.blueprint.yaml")
    assert finding["start"] == {"line": 6, "column": 43}
    assert [entry["part"] for entry in finding["because"]][-2:] == ["one", "two/step"]


def test_a_fault_in_a_blueprint_is_left_to_its_file(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No repair of the rig; the rigs that a change would touch are named. 150 * 5 = 750 N*m against 400 in the rod."""
    leg = LEG.replace("increase", "reduce")
    leg = leg.replace("outlets: {out: step}", "  rod: {item: rod, driven-by: step}\noutlets: {out: rod}")
    (yard / "leg.blueprint.yaml").write_text(leg.replace("default: 5/2", "default: 5"), "utf-8")
    (yard / "b.rig.yaml").write_text(RIG, "utf-8")
    code, text = said(capsys, "repair", "a.rig.yaml")
    assert code == 1
    joined = " ".join(text.split())
    assert "(torque-over-limit)" in joined
    assert "it stands in leg.blueprint.yaml, a shared one: `lineshaft repair leg.blueprint.yaml`" in joined
    assert "(used by a.rig.yaml, b.rig.yaml)" in joined


FIRST = "  first: {item: stage, ratio: 5, set: reduce, driven-by: wheel}\n"
FILL = "commissioning: [fill: {part: first, with: 6 L}, start: wheel]\n"
# 150 * 5 = 750 N*m: against 400 in a rod before the legs; or against a promise of 400, where 5/2 : 1 gives 375.
OF_THE_RIG = [
    ("  rod: {item: rod, driven-by: first}\n", "rod", 750, "torque-over-limit"),
    ("", "first, with: {ratio: 5}", 400, "inlet-promise-broken"),
]


@pytest.mark.parametrize(("rod", "driver", "promise", "rule"), OF_THE_RIG)
def test_a_fault_of_the_rig_is_still_repaired(
    yard: Path, capsys: pytest.CaptureFixture[str], rod: str, driver: str, promise: int, rule: str
) -> None:
    """In the rig's file alone, by the rig's own parts; the blueprint's file keeps every byte."""
    leg = LEG.replace("150 N*m", f"{promise} N*m")
    (yard / "leg.blueprint.yaml").write_text(leg, "utf-8")
    rig = RIG.replace("wheel}\n  two", f"{driver}}}\n  two").replace("  one:", f"{FIRST}{rod}  one:")
    (yard / "a.rig.yaml").write_text(rig + FILL, "utf-8")
    _, text = said(capsys, "check", "--write", "json=-", "a.rig.yaml")
    assert [f["rule"] for f in json.loads(text)["findings"] if f["level"] == "error"] == [rule]
    assert said(capsys, "repair", "a.rig.yaml", "--apply", "best")[0] == 0
    assert said(capsys, "check", "a.rig.yaml")[0] == 0
    assert (yard / "leg.blueprint.yaml").read_text("utf-8") == leg
