"""A suggestion is a proved repair, or names what is needed and no part that nobody proved."""

import json
from pathlib import Path

import pytest
from command_runner import run

from lineshaft.check.rulebook import open_rulebook
from lineshaft.testing import findings_of
from lineshaft.write.shown_units import words

CATALOGUE = """\
catalogue: 1
name: Stock
edition: "1"
grades:
  elm: {torque-limit: 140 N*m}
  iron: {torque-limit: 750 N*m}
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 12 rad/s}}
  rod: {kind: shaft, grades: [elm, iron]}
  step: {kind: gear-stage, grade: iron, ratios: {9/5: {}}}
  saw: {kind: driven-machine, needs: {torque: 150 N*m, speed: 20 rad/s}}
"""
STRONG = "  strong: {kind: gear-stage, ratios: {3: {made-of: {bar: 2}}}}\nraw: {bar: {worth: 1}}\n"
RIG = """\
rig: 1
name: Saw
catalogue: stock.catalogue.yaml
edition: "1"
parts:
  w: {item: wheel}
  saw: {item: saw, driven-by: w}
"""


def _findings(folder: Path, catalogue: str, rig: str, *more: str) -> list[dict[str, object]]:
    (folder / "stock.catalogue.yaml").write_text(catalogue, encoding="utf-8")
    (folder / "a.rig.yaml").write_text(rig, encoding="utf-8")
    ran = run(folder, "check", "--no-cache", *more, "--write", "json=-", "a.rig.yaml")
    found: list[dict[str, object]] = json.loads(ran.stdout)["findings"]
    return found


@pytest.mark.parametrize("more", [(), ("--no-repairs",)])
def test_a_stage_that_would_itself_break_is_not_named(tmp_path: Path, more: tuple[str, ...]) -> None:
    """900 N·m at 12 rad/s, and 20 are needed, 1.667 times. The one stage stands 750 N·m: none is named."""
    (finding,) = _findings(tmp_path, CATALOGUE, RIG, *more)
    assert finding["suggestion"] == "an increasing stage of at least 1.667 : 1"


def test_where_a_repair_is_proved_it_is_the_suggestion(tmp_path: Path) -> None:
    """A stage of 3 : 1 without a limit gives 300 N·m at 36 rad/s."""
    (finding,) = _findings(tmp_path, CATALOGUE + STRONG, RIG)
    assert finding["suggestion"] == "put strong 3 : 1 increasing, behind w as saw-step"
    repairs = finding["repairs"]
    assert isinstance(repairs, list)
    assert [repair["title"] for repair in repairs] == [finding["suggestion"]]


def test_a_grade_that_the_policy_forbids_is_not_suggested(tmp_path: Path) -> None:
    """A rod of elm under 450 N·m: iron stands it, unless it is forbidden."""
    rig = RIG.replace("  saw:", "  rod: {item: rod, grade: elm, driven-by: w}\n  saw:")
    catalogue = CATALOGUE.replace("900 N*m", "450 N*m")

    def said() -> str:
        found = _findings(tmp_path, catalogue, rig, "--no-repairs")
        return next(str(f["suggestion"]) for f in found if f["rule"] == "torque-over-limit")

    assert said().startswith("grade iron stands it (750 N·m); or an increasing stage")
    (tmp_path / "lineshaft.policy.yaml").write_text(
        "policy: 1\ncatalogue: stock.catalogue.yaml\ngrades: {forbidden: [iron]}\n", encoding="utf-8"
    )
    assert said().startswith("an increasing stage of at least 3.215 : 1 above it; the catalogue has none as large")


