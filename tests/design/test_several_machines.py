"""Several machines and prime movers: by hand, and each design by the independent solver."""

import json
import sys
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from command_runner import run

from lineshaft.schema.validation.schemas import schema_text

_ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(_ROOT / "tests"))

_CATALOGUE = """\
catalogue: 1
name: Shop
edition: "1"
lubricants: [oil]
grades: {iron: {torque-limit: 1100 N*m, speed-limit: 300 rad/s}}
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  small: {kind: prime-mover, output: {torque: 300 N*m, speed: 20 rad/s}}
  dry: {kind: gear-stage, grade: iron, ratios: {5/2: {made-of: {bar: 3}}}}
  wet: {kind: gear-stage, grade: iron, ratios: {5: {made-of: {bar: 7}}},
    lubricant: {kind: oil, holds: 3 L, uses: 0.1 mL/s}}
  fork: {kind: splitter, outlets: 2, shares: any, made-of: {bar: 5}}
  yoke: {kind: combiner, inlets: 2, made-of: {bar: 5}}
  mill: {kind: driven-machine, needs: {torque: 150 N*m, speed: 10 rad/s}}
  lathe: {kind: driven-machine, needs: {torque: 70 N*m, speed: 18 rad/s}}
  crusher: {kind: driven-machine, needs: {torque: 600 N*m, speed: 15 rad/s}}
raw: {bar: {worth: 1.5}}
"""
_HEAD = "rig: 1\nname: Trial\ncatalogue: shop.catalogue.yaml\nparts:\n"


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    (tmp_path / "shop.catalogue.yaml").write_text(_CATALOGUE)
    return tmp_path


def _designs(yard: Path, parts: str, *more: str) -> dict[str, Any]:
    (yard / "trial.rig.yaml").write_text(_HEAD + parts)
    ran = run(yard, "design", "trial.rig.yaml", "--write", "json=-", *more)
    assert ran.returncode in (0, 1), ran.stderr
    document: dict[str, Any] = json.loads(ran.stdout)
    jsonschema.Draft202012Validator(json.loads(schema_text("design"))).validate(document)
    return document


def test_one_gear_before_the_splitter_serves_two_machines(yard: Path) -> None:
    """One stage of 5/2 before the fork brings 20 rad/s and 360 N*m: 150 and 70 are wanted. 3 + 5 bars, 12 in worth.

    A fork first would take a stage on each outlet: 3 + 3 + 5 bars, 16.5.
    """
    found = _designs(yard, "  wheel: {item: wheel}\n  mill: {item: mill}\n  lathe: {item: lathe}\n")
    assert [one["repair"]["worth"] for one in found["designs"]] == [12]
    assert found["designs"][0]["parts_added"] == 2 and found["complete"] is True


def test_two_prime_movers_are_combined_where_one_is_not_enough(yard: Path) -> None:
    """The crusher takes 600 * 15 = 9 kW; the wheel has 7.2 and the small one 6. Geared to one speed they have 13.2.

    The wheel up by 5/2 turns at 20 rad/s as the small one does: 360 + 300 = 660 N*m. A stage and a yoke: 3 + 5 bars.
    """
    found = _designs(yard, "  wheel: {item: wheel}\n  aid: {item: small}\n  crusher: {item: crusher}\n")
    assert [one["repair"]["worth"] for one in found["designs"]] == [12]
    text = found["designs"][0]["text"]
    assert "{item: yoke, driven-by: [" in text


def test_each_machine_hangs_on_what_serves_it_for_least(yard: Path) -> None:
    """The lathe turns at 20 rad/s on the small one without a stage; the mill needs one on the wheel: 3 bars, 4.5."""
    parts = "  wheel: {item: wheel}\n  aid: {item: small}\n  mill: {item: mill}\n  lathe: {item: lathe}\n"
    found = _designs(yard, parts)
    least = found["designs"][0]
    # The mill on the small one with a fork: 5 bars, 7.5 in worth, is dearer and no part less.
    assert least["repair"]["worth"] == 4.5 and least["parts_added"] == 1
    assert "lathe: {item: lathe, driven-by: aid}" in least["text"]


