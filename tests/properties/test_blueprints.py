"""A generated rig, and the same rig cut into blueprints: one solution, by the program and by linear equations."""

import tempfile
from pathlib import Path
from random import Random
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from independent.linear_solver import solve
from rig_maker import FAULTS, GeneratedRig, break_one, make_rig
from rig_maker.cut import cut_up

from lineshaft.check.inspection import inspect_rig
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.check.rulebook import open_rulebook
from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository
from lineshaft.solve.solved_rig import SolvedRig, solve_loaded

_UNREAD = ("unknown-item", "unknown-driver", "bad-quantity", "not-offered", "shared-outlet")
"""Faults that leave parts unread or name the first of several in the order of the file, which a cut changes."""
_KINDS = sorted(set(FAULTS) - set(_UNREAD))


def _solved(root: Path, generated: GeneratedRig, text: str) -> SolvedRig:
    (root / "made.rig.yaml").write_text(text, encoding="utf-8")
    (root / generated.catalogue).write_text(generated.catalogue_text, encoding="utf-8")
    loaded = Loader(Repository(root, root)).rig(root / "made.rig.yaml")
    assert loaded.faults == ()
    return solve_loaded(loaded)


def _cut_up(data: dict[str, Any], rng: Random, root: Path) -> tuple[str, dict[str, str]]:
    """Write the blueprints of a cut; the rig's text and all new names."""
    cut = cut_up(data, rng)
    for name, text in cut.blueprints.items():
        (root / name).write_text(text, encoding="utf-8")
    return cut.text, cut.moved


@settings(max_examples=60)
@given(seed=st.integers(0, 2**32), parts=st.integers(5, 60), cut=st.integers(0, 2**32))
def test_a_rig_cut_into_blueprints_is_the_same_rig(seed: int, parts: int, cut: int) -> None:
    """Torque and speed of every part are those of the linear system for the uncut rig; the findings stay as many."""
    generated = make_rig(seed, parts)
    expected = solve(generated.plan)
    book = open_rulebook()
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder).resolve()
        whole = _solved(root, generated, generated.text)
        text, moved = _cut_up(generated.data, Random(cut), root)
        rig = _solved(root, generated, text)
        assert rig.unsolved == 0
        assert {part.name for part in rig.parts} == {moved.get(name, name) for name in expected}
        for name, ports in expected.items():
            number = rig.rig.index[moved.get(name, name)]
            if ports.torque_out:
                assert rig.flows.passed[number] == pytest.approx(sum(ports.torque_out), rel=1e-9)
                assert rig.flows.speed_out[number] == pytest.approx(ports.speed_out[0], rel=1e-9)
            if ports.torque_in:
                assert rig.flows.torque_in[number] == pytest.approx(max(ports.torque_in), rel=1e-9)
        told = sorted((finding.rule, finding.level) for finding in inspect_rig(whole, book))
        assert sorted((finding.rule, finding.level) for finding in inspect_rig(rig, book)) == told


@settings(max_examples=80)
@given(
    seed=st.integers(0, 2**32), parts=st.integers(12, 80), cut=st.integers(0, 2**32), kind=st.sampled_from(_KINDS)
)
def test_a_fault_is_the_same_inside_a_blueprint(seed: int, parts: int, cut: int, kind: str) -> None:
    """A seeded fault gives the same findings of the same rules, at the same parts, whether its part is moved or not."""
    generated = make_rig(seed, parts)
    broken = break_one(generated, kind, seed)
    if broken is None:
        return
    book = open_rulebook()
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder).resolve()
        told = _told(inspect_rig(_solved(root, generated, broken.text), book))
        assert (broken.rule, broken.part) in told
        text, _ = _cut_up(yaml.safe_load(broken.text), Random(cut), root)
        assert _told(inspect_rig(_solved(root, generated, text), book)) == told


def _told(findings: tuple[JudgedFinding, ...]) -> list[tuple[str, str]]:
    """Rules and parts by their own names; a list's place is the file it stands in, so steps are told by part alone."""
    return sorted((finding.rule, (finding.part or "").rpartition("/")[2]) for finding in findings)


def test_the_cut_makes_what_it_is_to_test() -> None:
    """Over fifty cuts there are nested blueprints, inlets, outlets, parameters with a default and without."""
    texts = []
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        for seed in range(50):
            text, moved = _cut_up(make_rig(seed, 30).data, Random(seed), root)
            texts += [text, *(path.read_text("utf-8") for path in root.glob("*.blueprint.yaml"))]
            assert moved
    every = "\n".join(texts)
    assert "b-one.blueprint.yaml" in every
    assert "in3:" in every
    assert "out3:" in every
    assert "default:" in every
    assert "with:" in every
