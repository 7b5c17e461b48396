"""Every outlet law by hand, other states of a rig, the balance's own test, and limits."""

from pathlib import Path

import pytest
from reference.small_rig import solved, speed_in, speed_out, torque_in, torque_out

from lineshaft.schema.model.catalogue import Work
from lineshaft.solve.balance import unbalanced
from lineshaft.solve.limits import over, short, speed_carried, torque_carried
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.steady_state import Flows, solve
from lineshaft.solve.work_rate import speed_for_time, time_of_work

ITEMS = """motor: {kind: prime-mover, output: {torque: 100 N*m, speed: 30 rad/s}}
near: {kind: prime-mover, output: {torque: 50 N*m, speed: 29.99998 rad/s}}
far: {kind: prime-mover, output: {torque: 50 N*m, speed: 29.99994 rad/s}}
shaft: {kind: shaft, efficiency: 0.9}
stage: {kind: gear-stage, ratios: {3: {}}, efficiency: 0.9}
bevel: {kind: right-angle, efficiency: 0.8}
clutch: {kind: clutch}
divide: {kind: splitter, outlets: 2, shares: any, efficiency: 0.8}
gather: {kind: combiner, inlets: 2, efficiency: 0.5}
mill: {kind: driven-machine}"""


def _one(folder: Path, part: str) -> SolvedRig:
    return solved(folder, ITEMS, f"motor: {{item: motor}}\nit: {part}\nmill: {{item: mill, driven-by: it}}")


@pytest.mark.parametrize(
    ("part", "torque", "speed"),
    [
        ("{item: shaft, driven-by: motor}", 90, 30),
        ("{item: stage, ratio: 3, set: reduce, driven-by: motor}", 270, 10),
        ("{item: stage, ratio: 3, set: increase, driven-by: motor}", 30, 90),
        ("{item: bevel, driven-by: motor}", 80, 30),
        ("{item: clutch, driven-by: motor}", 100, 30),
        ("{item: clutch, engaged: false, driven-by: motor}", 0, 0),
    ],
)
def test_outlet_laws(tmp_path: Path, part: str, torque: float, speed: float) -> None:
    """From 100 N·m at 30 rad/s each kind gives what its law says. By hand."""
    rig = _one(tmp_path, part)
    assert (torque_out(rig, "it"), speed_out(rig, "it")) == pytest.approx((torque, speed), rel=1e-12)
    assert (torque_in(rig, "mill"), speed_in(rig, "mill")) == pytest.approx((torque, speed), rel=1e-12)


def test_an_open_clutch_is_turned_without_torque(tmp_path: Path) -> None:
    """The inlet of an open clutch turns at the speed above it and takes no torque."""
    rig = _one(tmp_path, "{item: clutch, engaged: false, driven-by: motor}")
    assert (torque_in(rig, "it"), speed_in(rig, "it")) == (0, 30)


def test_splitter_and_combiner(tmp_path: Path) -> None:
    """100 N·m, η 0.8, shared 3 : 5 is 30 and 50 N·m at one speed; gathered again at η 0.5 it is 40 N·m. By hand."""
    parts = """motor: {item: motor}
    d: {item: divide, driven-by: motor, shares: {a: 3, b: 5}}
    g: {item: gather, driven-by: [d.a, d.b]}
    mill: {item: mill, driven-by: g}"""
    rig = solved(tmp_path, ITEMS, parts)
    assert torque_out(rig, "d") == pytest.approx(50)
    assert torque_in(rig, "g") == pytest.approx(50)
    assert (torque_in(rig, "mill"), speed_in(rig, "mill")) == pytest.approx((40, 30))