def test_what_is_connected_stays_as_it_is(yard: Path) -> None:
    """A fork with a free outlet is where the new machine goes; the lines of what stands are not touched."""
    parts = (
        "  wheel: {item: wheel}\n  step: {item: dry, ratio: 5/2, set: increase, driven-by: wheel}\n"
        "  fork: {item: fork, shares: {a: 3, b: 5}, driven-by: step}\n  lathe: {item: lathe, driven-by: fork.a}\n"
        "  mill: {item: mill}\ncommissioning:\n  - set: {part: step, to: increase}\n  - start: wheel\n"
    )
    found = _designs(yard, parts)
    assert [one["parts_added"] for one in found["designs"]] == [0]
    text = found["designs"][0]["text"]
    assert text == _HEAD + parts.replace("mill: {item: mill}", "mill: {item: mill, driven-by: fork.b}")


def test_every_design_is_clean_and_its_list_holds(yard: Path) -> None:
    """Applied one by one, each passes `check` with notes only, and `commission` finds that its list holds."""
    parts = "  wheel: {item: wheel}\n  aid: {item: small}\n  mill: {item: mill}\n  lathe: {item: lathe}\n"
    for number, _ in enumerate(_designs(yard, parts)["designs"], 1):
        (yard / "trial.rig.yaml").write_text(_HEAD + parts)
        assert run(yard, "design", "trial.rig.yaml", "--apply", str(number)).returncode == 0
        assert run(yard, "check", "trial.rig.yaml", "--fail-on", "warning", "--no-cache").returncode == 0
        assert "The list holds" in run(yard, "commission", "trial.rig.yaml").stdout


def test_what_cannot_be_served_is_said(yard: Path) -> None:
    """600 N*m at 15 rad/s from the wheel: 9 kW of the 7.2 that there are."""
    found = _designs(yard, "  wheel: {item: wheel}\n  crusher: {item: crusher}\n  mill: {item: mill}\n")
    assert found["designs"] == [] and "is lacking" in found["no_design"]


def test_more_machines_than_the_bound_are_told_so(yard: Path) -> None:
    """Twelve machines: it stopped at its bound, exit 1, and no claim that there is none."""
    parts = "  wheel: {item: wheel}\n" + "".join(f"  m{n}: {{item: lathe}}\n" for n in range(12))
    found = _designs(yard, parts)
    assert found["complete"] is False and "stopped at its bound" in found["no_design"] and "12" in found["no_design"]


def test_a_fill_that_does_not_last_becomes_a_circuit_with_a_charge(yard: Path) -> None:
    """3 L at 0.1 mL/s last 8 h 20 min; the policy wants 9 h, which takes 3.24 L: a tank with 4 L feeds the stage."""
    (yard / "lineshaft.policy.yaml").write_text("policy: 1\nrun-dry-after: 9 h\n")
    (yard / "shop.catalogue.yaml").write_text(_CATALOGUE.replace("  dry: ", "  # dry: "))
    texts = [one["text"] for one in _designs(yard, "  wheel: {item: wheel}\n  lathe: {item: lathe}\n")["designs"]]
    assert len(texts) == 1 and "item: wet" in texts[0]
    assert "charge: 4 L" in texts[0] and "feeds: [lathe-step]" in texts[0] and "fill:" not in texts[0]


def test_anew_takes_out_what_stands_between_and_nothing_else(yard: Path) -> None:
    """Two stages and a shaft where one stage does; comments, the machine's target and the file's head stay."""
    parts = (
        "  wheel: {item: wheel}   # by the creek\n"
        "  one: {item: wet, ratio: 5, set: increase, driven-by: wheel}\n"
        "  two: {item: dry, ratio: 5/2, set: reduce, driven-by: one}\n  mill: {item: mill, driven-by: two}  # grinds\n"
        "commissioning:\n  - fill: {part: one, with: 3 L}\n  - set: {part: one, to: increase}\n  - start: wheel\n"
    )
    (yard / "trial.rig.yaml").write_text(_HEAD + parts)
    plain = run(yard, "design", "trial.rig.yaml")
    assert plain.returncode == 2 and "unless with --anew" in plain.stderr
    assert run(yard, "design", "trial.rig.yaml", "--anew", "--apply", "1").returncode == 0
    text = (yard / "trial.rig.yaml").read_text()
    assert "# by the creek" in text and "# grinds" in text and "item: wet" not in text
    assert text.count("item: dry") == 1
    assert run(yard, "check", "trial.rig.yaml", "--fail-on", "warning", "--no-cache").returncode == 0


