"""Solid round shafts, T = τ·π·d³/16: the torque at hand lies between the sections that round to the printed one."""

from pathlib import Path

import pytest
from reference.small_rig import solved, torque_out

from lineshaft.solve.limits import over, torque_carried


@pytest.mark.parametrize(
    ("output", "shear", "diameter", "rounding", "unit"),
    [
        pytest.param("power: 40 hp, speed: 500 rpm", "6000 psi", 1.62, 0.005, "in", id="Gere 3.7 p. 219, slow"),
        pytest.param("power: 40 hp, speed: 3000 rpm", "6000 psi", 0.89, 0.005, "in", id="Gere 3.7 p. 219, fast"),
        pytest.param("power: 5 hp, speed: 175 rpm", "14500 psi", 0.858, 0.0005, "in", id="Hibbeler 5.4 p. 191"),
        pytest.param("power: 5 hp, speed: 3600 rpm", "8500 psi", 0.374, 0.0005, "in", id="Beer & Johnston 3.06 p. 178"),
        pytest.param("power: 20 kW, speed: 2 rev/s", "40 MPa", 58.7, 0.05, "mm", id="Pytel & Kiusalaas 3.3.1 p. 79"),
    ],
)
def test_least_diameter(
    tmp_path: Path, output: str, shear: str, diameter: float, rounding: float, unit: str
) -> None:
    """The printed diameter is the least that stands the power, to its last digit. Sources in the ids; all seen."""
    items = f"""motor: {{kind: prime-mover, output: {{{output}}}}}
    thin: {{kind: shaft, section: {{diameter: {diameter - rounding:.5f} {unit}, allowable-shear: {shear}}}}}
    thick: {{kind: shaft, section: {{diameter: {diameter + rounding:.5f} {unit}, allowable-shear: {shear}}}}}
    mill: {{kind: driven-machine}}"""
    parts = """motor: {item: motor}
    thin: {item: thin, driven-by: motor}
    thick: {item: thick, driven-by: thin}
    mill: {item: mill, driven-by: thick}"""
    rig = solved(tmp_path, items, parts)
    thin, thick = (rig.parts[rig.rig.index[name]].torque_limit for name in ("thin", "thick"))
    assert thin is not None and thick is not None
    assert thin < torque_out(rig, "motor") < thick


@pytest.mark.parametrize(("torque", "holds"), [("560.5 lbf*in", True), ("561.5 lbf*in", False)])
def test_weakest_link(tmp_path: Path, torque: str, holds: bool) -> None:
    """Shafts of 0.75 in and, behind 2.8 : 1, 1.0 in at 8000 psi stand 561 lbf·in on the first shaft, no more.

    Beer & Johnston, *Mechanics of Materials*, Sample Prob. 3.4 p. 166; seen. The second shaft is the weakest link.
    """
    items = f"""motor: {{kind: prime-mover, output: {{torque: {torque}, speed: 100 rpm}}}}
    first: {{kind: shaft, section: {{diameter: 0.75 in, allowable-shear: 8000 psi}}}}
    stage: {{kind: gear-stage, ratios: {{2.8: {{}}}}}}
    second: {{kind: shaft, section: {{diameter: 1 in, allowable-shear: 8000 psi}}}}
    mill: {{kind: driven-machine}}"""
    parts = """motor: {item: motor}
    first: {item: first, driven-by: motor}
    stage: {item: stage, ratio: 2.8, set: reduce, driven-by: first}
    second: {item: second, driven-by: stage}
    mill: {item: mill, driven-by: second}"""
    rig = solved(tmp_path, items, parts)
    broken = set()
    for name in ("first", "second"):
        number = rig.rig.index[name]
        limit = rig.parts[number].torque_limit
        assert limit is not None
        if over(torque_carried(rig.flows, number), limit):
            broken.add(name)
    assert broken == (set() if holds else {"second"})
