"""A machine short of a need makes nothing; a press among them supplies nothing. The figures are worked out by hand."""

import math
from pathlib import Path

import pytest
from reference.small_rig import solved

from lineshaft.check.inspection import findings_of
from lineshaft.check.rulebook import open_rulebook
from lineshaft.repair.proof.effect import machine_changes
from lineshaft.report_model.machines import machine_curves
from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository
from lineshaft.solve.lubricant_accounts import accounts
from lineshaft.solve.machine_output import hourly_rate, shortages, time_of_unit
from lineshaft.solve.solved_rig import SolvedRig, solve_loaded

ITEMS = """wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
divide: {kind: splitter, shares: any}
dog: {kind: clutch}
step: {kind: gear-stage, ratios: [3, 5/2]}
mill: {kind: driven-machine, needs: {torque: 500 N*m}, \
work: {unit: sack, times: [[3 rad/s, 90 s], [13 rad/s, 40 s]], between: linear}}
fan: {kind: driven-machine, needs: {speed: 9 rad/s, power: 3 kW}}"""
HALVES = """w: {item: wheel}
d: {item: divide, driven-by: w, shares: {a: 1, b: 1}}
m: {item: mill, driven-by: d.a}
f: {item: fan, driven-by: d.b}"""


def _rate(rig: SolvedRig, name: str) -> float | None:
    number = rig.rig.index[name]
    return hourly_rate(rig.parts[number], number, rig.flows)


def test_every_need_that_is_not_met_counts(tmp_path: Path) -> None:
    """Half of 900 N·m is 450 of 500; the fan turns at 8 rad/s of 9, and 450 · 8 = 3,600 W are enough of 3,000."""
    parts = solved(tmp_path, ITEMS, HALVES).parts
    assert [tuple(one) for one in shortages(parts[2], 450.0, 8.0)] == [("torque", 450.0, 500.0)]
    assert [tuple(one) for one in shortages(parts[3], 450.0, 8.0)] == [("speed", 8.0, 9.0)]
    assert [one.quantity for one in shortages(parts[3], 330.0, 8.0)] == ["speed", "power"]
    assert shortages(parts[2], 500.0 * (1 - 1e-10), 8.0) == ()


def test_a_machine_short_of_torque_makes_nothing_and_one_behind_an_open_clutch_is_at_rest(tmp_path: Path) -> None:
    """At 8 rad/s a sack takes 90 − 50 · 5/10 = 65 s, but only with 500 N·m: 450 make none, 900 make 3,600/65."""
    assert _rate(solved(tmp_path, ITEMS, HALVES), "m") == 0
    whole = solved(tmp_path, ITEMS, "w: {item: wheel}\nm: {item: mill, driven-by: w}")
    assert _rate(whole, "m") == pytest.approx(3600 / 65, rel=1e-12)
    clutch = "w: {item: wheel}\nc: {item: dog, driven-by: w, engaged: false}\nm: {item: mill, driven-by: c}"
    assert _rate(solved(tmp_path, ITEMS, clutch), "m") is None
    assert _rate(solved(tmp_path, ITEMS, HALVES), "f") is None
    assert time_of_unit(whole.parts[1], 450.0, 8.0) == math.inf


def test_a_repair_that_makes_a_machine_run_counts_from_nothing(tmp_path: Path) -> None:
    """450 N·m to 900: from no sack to 3,600/65 an hour; the other way round the mill falls to none."""
    short = solved(tmp_path, ITEMS, HALVES)
    (tmp_path / "whole").mkdir()
    whole = solved(tmp_path / "whole", ITEMS, "w: {item: wheel}\nm: {item: mill, driven-by: w}")
    (change,) = (one for one in machine_changes(short, whole) if one.part == "m")
    assert (change.rate_before, change.rate_after) == (0, pytest.approx(3600 / 65))
    (back,) = machine_changes(whole, short)
    assert (back.rate_before, back.rate_after) == (pytest.approx(3600 / 65), 0)