HARBOUR = """\
catalogue: 1
name: Harbour
edition: "1"
lubricants: [flax-oil]
grades:
  elm: {torque-limit: 90 N*m, speed-limit: 60 rad/s}
  bronze: {torque-limit: 2000 N*m, speed-limit: 15 rad/s}
  iron: {torque-limit: 1300 N*m, speed-limit: 250 rad/s}
items:
  creek: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  brook: {kind: prime-mover, output: {torque: 700 N*m, speed: 24 rad/s}}
  pond: {kind: prime-mover, output: {torque: 500 N*m, speed: 12 rad/s}}
  elm-creek: {kind: prime-mover, grade: elm, output: {torque: 150 N*m, speed: 8 rad/s}}
  creek-of: {kind: prime-mover, grades: [elm, iron], output: {torque: 900 N*m, speed: 8 rad/s}}
  rod: {kind: shaft, grades: [elm, bronze, iron]}
  thick-rod: {kind: shaft, grades: [elm, iron], torque-limit: 3 kN*m, speed-limit: 300 rad/s}
  step: {kind: gear-stage, grade: iron, ratios: {5/2: {}, 3: {}}}
  oiled: {kind: gear-stage, lubricant: {kind: flax-oil, holds: 6 L, uses: 0.2 mL/s}, ratios: {5/2: {}, 3: {}}}
  gather-three: {kind: combiner, inlets: 3}
  mill: {kind: driven-machine, needs: {torque: 60 N*m}}
  press:
    kind: driven-machine
    needs: {torque: 60 N*m}
    work: {unit: pressing, times: [[5 rad/s, 40 s], [40 rad/s, 10 s]], between: linear}
    makes: {lubricant: flax-oil, amount: 30 mL}
"""
_HEAD = "rig: 1\nname: Harbour\ncatalogue: stock.catalogue.yaml\nparts:\n"


def _said_of(folder: Path, rule: str, parts: str, *more: str) -> str:
    """What is suggested for the one finding of a rule."""
    found = _findings(folder, HARBOUR, f"{_HEAD}{parts}", *(more or ("--no-repairs",)))
    (said,) = (str(finding["suggestion"]) for finding in found if finding["rule"] == rule)
    return said


@pytest.mark.parametrize(
    ("third", "said"),
    [
        ("pond", "one stage does not do: increasing ones of 3 : 1, 2 : 1 in the slower lines would make them agree"),
        ("creek", "a stage of 3 : 1 in one of the lines would make them agree"),
        ("brook", "a stage of 3 : 1 in one of the lines would make them agree"),
    ],
)
def test_one_stage_is_named_where_one_makes_all_lines_agree(tmp_path: Path, third: str, said: str) -> None:
    """8 and 24 rad/s with 12, 8 or 24: of three speeds two have to change, 24 / 8 and 24 / 12."""
    parts = f"  a: {{item: creek}}\n  b: {{item: brook}}\n  c: {{item: {third}}}\n"
    parts += "  join: {item: gather-three, driven-by: [a, b, c]}\n  mill: {item: mill, driven-by: join}\n"
    assert _said_of(tmp_path, "combiner-mismatch", parts) == said


@pytest.mark.parametrize(
    ("wheel", "said"),
    [
        ("{item: elm-creek}", "another prime mover, or one that gives less"),
        ("{item: creek-of, grade: elm}", "grade iron stands it (1.3 kN·m)"),
    ],
)
def test_no_stage_is_put_above_a_prime_mover(tmp_path: Path, wheel: str, said: str) -> None:
    """A wheel of elm that gives more than elm stands, 90 N·m."""
    parts = f"  wheel: {wheel}\n  mill: {{item: mill, driven-by: wheel}}\n"
    assert _said_of(tmp_path, "torque-over-limit", parts) == said


def test_a_grade_is_said_to_stand_it_where_it_stands_the_speed_too(tmp_path: Path) -> None:
    """900 / (5/2) = 360 N·m at 20 rad/s: bronze stands the torque, and 15 rad/s only; at 8 rad/s both stand it."""
    step = "  w: {item: creek}\n  step: {item: step, ratio: 5/2, set: increase, driven-by: w}\n"
    rod = "  rod: {item: rod, grade: elm, driven-by: FROM}\n  mill: {item: mill, driven-by: rod}\n"
    fast = _said_of(tmp_path, "torque-over-limit", step + rod.replace("FROM", "step"))
    assert fast.startswith("grade iron stands it (1.3 kN·m); or ")
    two = HARBOUR.replace("[elm, bronze, iron]", "[elm, bronze]")
    (finding,) = _findings(tmp_path, two, _HEAD + "  w: {item: creek}\n" + rod.replace("FROM", "w"), "--no-repairs")
    assert str(finding["suggestion"]).startswith("grade bronze stands it (2 kN·m); or ")


