"""Splitting, take-offs and losses against published examples."""

import math
from pathlib import Path

import pytest
from reference.small_rig import solved, speed_in, torque_in, torque_out

RPM = 2 * math.pi / 60
LBF_IN = 4.4482216152605 * 0.0254


def _stage(folder: Path, output: str, ratio: str, efficiency: float) -> tuple[float, float]:
    items = f"""motor: {{kind: prime-mover, output: {{{output}}}}}
    stage: {{kind: gear-stage, ratios: {{{ratio}: {{}}}}, efficiency: {efficiency}}}
    mill: {{kind: driven-machine}}"""
    parts = f"""motor: {{item: motor}}
    stage: {{item: stage, ratio: {ratio}, set: reduce, driven-by: motor}}
    mill: {{item: mill, driven-by: stage}}"""
    rig = solved(folder, items, parts)
    return torque_in(rig, "mill"), speed_in(rig, "mill")


def test_two_loads_on_one_motor(tmp_path: Path) -> None:
    """1.111 and 116.419 of 117.53 N·m at 1420 rpm carry 10 N·m at a tenth of the speed, and 1000 kg·9.81 at 1.5 m/s.

    Dubey, *Fundamentals of Electrical Drives*, Ex. 2.1 p. 16; seen. The efficiencies are 0.90 and 0.85; the rig
    runs the example from the motor down. Rounded to 1e-4 there.
    """
    items = """motor: {kind: prime-mover, output: {torque: 117.53 N*m, speed: 1420 rpm}}
    divide: {kind: splitter, outlets: 2, shares: any}
    stage: {kind: gear-stage, ratios: {10: {}}, efficiency: 0.90}
    hoist-shaft: {kind: shaft, efficiency: 0.85}
    mill: {kind: driven-machine}"""
    parts = """motor: {item: motor}
    divide: {item: divide, driven-by: motor, shares: {turn: 1.111, lift: 116.419}}
    stage: {item: stage, ratio: 10, set: reduce, driven-by: divide.turn}
    shaft: {item: hoist-shaft, driven-by: divide.lift}
    table: {item: mill, driven-by: stage}
    hoist: {item: mill, driven-by: shaft}"""
    rig = solved(tmp_path, items, parts)
    assert torque_in(rig, "table") == pytest.approx(10, rel=2e-4)
    assert speed_in(rig, "table") / RPM == pytest.approx(142)
    assert torque_in(rig, "hoist") * speed_in(rig, "hoist") == pytest.approx(1000 * 9.81 * 1.5, rel=1e-4)


def test_two_take_offs_on_a_line_shaft(tmp_path: Path) -> None:
    """50 kW at 10 rev/s is 796 N·m on the first length; the take-offs of 35 and 15 kW get 557 and 239 N·m.

    Gere, *Mechanics of Materials*, Ex. 3.8 p. 221; 796 N·m seen, the torques of the take-offs from memory.
    """
    items = """motor: {kind: prime-mover, output: {power: 50 kW, speed: 10 rev/s}}
    shaft: {kind: shaft}
    divide: {kind: splitter, outlets: 2, shares: any}
    mill: {kind: driven-machine}"""
    parts = """motor: {item: motor}
    shaft: {item: shaft, driven-by: motor}
    divide: {item: divide, driven-by: shaft, shares: {b: 35, c: 15}}
    b: {item: mill, driven-by: divide.b}
    c: {item: mill, driven-by: divide.c}"""
    rig = solved(tmp_path, items, parts)
    assert torque_out(rig, "shaft") == pytest.approx(796, abs=0.5)
    assert torque_in(rig, "b") == pytest.approx(557, abs=0.5)
    assert torque_in(rig, "c") == pytest.approx(239, abs=0.5)


def test_worm_of_sixty(tmp_path: Path) -> None:
    """1-start worm, 60 teeth, η 0.73: 1750 → 29.17 rpm, 180 → 7884 lbf·in. Wentzell, Ex. 13.4–13.7; seen."""
    torque, speed = _stage(tmp_path, "torque: 180 lbf*in, speed: 1750 rpm", "60/1", 0.73)
    assert speed / RPM == pytest.approx(29.17, abs=0.005)
    assert torque / LBF_IN == pytest.approx(7884)
