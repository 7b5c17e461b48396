"""Rigs of all kinds of part, solved by the program and by linear equations that know nothing of it."""

import tempfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from independent.linear_solver import Ports, solve
from rig_maker import GeneratedRig, make_rig

from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository
from lineshaft.solve.solved_rig import SolvedRig, solve_loaded

_EXACT = 1e-9
_KINDS = {
    "prime-mover",
    "shaft",
    "gear-stage",
    "right-angle",
    "splitter",
    "combiner",
    "clutch",
    "driven-machine",
}


def _solved(generated: GeneratedRig) -> SolvedRig:
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder).resolve()
        (root / "made.rig.yaml").write_text(generated.text, encoding="utf-8")
        (root / generated.catalogue).write_text(generated.catalogue_text, encoding="utf-8")
        loaded = Loader(Repository(root, root)).rig(root / "made.rig.yaml")
        assert loaded.faults == ()
        return solve_loaded(loaded)


def _near(value: float) -> object:
    return pytest.approx(value, rel=_EXACT, abs=0.0)


def _compare(rig: SolvedRig, number: int, ports: Ports) -> None:
    """One part: each inlet's torque, the speed in, each outlet's torque, the speed out."""
    flows, part = rig.flows, rig.parts[number]
    arrived = tuple(rig.inlet_torque(number, inlet) for inlet in range(len(part.inlets)))
    assert arrived == _near(ports.torque_in)  # type: ignore[arg-type]
    if ports.torque_in:
        assert flows.torque_in[number] == _near(max(ports.torque_in))
        assert [flows.speed_in[number]] * len(ports.speed_in) == _near(list(ports.speed_in))  # type: ignore[arg-type]
    if ports.torque_out:
        assert flows.torque_out[number] == _near(max(ports.torque_out))
        assert flows.passed[number] == _near(sum(ports.torque_out))
        assert [flows.speed_out[number]] * len(ports.speed_out) == _near(list(ports.speed_out))  # type: ignore[arg-type]


@given(seed=st.integers(0, 2**32), parts=st.integers(5, 200))
def test_every_port_agrees_with_a_linear_solve(seed: int, parts: int) -> None:
    """Torque and speed at every inlet and outlet of a random rig are the linear system's, to 1e-9."""
    generated = make_rig(seed, parts)
    expected = solve(generated.plan)
    rig = _solved(generated)
    assert {part.name for part in rig.parts} == set(expected)
    assert rig.unsolved == 0
    for number, part in enumerate(rig.parts):
        _compare(rig, number, expected[part.name])


def test_a_large_rig_agrees_too() -> None:
    """The same for 5,000 parts in some 250 trains."""
    generated = make_rig(1, 5000)
    expected = solve(generated.plan)
    rig = _solved(generated)
    for number, part in enumerate(rig.parts):
        _compare(rig, number, expected[part.name])


def test_the_maker_makes_parts_of_every_kind() -> None:
    """Twenty rigs of 60 parts have all eight kinds, both directions, and trains with several prime movers."""
    plan = [part for seed in range(20) for part in make_rig(seed, 60).plan]
    assert {part.kind for part in plan} == _KINDS
    assert {part.direction for part in plan} == {None, "reduce", "increase"}
    assert {part.movers for part in plan} >= {1, 2}


@given(seed=st.integers(0, 2**32), parts=st.integers(5, 600))
def test_a_seed_gives_the_same_rig_with_as_many_parts_as_asked(seed: int, parts: int) -> None:
    """The maker is a function of its seed and size, and makes exactly that many parts."""
    one, other = make_rig(seed, parts), make_rig(seed, parts)
    assert (one.text, one.catalogue_text) == (other.text, other.catalogue_text)
    assert len(one.plan) == len(one.data["parts"]) == parts