def test_the_limits_of_an_item_of_its_own_count_in_every_grade(tmp_path: Path) -> None:
    """900 × 5/2 = 2250 N·m, more than iron stands, 1300; but the rod has limits of its own, 3 kN·m and 300 rad/s."""
    (tmp_path / "lineshaft.policy.yaml").write_text(
        "policy: 1\ncatalogue: stock.catalogue.yaml\ngrades: {forbidden: [elm]}\n", encoding="utf-8"
    )
    parts = "  w: {item: creek}\n  step: {item: step, ratio: 5/2, set: reduce, driven-by: w}\n"
    parts += "  rod: {item: thick-rod, grade: elm, driven-by: step}\n  mill: {item: mill, driven-by: rod}\n"
    assert _said_of(tmp_path, "grade-forbidden", parts) == "grade iron stands what it carries"
    assert _said_of(tmp_path, "grade-forbidden", parts, "--no-cache") == "make rod in iron"


def test_all_that_a_press_hangs_on_is_to_be_filled(tmp_path: Path) -> None:
    """Two stages on the circuit that the press behind them is to fill: with one of them filled it cannot start yet."""
    parts = "  w: {item: creek}\n  a: {item: oiled, ratio: 5/2, set: reduce, driven-by: w}\n"
    parts += "  b: {item: oiled, ratio: 5/2, set: reduce, driven-by: a}\n  press: {item: press, driven-by: b}\n"
    parts += "lubrication:\n  flax: {lubricant: flax-oil, tank: {holds: 9 L, charge: 0 L}, supplied-by: press,"
    parts += " feeds: [a, b]}\ncommissioning:\nSTEPS  - start: w\n"
    said = _said_of(tmp_path, "lubricant-loop", parts.replace("STEPS", ""))
    assert said == "a charge in the tank of flax, or a `fill` of a and b before the start"
    said = _said_of(tmp_path, "lubricant-loop", parts.replace("STEPS", "  - fill: {part: a, with: 6 L}\n"))
    assert said == "a charge in the tank of flax, or a `fill` of b before the start"


@pytest.mark.parametrize(("carried", "least"), [(900, "1.286"), (8000, "11.43"), (1750, "2.5"), (700.5, "1.001")])
def test_a_stage_of_what_is_said_is_enough(carried: float, least: str) -> None:
    """700 N·m are allowed: 9/7 = 1.28571…, 80/7 = 11.4285…, 5/2, 1.00071…: each is rounded up, not to the nearest."""
    catalogue = (
        'catalogue: 1\nedition: "1"\nitems:\n'
        f"  wheel: {{kind: prime-mover, output: {{torque: {carried} N*m, speed: 8 rad/s}}}}\n"
        "  shaft: {kind: shaft, torque-limit: 700 N*m}\n  stage: {kind: gear-stage, ratios: [20]}\n"
        "  saw: {kind: driven-machine, needs: {speed: 1 rad/s}}\n"
    )
    rig = (
        "rig: 1\ncatalogue: c.catalogue.yaml\nparts:\n  wheel: {item: wheel}\n"
        "  lay: {item: shaft, driven-by: wheel}\n  saw: {item: saw, driven-by: lay}\n"
    )
    rule = open_rulebook().rule("torque-over-limit")
    assert rule is not None
    (found,) = findings_of(rule, rig, files={"c.catalogue.yaml": catalogue})
    assert words(found.suggestion) == f"an increasing stage of at least {least} : 1 above it"
