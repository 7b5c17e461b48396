"""A stage that runs dry is told once: by the rule that knows why, not by each that sees it."""

import pytest

from lineshaft.api import NoFix
from lineshaft.rules import lubricant_loop, lubricant_missing, lubricant_shortfall
from lineshaft.testing import findings_of, rig_from_text

CATALOGUE = """\
catalogue: 1
edition: "1"
lubricants: [flax-oil]
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 7 rad/s}}
  oiled: {kind: gear-stage, ratios: [3], lubricant: {kind: flax-oil, holds: 4.5 L, uses: 0.3 mL/s}}
  mill: {kind: driven-machine}
  press:
    kind: driven-machine
    work: {unit: jug, times: [[1 rad/s, 60 s]], between: linear}
    makes: {lubricant: flax-oil, amount: 3 mL}
"""
RIG = """\
rig: 1
catalogue: works.catalogue.yaml
parts:
  wheel: {item: wheel}
  step: {item: oiled, ratio: 3, set: reduce, driven-by: wheel}
  end: {item: MACHINE, driven-by: step}
"""
RULES = (lubricant_shortfall.RULE, lubricant_missing.RULE, lubricant_loop.RULE)
FILL = "  - fill: {part: step, with: 0.5 L}\n"
START = "  - start: wheel\n"
CIRCUIT = "lubrication: {flax: {lubricant: flax-oil, tank: {holds: 9 L%s}%s, feeds: [step]}}\n"
PRESS = ", supplied-by: end"

# Half a litre at 0.3 mL/s lasts 1667 s, less than the hour that it has to; a press that adds 0.05 mL/s makes it 2000 s.
ONCE = {
    "filled first": ("mill", f"commissioning:\n{FILL}{START}", ["lubricant-shortfall"]),
    "filled when it has turned dry": ("mill", f"commissioning:\n{START}{FILL}", ["lubricant-missing"]),
    "a charged tank": ("mill", CIRCUIT % (", charge: 0.5 L", "") + f"commissioning:\n{START}", ["lubricant-shortfall"]),
    "an empty tank": ("mill", CIRCUIT % ("", "") + f"commissioning:\n{START}", ["lubricant-missing"]),
    "a charged ring": ("press", CIRCUIT % (", charge: 0.5 L", PRESS), ["lubricant-shortfall"]),
    "an empty ring": ("press", CIRCUIT % ("", PRESS), ["lubricant-loop"]),
}


TWO_IN_A_RING = """\
rig: 1
catalogue: works.catalogue.yaml
parts:
  wheel: {item: wheel}
  first: {item: oiled, ratio: 3, set: reduce, driven-by: wheel}
  second: {item: oiled, ratio: 3, set: increase, driven-by: first}
  end: {item: press, driven-by: second}
lubrication: {flax: {lubricant: flax-oil, tank: {holds: 9 L}, supplied-by: end, feeds: [first, second]}}
"""


def test_a_press_that_hangs_on_two_of_its_stages_is_told_with_both_and_names_the_first() -> None:
    """The press makes what both stages in front of it need, and neither turns before."""
    (finding,) = findings_of(lubricant_loop.RULE, TWO_IN_A_RING, files={"works.catalogue.yaml": CATALOGUE})
    words = "circuit flax can never start: end hangs on first, which it has to lubricate first"
    assert (finding.part, finding.message) == ("end", (words,))
    assert [cause.part for cause in finding.because] == ["first", "second", "end"]


def test_an_empty_tank_that_a_filled_stage_draws_on_is_dry_at_once() -> None:
    """The stage has half a litre of its own; its circuit has none, uses 0.3 mL/s and gets nothing."""
    text = RIG.replace("MACHINE", "mill") + CIRCUIT % ("", "") + f"commissioning:\n{FILL}{START}"
    (finding,) = findings_of(lubricant_shortfall.RULE, text, files={"works.catalogue.yaml": CATALOGUE})
    told = {name: measure.value for name, measure in finding.values}
    assert told == {"supply": 0.0, "use": pytest.approx(0.0003), "charge": 0.0, "runs_dry_after": 0.0}


@pytest.mark.parametrize(
    ("below", "shared"), [("", True), (f"commissioning:\n{START}", False), (CIRCUIT % ("", ""), False)]
)
def test_stages_without_a_list_and_a_circuit_are_dry_for_one_cause(below: str, shared: bool) -> None:
    """What nobody fills is told together; not what a list leaves out, nor what a tank without a charge feeds."""
    text = RIG.replace("MACHINE", "mill") + below
    (finding,) = findings_of(lubricant_missing.RULE, text, files={"works.catalogue.yaml": CATALOGUE})
    assert (finding.shared is not None) is shared


@pytest.mark.parametrize("name", ONCE)
def test_what_runs_dry_is_told_by_one_rule(name: str) -> None:
    """A fill or charge that is too small by itself; one that comes too late or not at all by what is missing."""
    machine, below, wanted = ONCE[name]
    text = RIG.replace("MACHINE", machine) + below
    files = {"works.catalogue.yaml": CATALOGUE}
    assert [rule.id for rule in RULES for _ in findings_of(rule, text, files=files)] == wanted


def test_a_fill_that_stands_in_the_list_of_a_blueprint_is_not_changed_from_a_rig() -> None:
    """Half a litre lasts 1,667 s of the hour at 0.3 mL/s, and 1.08 L would do; the blueprint's list fills it."""
    leg = (
        "blueprint: 1\ncatalogue: works.catalogue.yaml\ninlets:\n  in: {torque-up-to: 900 N*m, speed-up-to: 7 rad/s}\n"
        "parts:\n  step: {item: oiled, ratio: 3, set: reduce, driven-by: in}\n  end: {item: mill, driven-by: step}\n"
        f"commissioning:\n{FILL}"
    )
    text = (
        "rig: 1\ncatalogue: works.catalogue.yaml\nparts:\n  wheel: {item: wheel}\n"
        f"  leg: {{blueprint: leg.blueprint.yaml, driven-by: wheel}}\ncommissioning:\n{START}"
    )
    files = {"works.catalogue.yaml": CATALOGUE, "leg.blueprint.yaml": leg}
    rig = rig_from_text(text, files=files)
    (finding,) = findings_of(lubricant_shortfall.RULE, text, files=files)
    (offer,) = lubricant_shortfall.repairs(rig, finding)
    assert offer == NoFix("there is room for what it takes; its fill stands in the list of a blueprint")