def test_of_two_mills_at_one_speed_the_one_that_stalls_has_a_curve_of_its_own(tmp_path: Path) -> None:
    """Shares of 2 : 1 : 4 of 900 N·m: 257.1 and 128.6 N·m are short of 500, 514.3 are not; all turn at 8 rad/s."""
    parts = """w: {item: wheel}
d: {item: divide, driven-by: w, shares: {a: 2, b: 1, c: 4}}
one: {item: mill, driven-by: d.a}
two: {item: mill, driven-by: d.b}
three: {item: mill, driven-by: d.c}"""
    curves = machine_curves(solved(tmp_path, ITEMS, parts))
    assert [(curve.parts, curve.rate) for curve in curves] == [
        (("one", "two"), 0),
        (("three",), pytest.approx(3600 / 65)),
    ]


OIL = """catalogue: 1
name: Oil
edition: "1"
lubricants: [linseed]
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  divide: {kind: splitter, shares: any}
  step: {kind: gear-stage, ratios: [3], lubricant: {kind: linseed, holds: 7 L, uses: USES}}
  mill: {kind: driven-machine}
  press:
    kind: driven-machine
    needs: {torque: 500 N*m}
    work: {unit: pressing, times: [[3 rad/s, 90 s], [13 rad/s, 40 s]], between: linear}
    makes: {lubricant: linseed, amount: 26 mL}
"""
OILED = """rig: 1
name: Oiled
catalogue: o.catalogue.yaml
parts:
  wheel: {item: wheel}
  divide: {item: divide, driven-by: wheel, shares: {work: 1, oil: 1}}
  step: {item: step, ratio: 3, set: reduce, driven-by: divide.work}
  mill: {item: mill, driven-by: step}
  press: {item: press, driven-by: divide.oil}
lubrication:
  line: {lubricant: linseed, tank: {holds: 30 L, charge: 0.5 L}, supplied-by: press, feeds: [step]}
"""


def _oiled(folder: Path, uses: str, shares: str = "{work: 1, oil: 1}") -> SolvedRig:
    folder = folder.resolve()
    (folder / "o.catalogue.yaml").write_text(OIL.replace("USES", uses), "utf-8")
    path = folder / "o.rig.yaml"
    path.write_text(OILED.replace("{work: 1, oil: 1}", shares), "utf-8")
    return solve_loaded(Loader(Repository(folder, folder)).rig(path))


def _shortfalls(rig: SolvedRig) -> list[str]:
    rule = open_rulebook().rule("lubricant-shortfall")
    assert rule is not None
    return [found.rule for found in findings_of(rule, rig)]


def test_a_press_that_stalls_supplies_nothing(tmp_path: Path) -> None:
    """With 450 N·m of 500 it makes none; with 2 parts of 3, 600 N·m, 26 mL in 65 s: 0.4 mL/s."""
    assert accounts(_oiled(tmp_path, "0.3 mL/s"))[0].supply == 0
    fed = accounts(_oiled(tmp_path, "0.3 mL/s", "{work: 1, oil: 2}"))[0]
    assert fed.supply == pytest.approx(0.0004, rel=1e-12)


def test_a_shortfall_is_silent_where_only_the_stalled_press_is_to_blame(tmp_path: Path) -> None:
    """0.3 mL/s in use empty half a litre in 1,667 s of the hour; but the press, once fed, makes 0.4 mL/s.

    With 0.7 mL/s in use even then 0.3 mL/s are lost, and half a litre lasts 1,667 s: that is told, stalled or not.
    """
    assert _shortfalls(_oiled(tmp_path, "0.3 mL/s")) == []
    assert accounts(_oiled(tmp_path, "0.3 mL/s"))[0].runs_dry_after == pytest.approx(0.5 / 0.0003)
    assert _shortfalls(_oiled(tmp_path, "0.7 mL/s")) == ["lubricant-shortfall"]
    assert _shortfalls(_oiled(tmp_path, "0.7 mL/s", "{work: 1, oil: 2}")) == ["lubricant-shortfall"]
