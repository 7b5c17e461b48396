"""A generated rig, and the same rig cut into blueprints: one solution, by the program and by linear equations."""

import tempfile
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from independent.linear_solver import solve
from rig_maker import FAULTS, GeneratedRig, break_one, make_rig
from rig_maker.render import render

from lineshaft.check.inspection import inspect_rig
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.check.rulebook import open_rulebook
from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository
from lineshaft.solve.solved_rig import SolvedRig, solve_loaded

Data = dict[str, Any]
_UNREAD = ("unknown-item", "unknown-driver", "bad-quantity", "not-offered", "shared-outlet")
"""Faults that leave parts unread or name the first of several in the order of the file, which a cut changes."""
_KINDS = sorted(set(FAULTS) - set(_UNREAD))
_PROMISE = {"torque-up-to": "1e12 N*m", "speed-up-to": "1e12 rad/s"}


def _cut(data: Data, inside: set[str], name: str, rng: Random) -> tuple[Data, Data, dict[str, str]]:
    """The file with some of its parts moved into a blueprint, that blueprint, and the parts' new names.

    Each reference that crosses the cut becomes an inlet or an outlet; some ratios become parameters.
    """
    parts: Data = data["parts"]
    inlets: dict[str, str] = {}
    outlets: dict[str, str] = {}
    moved: Data = {}
    takes: Data = {}
    handed: Data = {}

    def within(reference: str) -> str:
        if reference.partition(".")[0] in inside:
            return reference
        return inlets.setdefault(reference, f"in{len(inlets)}")

    def without(reference: str) -> str:
        if reference.partition(".")[0] not in inside:
            return reference
        return f"{name}.{outlets.setdefault(reference, f'out{len(outlets)}')}"

    def redirected(entry: Data, turn: Any) -> Data:
        written = entry.get("driven-by")
        if isinstance(written, dict):
            return {**entry, "driven-by": {inlet: turn(source) for inlet, source in written.items()}}
        if isinstance(written, list):
            return {**entry, "driven-by": [turn(source) for source in written]}
        return dict(entry) if written is None else {**entry, "driven-by": turn(written)}

    kept: Data = {}
    for part, entry in parts.items():
        if part not in inside:
            kept[part] = redirected(entry, without)
            continue
        moved[part] = redirected(entry, within)
        if "ratio" in entry and rng.random() < 0.5:
            parameter = f"r{len(takes)}"
            takes[parameter] = {"kind": "ratio"} if rng.random() < 0.5 else {"kind": "ratio", "default": entry["ratio"]}
            if "default" not in takes[parameter]:
                handed[parameter] = entry["ratio"]
            moved[part]["ratio"] = f"${parameter}"
    line: Data = {"blueprint": f"{name}.blueprint.yaml"}
    if inlets:
        line["driven-by"] = {inlet: reference for reference, inlet in inlets.items()}
    if handed:
        line["with"] = handed
    blueprint: Data = {"blueprint": 1, "catalogue": data["catalogue"], "parts": moved}
    if takes:
        blueprint["takes"] = takes
    if inlets:
        blueprint["inlets"] = {inlet: dict(_PROMISE) for inlet in inlets.values()}
    if outlets:
        blueprint["outlets"] = {outlet: reference for reference, outlet in outlets.items()}
    return {**data, "parts": {**kept, name: line}}, blueprint, {part: f"{name}/{part}" for part in inside}


def _renamed(value: Any, names: dict[str, str]) -> Any:
    """Steps and circuits with the parts' new names."""
    if isinstance(value, dict):
        return {key: _renamed(inner, names) if key != "to" else inner for key, inner in value.items()}
    if isinstance(value, list):
        return [_renamed(inner, names) for inner in value]
    return names.get(value, value) if isinstance(value, str) else value


def _solved(root: Path, generated: GeneratedRig, text: str) -> SolvedRig:
    (root / "made.rig.yaml").write_text(text, encoding="utf-8")
    (root / generated.catalogue).write_text(generated.catalogue_text, encoding="utf-8")
    loaded = Loader(Repository(root, root)).rig(root / "made.rig.yaml")
    assert loaded.faults == ()
    return solve_loaded(loaded)


def _cut_up(generated: GeneratedRig, rng: Random, root: Path) -> tuple[str, dict[str, str]]:
    """Write two blueprints, the second with the first inside it or beside it; the rig's text and all new names."""
    data = generated.data
    names = list(data["parts"])
    first = set(rng.sample(names, rng.randint(1, max(1, len(names) // 2))))
    data, blueprint, one = _cut(data, first, "b-one", rng)
    rest = [part for part in data["parts"] if part != "b-one"]
    second = set(rng.sample(rest, rng.randint(1, max(1, len(rest) - 1)))) if rest else set()
    if second and rng.random() < 0.5:
        second.add("b-one")
    other: dict[str, str] = {}
    if second and second != set(data["parts"]):
        data, outer, other = _cut(data, second, "b-two", rng)
        (root / "b-two.blueprint.yaml").write_text(render(outer), encoding="utf-8")
    (root / "b-one.blueprint.yaml").write_text(render(blueprint), encoding="utf-8")
    where = other.get("b-one", "b-one")
    moved = {part: f"{where}/{part}" for part in one} | {p: n for p, n in other.items() if p != "b-one"}
    for section in ("commissioning", "lubrication"):
        if section in data:
            data = {**data, section: _renamed(data[section], moved)}
    return render(data), moved


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
        text, moved = _cut_up(generated, Random(cut), root)
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
        text, _ = _cut_up(replace(generated, data=yaml.safe_load(broken.text)), Random(cut), root)
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
            text, moved = _cut_up(make_rig(seed, 30), Random(seed), root)
            texts += [text, *(path.read_text("utf-8") for path in root.glob("*.blueprint.yaml"))]
            assert moved
    every = "\n".join(texts)
    assert "b-one.blueprint.yaml" in every
    assert "in3:" in every
    assert "out3:" in every
    assert "default:" in every
    assert "with:" in every
