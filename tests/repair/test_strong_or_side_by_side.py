"""Too much torque for the cheap grade, and two ways out (common practice, no source): a strong stage, or two lines.

A wheel gives 6,300 N·m at 6 rad/s; a mill needs 300 N·m and 126 rad/s: 6300 / 300 = 126 / 6 = 21 : 1 up, in steps of
5/2, 3, 6 or 7. The cheap grade stands 4,500 N·m, the strong one 13,000 N·m.
"""

from pathlib import Path

import pytest
from repair_bench import checked, edited, plan_for, workshop_of

from lineshaft.check.judged_finding import Repair

CATALOGUE = """\
catalogue: 1
name: Tern Harbour mill
edition: "1"
grades:
  cheap:  {{torque-limit: 4.5 kN*m}}
  strong: {{torque-limit: 13 kN*m}}
items:
  tide-wheel: {{kind: prime-mover, output: {{torque: 6300 N*m, speed: 6 rad/s}}}}
  cheap-stage:
    kind: gear-stage
    grade: cheap
    ratios:
      5/2: {{made-of: {{iron: 2}}}}
      3:   {{made-of: {{iron: 2}}}}
      6:   {{made-of: {{iron: 2}}}}
      7:   {{made-of: {{iron: 2}}}}
  strong-stage:
    kind: gear-stage
    grade: strong
    ratios:
      5/2: {{made-of: {{steel: 3}}}}
      3:   {{made-of: {{steel: 4}}}}
      6:   {{made-of: {{steel: 7}}}}
      7:   {{made-of: {{steel: 9}}}}
  divider:  {{kind: splitter, outlets: 2, shares: [[1, 1]], made-of: {{iron: 1}}}}
  gatherer: {{kind: combiner, inlets: 2, made-of: {{iron: 1}}}}
  mill:
    kind: driven-machine
    needs: {{torque: 300 N*m, speed: 126 rad/s}}
    work: {{unit: sack, times: [[6 rad/s, 700 s], [140 rad/s, 10 s]], between: log-speed}}
raw: {{iron: {{worth: 1}}, steel: {{worth: {steel}}}}}
"""
RIG = """\
rig: 1
name: Mill
catalogue: bench.catalogue.yaml
edition: "1"
parts:
  wheel: {item: tide-wheel}
  high:  {item: cheap-stage, ratio: 7, set: increase, driven-by: wheel}   # takes all of it
  low:   {item: cheap-stage, ratio: 3, set: increase, driven-by: high}
  mill:  {item: mill, driven-by: low}
commissioning:
  - set: {part: high, to: increase}
  - set: {part: low, to: increase}
  - start: wheel
"""


def _ways(folder: Path, steel: int) -> tuple[Repair, ...]:
    """What is offered, all of it proved by the public command."""
    context = workshop_of(folder, CATALOGUE.format(steel=steel), RIG)
    plan = plan_for(context, "torque-over-limit", "high")
    assert plan.no_repair is None
    for repair in plan.repairs:
        assert checked(folder, edited(context, repair)) == set(), repair.title
    return plan.repairs


def _lines(text: str) -> dict[str, str]:
    """What is written of each part, by name."""
    pairs = (line.split(":", 1) for line in text.splitlines() if line.startswith("  ") and ":" in line)
    return {name.strip(): rest.strip() for name, rest in pairs}


def test_a_way_that_is_dearer_and_more_parts_is_not_offered(tmp_path: Path) -> None:
    """With steel at 1 a strong 3 for a cheap one adds 4 steel less 2 iron; two lines add 4 iron, 3 parts. By hand."""
    (strong,) = _ways(tmp_path, 1)
    assert (strong.worth, strong.parts_added) == (pytest.approx(2), 0)
    assert "strong-stage" in strong.title


def test_both_ways_are_offered_where_each_is_better_in_something(tmp_path: Path) -> None:
    """With steel at 3 two lines still cost 4 for 3 parts more, and a strong 3 costs 10 for none. By hand."""
    beside, strong = _ways(tmp_path, 3)
    assert (beside.worth, beside.parts_added) == (pytest.approx(4), 3)
    assert (strong.worth, strong.parts_added) == (pytest.approx(10), 0)
    assert "2 lines side by side" in beside.title
    assert "strong-stage" in strong.title


def test_both_ways_are_found_where_there_is_no_list_yet(tmp_path: Path) -> None:
    """Without a list both stages stand as delivered: each way brings one that sets them all, at the same worth."""
    context = workshop_of(tmp_path, CATALOGUE.format(steel=3), RIG.partition("commissioning:")[0])
    repairs = plan_for(context, "torque-over-limit", "high").repairs
    beside = next(repair for repair in repairs if "2 lines side by side" in repair.title)
    strong = next(r for r in repairs if _lines(edited(context, r))["low"].startswith("{item: strong-stage, ratio: 3,"))
    assert (beside.worth, strong.worth) == (pytest.approx(4), pytest.approx(10))
    for repair in (beside, strong):
        assert checked(tmp_path, edited(context, repair)) == set(), repair.title


def test_the_strong_stage_goes_first(tmp_path: Path) -> None:
    """The strong 3 takes the wheel's 6,300 N·m, and the cheap 7 the 2,100 N·m behind it; notes and steps stay."""
    context = workshop_of(tmp_path, CATALOGUE.format(steel=1), RIG)
    text = edited(context, plan_for(context, "torque-over-limit", "high").repairs[0])
    assert _lines(text)["low"] == "{item: strong-stage, ratio: 3, set: increase, driven-by: wheel}"
    assert _lines(text)["high"] == "{item: cheap-stage, ratio: 7, set: increase, driven-by: low}   # takes all of it"
    assert _lines(text)["mill"] == "{item: mill, driven-by: high}"
    assert text.partition("commissioning:")[2] == RIG.partition("commissioning:")[2]


def test_two_lines_carry_half_each(tmp_path: Path) -> None:
    """A split in two, cheap 7 each (3,150 N·m of 4,500), gathered, 900 N·m for the cheap 3."""
    context = workshop_of(tmp_path, CATALOGUE.format(steel=3), RIG)
    text = edited(context, plan_for(context, "torque-over-limit", "high").repairs[0])
    written = _lines(text)
    assert written["high-split"] == "{item: divider, shares: {a: 1, b: 1}, driven-by: wheel}"
    assert written["high"].startswith("{item: cheap-stage, ratio: 7, set: increase, driven-by: high-split.a}")
    assert written["high-b"] == "{item: cheap-stage, ratio: 7, set: increase, driven-by: high-split.b}"
    assert written["high-gather"] == "{item: gatherer, driven-by: [high, high-b]}"
    assert written["low"] == "{item: cheap-stage, ratio: 3, set: increase, driven-by: high-gather}"
    assert "  - set: {part: high-b, to: increase}\n" in text


def test_without_either_the_bounds_are_said(tmp_path: Path) -> None:
    """With no strong grade, no splitter, and no speed to spare, nothing works, and the one line says what was tried."""
    catalogue = CATALOGUE.format(steel=1)
    catalogue = "".join(
        line for line in catalogue.splitlines(True) if "divider" not in line and "gatherer" not in line
    ).replace("strong-stage:", "stage-of-lead:").replace("torque-limit: 13 kN*m", "torque-limit: 1 N*m")
    context = workshop_of(tmp_path, catalogue, RIG)
    plan = plan_for(context, "torque-over-limit", "high")
    assert plan.repairs == ()
    assert plan.no_repair is not None
    assert "nothing within the bounds mends it" in plan.no_repair
    assert "up to 4 catalogue stages" in plan.no_repair