def test_edits_of_a_design_made_anew_are_those_of_the_file_as_it_is(yard: Path) -> None:
    """Whoever makes the edits of the JSON in the file gets the text of the JSON."""
    parts = (
        "  wheel: {item: wheel}\n  one: {item: wet, ratio: 5, set: increase, driven-by: wheel}\n"
        "  mill: {item: mill, driven-by: one}\n"
    )
    found = _designs(yard, parts, "--anew")
    lines = (_HEAD + parts).splitlines(keepends=True)
    design = found["designs"][0]
    for edit in reversed(design["repair"]["edits"]):
        assert edit["start"]["column"] == edit["end"]["column"] == 1
        lines[edit["start"]["line"] - 1 : edit["end"]["line"] - 1] = [edit["text"]]
    assert "".join(lines) == design["text"]


def test_explain_says_how_much_more_power_and_head_would_do(yard: Path) -> None:
    """A turbine of 1 m^3/s and 50 %: 4,903 W a metre, at 30 rad/s. The mill's 150 N*m at 10 rad/s are 1.5 kW.

    At 0.2 m there are 980.665 W. By 5/2 down it turns at 12 rad/s: 150 / 2.5 = 60 N*m at 30 rad/s, 1.8 kW: 819.335 W
    more, of which 819.3 would not do and 819.4 do; or 1,800 / 4,903 = 0.367 m of head, 0.37 m on a level.
    """
    catalogue = yard / "shop.catalogue.yaml"
    turbine = "  turbine: {kind: prime-mover, hydraulic: {flow: 1 m^3/s, efficiency: 50 %, speed: 30 rad/s}}\n"
    catalogue.write_text(_CATALOGUE.replace("  small:", turbine + "  small:"))
    (yard / "trial.rig.yaml").write_text(_HEAD + "  tide: {item: turbine, head: 0.2 m}\n  mill: {item: mill}\n")
    ran = run(yard, "design", "trial.rig.yaml", "--explain", "mill")
    said = " ".join(ran.stdout.split())
    assert ran.returncode == 1
    assert "mill needs at least 1.5 kW, and 980.7 W is free" in said
    assert "819.4 W more at the same speed would do" in said
    assert "A head of 0.37 m at tide would do; it has 0.2 m" in said


def test_explain_names_the_ratio_that_is_lacking(yard: Path) -> None:
    """18 rad/s of the 8 are wanted, and 900 / 70 allow 102.9: without a stage, at least 2.25 : 1 is lacking."""
    text = _CATALOGUE.replace("ratios: {5/2: {made-of: {bar: 3}}}", "ratios: {17: {made-of: {bar: 3}}}")
    (yard / "shop.catalogue.yaml").write_text(text.replace("ratios: {5: ", "ratios: {19: "))
    (yard / "trial.rig.yaml").write_text(_HEAD + "  wheel: {item: wheel}\n  lathe: {item: lathe}\n")
    ran = run(yard, "design", "trial.rig.yaml", "--explain", "lathe")
    assert ran.returncode == 1 and "2.25" in ran.stdout


def test_explain_of_a_machine_that_can_be_served_says_by_what(yard: Path) -> None:
    """Exit 0."""
    (yard / "trial.rig.yaml").write_text(_HEAD + "  wheel: {item: wheel}\n  lathe: {item: lathe}\n")
    ran = run(yard, "design", "trial.rig.yaml", "--explain", "lathe")
    assert ran.returncode == 0 and "by itself can be served: wheel: lathe by dry 5/2 : 1 increasing" in ran.stdout


def test_explain_says_how_many_machines_are_too_many(yard: Path) -> None:
    """Three crushers take 600 · 15 = 9 kW each, 27 kW of 1,200 · 8 = 9.6: 17.4 more, or two of them less."""
    (yard / "shop.catalogue.yaml").write_text(_CATALOGUE.replace("torque: 900 N*m", "torque: 1200 N*m"))
    machines = "".join(f"  {name}: {{item: crusher}}\n" for name in ("north", "mid", "south"))
    (yard / "trial.rig.yaml").write_text(f"{_HEAD}  wheel: {{item: wheel}}\n{machines}")
    said = " ".join(run(yard, "design", "trial.rig.yaml", "--explain", "mid").stdout.split())
    assert "27 kW of the 9.6 kW that are free: at least 17.4 kW more, or at least 2 machines less" in said
