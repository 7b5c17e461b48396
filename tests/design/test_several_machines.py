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
