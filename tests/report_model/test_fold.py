"""Large schematics fold: what is alike once, with its number; what is at fault never; the paths to a part."""

from pathlib import Path

import pytest

from lineshaft.commands.one_rig import solved_rig
from lineshaft.report_model.excerpt import paths_to
from lineshaft.report_model.fold import folded
from lineshaft.report_model.schematic import schematic
from lineshaft.report_model.schematic_record import Frame, Link, Node, Schematic

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"


@pytest.fixture
def works(monkeypatch: pytest.MonkeyPatch) -> Schematic:
    """The largest sample: three saws alike behind shaft and clutch, four stones alike behind shaft and stage."""
    monkeypatch.chdir(SAMPLES.parent)
    return schematic(solved_rig(str(SAMPLES / "whole-works.rig.yaml")))


def test_what_is_alike_is_drawn_once(works: Schematic) -> None:
    """Of 38 parts 23 stay: two of three saw lines (of 3 parts) and three of four stone lines (of 3) are folded away."""
    found = folded(works)
    assert len(works.nodes) == 38
    assert len(found.nodes) == 38 - 2 * 3 - 3 * 3
    alike = {node.name: (node.alike, node.stands_for) for node in found.nodes if node.alike > 1}
    assert alike["saw-a"] == (3, ("saw-b", "saw-c"))
    assert alike["stone-step-a"] == (4, ("stone-step-b", "stone-step-c", "stone-step-d"))
    assert {link.outlet for link in found.links} >= {"a, b, c", "a, b, c, d"}


def test_what_a_finding_stands_at_is_not_folded(works: Schematic) -> None:
    """With a fault at saw-b its line stays whole, and the two others are one."""
    found = folded(works, {"saw-b"})
    names = {node.name for node in found.nodes}
    assert {"saw-b", "saw-clutch-b", "saw-lay-b", "saw-a"} <= names
    assert "saw-c" not in names


def test_small_rigs_are_drawn_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three stones alike in a rig of a dozen parts are drawn one by one."""
    monkeypatch.chdir(SAMPLES.parent)
    plan = schematic(solved_rig(str(SAMPLES / "three-stones.rig.yaml")))
    assert folded(plan) is plan


def test_only_the_paths_to_a_part(works: Schematic) -> None:
    """To the press lead wheel, fan, yard's stage and splitter, mill's stage and splitter; its circuit stays."""
    found = paths_to(works, "press")
    assert [node.name for node in found.nodes] == [
        "wheel", "fan", "yard-step", "yard-fan", "mill-step", "mill-fan", "press",
    ]  # fmt: skip
    assert len(found.links) == 6
    assert [circuit.name for circuit in found.circuits] == ["flax"]


def plan_with_blueprints(count: int, over: str = "") -> Schematic:
    """A wheel that drives so many blueprints of three parts in line, each with another load."""
    nodes = [Node("wheel", None, "creek-wheel", "prime-mover", ("gives",), None, None, True, False)]
    links, frames = [], []
    for leg in range(count):
        first = len(nodes)
        for at, (name, figure) in enumerate((("step", "stage-reducing"), ("lay", "shaft"), ("saw", "driven-machine"))):
            share = (leg + 3 * at + 1) / (5 * count)
            part = f"leg-{leg}/{name}"
            nodes.append(Node(part, None, name, figure, (name,), share, "torque", True, part == over))
            source = 0 if not at else first + at - 1
            links.append(Link(source, first + at, f"way-{leg}" if not at else None, 90.0 + leg, 7.0, True))
        frames.append(Frame(f"leg-{leg}", "saw-leg.blueprint.yaml", (first, first + 1, first + 2)))
    return Schematic("a.rig.yaml", "Legs", tuple(nodes), tuple(links), frames=tuple(frames))


def test_blueprints_fold_where_a_rig_stays_large() -> None:
    """Thirty blueprints of three parts that are not alike: 91 parts become 31, each with its worst share."""
    found = folded(plan_with_blueprints(30))
    assert len(found.nodes) == 31
    leg = next(node for node in found.nodes if node.name == "leg-7")
    assert (leg.figure, leg.does, leg.share) == ("blueprint", ("3 parts, 1 machine",), (7 + 3 * 2 + 1) / 150)
    assert leg.stands_for == ("leg-7/step", "leg-7/lay", "leg-7/saw")
    assert len(found.links) == 30
    assert found.frames == ()


def test_a_blueprint_at_fault_stays_unfolded() -> None:
    """One with a part over its limit, and one with a finding, are drawn whole, in their frames."""
    found = folded(plan_with_blueprints(30, over="leg-3/lay"), {"leg-5/saw"})
    assert [frame.name for frame in found.frames] == ["leg-3", "leg-5"]
    assert len(found.nodes) == 31 + 2 * 2
