"""Facts of the trade that have no source to name: each is common practice, no source."""

from pathlib import Path

import pytest
from reference.small_rig import solved, speed_in, torque_in, torque_out

from lineshaft.schema.model.catalogue import Work
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.work_rate import speed_for_time, time_of_work

ITEMS = """motor: {{kind: prime-mover, output: {{torque: {0} N*m, speed: {1} rad/s}}}}
stage: {{kind: gear-stage, ratios: {{5/2: {{}}, 6: {{}}}}}}
divide: {{kind: splitter, outlets: 2, shares: any}}
gather: {{kind: combiner, inlets: 2}}
mill: {{kind: driven-machine}}"""


def _rig(folder: Path, torque: int, speed: int, parts: str) -> SolvedRig:
    return solved(folder, ITEMS.format(torque, speed), "motor: {item: motor}\n" + parts)


def _at(rig: SolvedRig, name: str) -> tuple[float, float]:
    return torque_in(rig, name), speed_in(rig, name)


def test_power_is_torque_times_speed(tmp_path: Path) -> None:
    """45 N·m at 110 rad/s is 4,950 W. Common practice, no source."""
    rig = _rig(tmp_path, 45, 110, "mill: {item: mill, driven-by: motor}")
    assert torque_in(rig, "mill") * speed_in(rig, "mill") == pytest.approx(4950, rel=1e-12)


@pytest.mark.parametrize(("direction", "torque", "speed"), [("reduce", 112.5, 44), ("increase", 18, 275)])
def test_a_stage_gives_one_for_the_other(tmp_path: Path, direction: str, torque: float, speed: int) -> None:
    """5/2 : 1 makes 45 N·m at 110 rad/s 112.5 at 44, or 18 at 275. Common practice, no source."""
    parts = f"s: {{item: stage, ratio: 5/2, set: {direction}, driven-by: motor}}\nmill: {{item: mill, driven-by: s}}"
    assert _at(_rig(tmp_path, 45, 110, parts), "mill") == pytest.approx((torque, speed), rel=1e-12)


def test_shares_divide_torque_and_never_speed(tmp_path: Path) -> None:
    """900 N·m at 8 rad/s shared 2 : 7 is 200 and 700 N·m, both at 8 rad/s. Common practice, no source."""
    parts = """d: {item: divide, driven-by: motor, shares: {a: 2, b: 7}}
    a: {item: mill, driven-by: d.a}
    b: {item: mill, driven-by: d.b}"""
    rig = _rig(tmp_path, 900, 8, parts)
    assert _at(rig, "a") == pytest.approx((200, 8), rel=1e-12)
    assert _at(rig, "b") == pytest.approx((700, 8), rel=1e-12)


def test_increasing_stages_multiply(tmp_path: Path) -> None:
    """900 N·m at 8 rad/s through increasing 5/2 and 6 is 60 N·m at 120 rad/s. Common practice, no source.

    The ratio needed is torque at hand over torque wanted, 900 / 60 = 15; less is too slow, more too weak.
    """
    parts = """s: {item: stage, ratio: 5/2, set: increase, driven-by: motor}
    t: {item: stage, ratio: 6, set: increase, driven-by: s}
    mill: {item: mill, driven-by: t}"""
    assert _at(_rig(tmp_path, 900, 8, parts), "mill") == pytest.approx((60, 120), rel=1e-12)


def test_a_stage_left_reducing(tmp_path: Path) -> None:
    """The same with the second stage left reducing is 900 / (5/2) · 6 = 2,160 N·m. Common practice, no source."""
    parts = """s: {item: stage, ratio: 5/2, set: increase, driven-by: motor}
    t: {item: stage, ratio: 6, set: reduce, driven-by: s}
    mill: {item: mill, driven-by: t}"""
    assert torque_out(_rig(tmp_path, 900, 8, parts), "t") == pytest.approx(2160, rel=1e-12)


def test_halved_geared_up_and_combined(tmp_path: Path) -> None:
    """Halves of 450 N·m, each / 6, 75; combined, 150; / (5/2) is 60 N·m, at 120 rad/s. Common practice, no source."""
    parts = """d: {item: divide, driven-by: motor, shares: {a: 1, b: 1}}
    a: {item: stage, ratio: 6, set: increase, driven-by: d.a}
    b: {item: stage, ratio: 6, set: increase, driven-by: d.b}
    g: {item: gather, driven-by: [a, b]}
    t: {item: stage, ratio: 5/2, set: increase, driven-by: g}
    mill: {item: mill, driven-by: t}"""
    assert _at(_rig(tmp_path, 900, 8, parts), "mill") == pytest.approx((60, 120), rel=1e-12)


def test_time_a_batch_is_logarithmic_in_speed() -> None:
    """50 s at 6 rad/s and 14 s at 162 rad/s: 12 s each time the speed triples, both ways. Common practice, no source.

    More torque never makes it faster: the law has no torque.
    """
    work = Work("batch", ((6.0, 50.0), (162.0, 14.0)), "log-speed")
    for speed, time in ((6, 50), (18, 38), (54, 26)):
        assert time_of_work(work, speed) == pytest.approx(time)
        assert speed_for_time(work, time - 0.001) == pytest.approx(speed, rel=1e-3)
    # Below the table its first time holds, so that any speed is enough for it.
    assert speed_for_time(work, 50.0) == 0.0
    assert speed_for_time(work, 14.0) == pytest.approx(162)
