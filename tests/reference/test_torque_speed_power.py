"""Torque, speed, power and ratios against published examples. A tolerance is the rounding of the printed figure."""

import math
from pathlib import Path

import pytest
from reference.small_rig import solved, speed_in, speed_out, torque_in, torque_out

RPM = 2 * math.pi / 60
LBF_IN = 4.4482216152605 * 0.0254  # exact by definition (international pound and inch, standard gravity)
HP = 550 * 12 * LBF_IN  # 550 ft·lbf/s
WENTZELL = 4.03e-4  # he takes 63000 for 63025.36: 0.0403 %


def _train(folder: Path, output: str, ratios: list[str], direction: str = "reduce") -> tuple[float, float]:
    """Torque and speed at the end of a line of stages, each an item of its own: 65/26 and 50/20 are one ratio."""
    parts = ["motor: {item: motor}"]
    above = "motor"
    for number, text in enumerate(ratios):
        parts.append(f"s{number}: {{item: stage-{number}, ratio: {text}, set: {direction}, driven-by: {above}}}")
        above = f"s{number}"
    parts.append(f"mill: {{item: mill, driven-by: {above}}}")
    items = [
        f"motor: {{kind: prime-mover, output: {{{output}}}}}",
        *(f"stage-{n}: {{kind: gear-stage, ratios: {{{text}: {{}}}}}}" for n, text in enumerate(ratios)),
        "mill: {kind: driven-machine}",
    ]
    rig = solved(folder, "\n".join(items), "\n".join(parts))
    return torque_in(rig, "mill"), speed_in(rig, "mill")


def test_15_kilowatts_at_1500_rpm(tmp_path: Path) -> None:
    """15 kW at 1500 rpm is 95.49 N·m. Source: the standard formula P[kW] = T·n/9549.3 (scipy.constants)."""
    torque, speed = _train(tmp_path, "power: 15 kW, speed: 1500 rpm", ["1"])
    assert torque == pytest.approx(95.49, abs=0.005)
    assert torque == pytest.approx(9549.29658551 * 15 / 1500, rel=1e-11)
    assert speed == pytest.approx(1500 * RPM)


def test_two_reducing_stages_of_three(tmp_path: Path) -> None:
    """3600 rpm, 200 lbf·in, 60/20 twice: 400 rpm, 1800 lbf·in, 11.43 hp. Wentzell, Ex. 11.1 p. 217; seen."""
    torque, speed = _train(tmp_path, "torque: 200 lbf*in, speed: 3600 rpm", ["60/20", "60/20"])
    assert speed / RPM == pytest.approx(400)
    assert torque / LBF_IN == pytest.approx(1800)
    assert torque * speed / HP == pytest.approx(11.43, rel=WENTZELL + 0.005 / 11.43)


def test_ratio_twelve(tmp_path: Path) -> None:
    """1.5 hp at 1750 rpm, 36/12 and 64/16: 145.83 rpm, 648 lbf·in (0.04 %). Wentzell, Ex. 11.5 p. 241; seen."""
    torque, speed = _train(tmp_path, "power: 1.5 hp, speed: 1750 rpm", ["36/12", "64/16"])
    assert speed / RPM == pytest.approx(145.83, abs=0.005)
    assert torque / LBF_IN == pytest.approx(648, rel=WENTZELL)


def test_three_reducing_stages(tmp_path: Path) -> None:
    """975 rpm, 50/20, 75/25, 65/26: 52 rpm. Khurmi & Gupta, *Theory of Machines*, Ex. 13.1 p. 432; seen."""
    _, speed = _train(tmp_path, "torque: 10 N*m, speed: 975 rpm", ["50/20", "75/25", "65/26"])
    assert speed / RPM == pytest.approx(52)


def test_two_reducing_stages_of_two(tmp_path: Path) -> None:
    """600 rpm, 50/25 and 40/20: 150 rpm. Bhatt & Mehta, Ex. 13.6 p. 30; seen."""
    _, speed = _train(tmp_path, "torque: 10 N*m, speed: 600 rpm", ["50/25", "40/20"])
    assert speed / RPM == pytest.approx(150)


def test_25_horsepower_at_1000_rpm(tmp_path: Path) -> None:
    """25 hp at 1000 rpm is 1576 lbf·in. Budynas & Nisbett, solutions to ch. 13; seen."""
    torque, _ = _train(tmp_path, "power: 25 hp, speed: 1000 rpm", ["1"])
    assert torque / LBF_IN == pytest.approx(1576, abs=0.5)


def test_thirty_to_one_exactly(tmp_path: Path) -> None:
    """96/16 and 80/16 make 30 : 1, 88/16 twice 30.25 : 1. *Shigley's*, Ex. 13-3 and 13-4; seen. Through a rig."""
    for ratios, whole in ((["96/16", "80/16"], 30), (["88/16", "88/16"], 30.25)):
        torque, speed = _train(tmp_path, "torque: 10 N*m, speed: 363 rad/s", ratios)
        assert (torque, speed) == pytest.approx((10 * whole, 363 / whole), rel=1e-15)


def test_change_wheels(tmp_path: Path) -> None:
    """26/4 = 65·75/(25·30), 35/4 = 105·100/(30·40). Bevan, *Theory of Machines*, ch. 11 Ex. 1 p. 369; seen."""
    for ratios, top in ((["65/25", "75/30"], 26), (["105/30", "100/40"], 35)):
        _, speed = _train(tmp_path, f"torque: 10 N*m, speed: {top} rad/s", ratios)
        assert speed == pytest.approx(4, rel=1e-15)


def test_an_astronomical_train(tmp_path: Path) -> None:
    """293/12·152/107·358/295·101/67·61/44 = 87.9692571945795. A published astronomical train; seen."""
    ratios = ["293/12", "152/107", "358/295", "101/67", "61/44"]
    _, speed = _train(tmp_path, "torque: 100 N*m, speed: 1 rad/s", ratios, "increase")
    assert speed == pytest.approx(87.9692571945795, rel=1e-13)


def test_the_prime_mover_itself_is_in_internal_units(tmp_path: Path) -> None:
    """A motor of 95.49 N·m at 1500 rpm leaves 95.49 N·m at 50·π rad/s. By hand."""
    items = "motor: {kind: prime-mover, output: {torque: 95.49 N*m, speed: 1500 rpm}}\nmill: {kind: driven-machine}"
    rig = solved(tmp_path, items, "motor: {item: motor}\nmill: {item: mill, driven-by: motor}")
    assert torque_out(rig, "motor") == pytest.approx(95.49)
    assert speed_out(rig, "motor") == pytest.approx(50 * math.pi)
