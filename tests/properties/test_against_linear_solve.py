"""Rigs of all kinds of part, solved by the program and by linear equations that know nothing of it."""

import tempfile
from dataclasses import replace
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st
from independent.linear_solver import solve
from independent.port_comparison import disagreements
from rig_maker import GeneratedRig, make_rig

from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository
from lineshaft.solve.solved_rig import SolvedRig, solve_loaded

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


@given(seed=st.integers(0, 2**32), parts=st.integers(5, 200))
def test_every_port_agrees_with_a_linear_solve(seed: int, parts: int) -> None:
    """Torque and speed at every inlet and outlet of a random rig are the linear system's, to 1e-9."""
    generated = make_rig(seed, parts)
    assert disagreements(_solved(generated), solve(generated.plan)) == []


def test_a_port_that_is_off_by_a_millionth_is_told() -> None:
    """A comparison that cannot fail would prove nothing: one torque of the linear solve is changed by 1e-6."""
    generated = make_rig(3, 12)
    expected = solve(generated.plan)
    name = next(name for name, ports in expected.items() if ports.torque_in)
    ports = expected[name]
    expected[name] = replace(ports, torque_in=(ports.torque_in[0] * 1.000001, *ports.torque_in[1:]))
    found = disagreements(_solved(generated), expected)
    assert found
    assert all(words.startswith(f"{name}: torque") for words in found)


def test_a_large_rig_agrees_too() -> None:
    """The same for 5,000 parts in some 250 trains."""
    generated = make_rig(1, 5000)
    assert disagreements(_solved(generated), solve(generated.plan)) == []


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
