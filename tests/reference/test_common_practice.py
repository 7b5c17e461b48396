"""Facts of the trade that have no source to name: each is common practice, no source."""

from pathlib import Path

import pytest
from reference.small_rig import solved, speed_in, torque_in, torque_out

from lineshaft.schema.model.catalogue import Work
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.work_rate import speed_for_time, time_of_work

ITEMS = """motor: {{kind: prime-mover, output: {{torque: {0} N*m, speed: {1} rad/s}}}}
stage: {{kind: gear-stage, ratios: {{2: {{}}, 4: {{}}, 16: {{}}}}}}
divide: {{kind: splitter, outlets: 2, shares: any}}
gather: {{kind: combiner, inlets: 2}}
mill: {{kind: driven-machine}}"""


def _rig(folder: Path, torque: int, speed: int, parts: str) -> SolvedRig:
    return solved(folder, ITEMS.format(torque, speed), "motor: {item: motor}\n" + parts)


def _at(rig: SolvedRig, name: str) -> tuple[float, float]:
    return torque_in(rig, name), speed_in(rig, name)


def test_power_is_torque_times_speed(tmp_path: Path) -> None:
    """32 N·m at 512 rad/s is 16,384 W. Common practice, no source."""
    rig = _rig(tmp_path, 32, 512, "mill: {item: mill, driven-by: motor}")
    assert torque_in(rig, "mill") * speed_in(rig, "mill") == pytest.approx(16_384, rel=1e-12)


@pytest.mark.parametrize(("direction", "torque", "speed"), [("reduce", 64, 256), ("increase", 16, 1024)])
def test_a_stage_of_two(tmp_path: Path, direction: str, torque: int, speed: int) -> None:
    """2 : 1 makes 32 N·m at 512 rad/s 64 at 256, or 16 at 1,024. Common practice, no source."""
    parts = f"s: {{item: stage, ratio: 2, set: {direction}, driven-by: motor}}\nmill: {{item: mill, driven-by: s}}"
    assert _at(_rig(tmp_path, 32, 512, parts), "mill") == pytest.approx((torque, speed), rel=1e-12)


def test_shares_divide_torque_and_never_speed(tmp_path: Path) -> None:
    """16,384 N·m at 32 rad/s shared 1 : 31 is 512 and 15,872 N·m, both at 32 rad/s. Common practice, no source."""
    parts = """d: {item: divide, driven-by: motor, shares: {a: 1, b: 31}}
    a: {item: mill, driven-by: d.a}
    b: {item: mill, driven-by: d.b}"""
    rig = _rig(tmp_path, 16_384, 32, parts)
    assert _at(rig, "a") == pytest.approx((512, 32), rel=1e-12)
    assert _at(rig, "b") == pytest.approx((15_872, 32), rel=1e-12)


def test_increasing_stages_multiply(tmp_path: Path) -> None:
    """8,192 N·m at 32 rad/s through increasing 4 and 16 is 128 N·m at 2,048 rad/s. Common practice, no source."""
    parts = """s: {item: stage, ratio: 4, set: increase, driven-by: motor}
    t: {item: stage, ratio: 16, set: increase, driven-by: s}
    mill: {item: mill, driven-by: t}"""
    torque, speed = _at(_rig(tmp_path, 8192, 32, parts), "mill")
    assert (torque, speed) == pytest.approx((128, 2048), rel=1e-12)
    assert 8192 / torque == pytest.approx(64)  # the ratio needed is torque at hand over torque wanted


def test_a_stage_left_reducing(tmp_path: Path) -> None:
    """The same with the second stage left reducing is 32,768 N·m. Common practice, no source."""
    parts = """s: {item: stage, ratio: 4, set: increase, driven-by: motor}
    t: {item: stage, ratio: 16, set: reduce, driven-by: s}
    mill: {item: mill, driven-by: t}"""
    assert torque_out(_rig(tmp_path, 8192, 32, parts), "t") == pytest.approx(32_768, rel=1e-12)


def test_halved_geared_up_and_combined(tmp_path: Path) -> None:
    """Halves, each through 16 up, combined, through 4 up: 128 N·m, 2,048 rad/s. Common practice, no source."""
    parts = """d: {item: divide, driven-by: motor, shares: {a: 1, b: 1}}
    a: {item: stage, ratio: 16, set: increase, driven-by: d.a}
    b: {item: stage, ratio: 16, set: increase, driven-by: d.b}
    g: {item: gather, driven-by: [a, b]}
    t: {item: stage, ratio: 4, set: increase, driven-by: g}
    mill: {item: mill, driven-by: t}"""
    assert _at(_rig(tmp_path, 8192, 32, parts), "mill") == pytest.approx((128, 2048), rel=1e-12)


def test_time_a_batch_is_logarithmic_in_speed() -> None:
    """30 s at 32 rad/s and 12 s at 2,048 rad/s: 3 s a doubling, both ways. Common practice, no source.

    More torque never makes it faster: the law has no torque.
    """
    work = Work("batch", ((32.0, 30.0), (2048.0, 12.0)), "log-speed")
    for doublings in range(7):
        speed, time = 32.0 * 2**doublings, 30.0 - 3 * doublings
        assert time_of_work(work, speed) == pytest.approx(time)
        assert speed_for_time(work, time) == pytest.approx(speed)