@pytest.mark.parametrize(("other", "agree"), [("near", True), ("far", False)])
def test_combiner_agrees_within_a_millionth(tmp_path: Path, other: str, agree: bool) -> None:
    """Inlets 0.67 millionths apart add up; 2 millionths apart leave the combiner and all below it unsolved."""
    parts = f"""motor: {{item: motor}}
    other: {{item: {other}}}
    g: {{item: gather, driven-by: [motor, other]}}
    mill: {{item: mill, driven-by: g}}"""
    rig = solved(tmp_path, ITEMS, parts)
    assert rig.unsolved == (0 if agree else 2)
    assert rig.flows.mismatched == (() if agree else (2,))
    assert torque_in(rig, "mill") == pytest.approx(75 if agree else 0)


@pytest.mark.parametrize("state", ["running", "coupled"])
def test_nothing_turns_below_a_stop(tmp_path: Path, state: str) -> None:
    """A stopped prime mover, and a part that is not coupled, hand on nothing; all is still solved."""
    rig = _one(tmp_path, "{item: shaft, driven-by: motor}")
    stopped = bytes([0, 1, 1]) if state == "running" else bytes([1, 0, 1])
    settings = rig.settings._replace(**{state: stopped})
    flows = solve(rig.train, settings)
    assert flows.torque_out[1] == flows.speed_out[1] == flows.torque_in[2] == flows.speed_in[2] == 0
    assert flows.solved == bytes([1, 1, 1])


def test_balance_finds_falsified_flows(tmp_path: Path) -> None:
    """A stage that hands on a tenth of a percent too much is named; the right flows name none."""
    rig = _one(tmp_path, "{item: stage, ratio: 3, set: reduce, driven-by: motor}")
    assert unbalanced(rig.train, rig.settings, rig.flows) == ()
    passed = (rig.flows.passed[0], rig.flows.passed[1] * 1.001, rig.flows.passed[2])
    assert unbalanced(rig.train, rig.settings, rig.flows._replace(passed=passed)) == (1,)


def test_balance_allows_a_combiner_its_millionth(tmp_path: Path) -> None:
    """Inlets that agree within a millionth pass the balance with the fastest one's speed."""
    parts = "motor: {item: motor}\nother: {item: near}\ng: {item: gather, driven-by: [motor, other]}"
    rig = solved(tmp_path, ITEMS, parts)
    assert unbalanced(rig.train, rig.settings, rig.flows) == ()


def test_work_rate_by_hand() -> None:
    """Halfway in ω (linear) or in ln ω (log-speed) is halfway in time; beyond the table its end holds."""
    points = ((10.0, 60.0), (90.0, 20.0))
    straight, logarithmic = Work("plank", points, "linear"), Work("plank", points, "log-speed")
    assert time_of_work(straight, 50) == pytest.approx(40)
    assert time_of_work(logarithmic, 30) == pytest.approx(40)  # 10·3 = 30, 30·3 = 90
    assert (time_of_work(straight, 5), time_of_work(straight, 200)) == (60, 20)
    assert time_of_work(straight, 0) is None
    assert speed_for_time(straight, 40) == pytest.approx(50)
    assert speed_for_time(logarithmic, 40) == pytest.approx(30)
    assert speed_for_time(straight, 70) == 0  # any speed will do: below the table its 60 s hold
    assert speed_for_time(straight, 19) is None
    flat = Work("sack", ((3.0, 42.0), (7.0, 42.0), (11.0, 30.0)), "linear")
    assert speed_for_time(flat, 42 * (1 - 1e-13)) == 0  # 42 s but for rounding, which any speed gives


def test_limits_hold_at_equality() -> None:
    """A value at its limit, or a billionth's rounding over it, holds; two billionths do not."""
    assert not over(100.0, 100.0) and not over(100.0 + 5e-8, 100.0) and over(100.0 + 2e-7, 100.0)
    assert not short(100.0, 100.0) and not short(100.0 - 5e-8, 100.0) and short(100.0 - 2e-7, 100.0)


def test_the_larger_side_counts() -> None:
    """Torque and speed against a limit are the larger of inlet and outlet."""
    flows = Flows((1.0,), (2.0,), (4.0,), (3.0,), (2.0,), b"\1", ())
    assert (torque_carried(flows, 0), speed_carried(flows, 0)) == (2.0, 4.0)
