"""The words and figures that rules share, of cases that the rules' own twins do not show. Values by hand."""

import pytest

from lineshaft.api import Measure, breach_values, load_values, step_words
from lineshaft.rules.torque_over_limit import RULE
from lineshaft.solve.start_up import Breach
from lineshaft.testing import findings_of, rig_from_text

CATALOGUE = """\
catalogue: 1
edition: "1"
lubricants: [flax-oil]
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}, torque-limit: 600 N*m}
  oiled: {kind: gear-stage, ratios: [3], lubricant: {kind: flax-oil, holds: 4.5 L, uses: 0.3 mL/s}}
  mill: {kind: driven-machine}
"""
RIG = """\
rig: 1
catalogue: works.catalogue.yaml
parts:
  wheel: {item: wheel}
  step: {item: oiled, ratio: 3, set: increase, driven-by: wheel}
  mill: {item: mill, driven-by: step}
commissioning:
  - fill: {part: step, with: 3.5 L}
  - start: wheel
"""
FILES = {"works.catalogue.yaml": CATALOGUE}


def test_a_prime_mover_over_its_own_limit_has_nothing_that_enters_it() -> None:
    """900 N·m on 600: 1.5 times, of what leaves it alone."""
    (found,) = findings_of(RULE, RIG, files=FILES)
    told = {name: measure.value for name, measure in found.values}
    assert found.part == "wheel"
    assert told == {"torque_out": 900.0, "limit": 600.0, "times_limit": pytest.approx(1.5, rel=1e-12)}


def test_what_enters_and_leaves_is_told_of_the_ends_that_a_part_has() -> None:
    """A stage has both, a machine an inlet; the limit and the times stand behind."""
    rig = rig_from_text(RIG, files=FILES)
    stage = Breach(1, "speed", 8.0, 24.0, 20.0)
    assert [name for name, _ in load_values(rig, stage)] == ["speed_in", "speed_out", "limit", "times_limit"]
    machine = Breach(2, "torque", 300.0, 300.0, 200.0)
    assert load_values(rig, machine) == [("torque_in", Measure(300.0, "N*m")), *breach_values(machine)]


def test_a_step_is_said_with_what_it_takes() -> None:
    """A fill with its litres, a start with its part."""
    rig = rig_from_text(RIG, files=FILES)
    fill, start = rig.rig.steps
    assert step_words(rig, fill) == ("step 1 (fill step with ", Measure(3.5, "L"), ")")
    assert step_words(rig, start) == ("step 2 (start wheel)",)
