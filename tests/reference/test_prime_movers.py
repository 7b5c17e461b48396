"""Water power against published examples."""

from pathlib import Path

import pytest
from reference.small_rig import solved, speed_out, torque_out

from lineshaft.solve.prime_mover import hydraulic_power


def test_ideal_power_of_a_turbine() -> None:
    """998 kg/m³, 12.8 m³/s, 325 m: 40.73 MW. Çengel & Cimbala, *Fluid Mechanics*, Ex. 14-12 p. 819; seen.

    The example takes g = 9.81, hence 0.1 %.
    """
    assert hydraulic_power(998, 12.8, 325, 1) == pytest.approx(40.73e6, rel=1e-3)


def test_real_power_of_a_turbine(tmp_path: Path) -> None:
    """With efficiencies 0.952, 0.945, 0.965 the same water gives 35.36 MW. The same example, 0.1 %; seen."""
    efficiency = 0.952 * 0.945 * 0.965
    water = f"flow: 12.8 m^3/s, efficiency: {efficiency}, speed: 20 rad/s, density: 998 kg/m^3"
    rig = solved(
        tmp_path,
        f"turbine: {{kind: prime-mover, hydraulic: {{{water}}}}}\nmill: {{kind: driven-machine}}",
        "turbine: {item: turbine, head: 325 m}\nmill: {item: mill, driven-by: turbine}",
    )
    assert torque_out(rig, "turbine") * speed_out(rig, "turbine") == pytest.approx(35.36e6, rel=1e-3)
    assert speed_out(rig, "turbine") == pytest.approx(20)


def test_power_of_a_large_fall() -> None:
    """200 m³/s, 100 m, 0.9: 176.52 MW. Gupta, Ex. 8.1 p. 134; seen."""
    assert hydraulic_power(1000, 200, 100, 0.9) == pytest.approx(176.52e6, abs=5e3)
