"""Parts taken out of a line, open ends used and undriven parts driven: what is offered, and where nothing is."""

from pathlib import Path

import pytest
from repair_bench import edited, plan_for, workshop_of

from lineshaft.check.rulebook import open_rulebook
from lineshaft.repair.proof.context import RepairContext, open_repair_context
from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository

CATALOGUE = """catalogue: 1
edition: "1"
lubricants: [flax-oil]
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  shaft: {kind: shaft}
  stage: {kind: gear-stage, ratios: [3]}
  fork: {kind: splitter, outlets: 2, shares: [[1, 1]]}
  press:
    kind: driven-machine
    work: {unit: stroke, times: [[1 rad/s, 90 s], [30 rad/s, 7 s]], between: linear}
    makes: {lubricant: flax-oil, amount: 30 mL}
  mill:
    kind: driven-machine
    work: {unit: sack, times: [[1 rad/s, 90 s], [30 rad/s, 7 s]], between: linear}
  wet-stage:
    kind: gear-stage
    ratios: [3]
    lubricant: {kind: flax-oil, holds: 2 L, uses: 0.1 mL/s}
"""
HEAD = "rig: 1\ncatalogue: bench.catalogue.yaml\nparts:\n  wheel: {item: wheel}\n"
LEG = """blueprint: 1
catalogue: bench.catalogue.yaml
inlets: {in: {torque-up-to: 950 N*m, speed-up-to: 30 rad/s}}
parts:
  down: {item: stage, ratio: 3, set: reduce, driven-by: in}
outlets: {out: down}
"""


def _alone(folder: Path) -> RepairContext:
    """The leg judged alone."""
    (folder / "bench.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    loader = Loader(Repository(folder.resolve(), folder.resolve()))
    loaded = loader.blueprint_alone((folder / "leg.blueprint.yaml").resolve())
    return open_repair_context(loader, loaded, open_rulebook())


def _titles(folder: Path, rig: str, rule: str, part: str | None = None) -> list[str]:
    return [repair.title for repair in plan_for(workshop_of(folder, CATALOGUE, HEAD + rig), rule, part).repairs]


def test_no_more_than_five_ways_are_shown(tmp_path: Path) -> None:
    """An open end may drive each of six mills that nothing drives; five of the ways are shown, none twice."""
    mills = "".join(f"  mill-{letter}: {{item: mill}}\n" for letter in "abcdef")
    titles = _titles(tmp_path, "  lay: {item: shaft, driven-by: wheel}\n" + mills, "loose-end", "lay")
    assert len(titles) == len(set(titles)) == 5
    assert set(titles) <= {f"drive mill-{letter} by lay" for letter in "abcdef"}


def test_so_many_further_ways_are_looked_at_and_no_more(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With two looks beyond the first repair there are three."""
    monkeypatch.setattr("lineshaft.repair.plan.proving.MOST_MORE_LOOKS", 2)
    mills = "".join(f"  mill-{letter}: {{item: mill}}\n" for letter in "abcdef")
    titles = _titles(tmp_path, "  lay: {item: shaft, driven-by: wheel}\n" + mills, "loose-end", "lay")
    assert len(titles) == 3


def test_an_undriven_part_that_drives_another_is_not_taken_out(tmp_path: Path) -> None:
    """A shaft that nothing drives goes where nothing hangs on it; with a mill on it, it is driven by the open end."""
    open_end = "  lay: {item: shaft, driven-by: wheel}\n  pole: {item: shaft}\n"
    assert "take pole out" in _titles(tmp_path, open_end, "loose-end", "pole")
    mill = "  mill: {item: mill, driven-by: pole}\n"
    assert _titles(tmp_path, open_end + mill, "loose-end", "pole") == ["drive pole by lay"]


def test_a_press_that_a_circuit_hangs_on_is_not_taken_out(tmp_path: Path) -> None:
    """Undriven it makes no oil; it may be driven, and without a circuit it may go."""
    press = (
        "  lay: {item: shaft, driven-by: wheel}\n  press: {item: press}\n"
        "  other: {item: wheel}\n  step: {item: wet-stage, ratio: 3, set: reduce, driven-by: other}\n"
        "  mill: {item: mill, driven-by: step}\n"
    )
    circuit = (
        "lubrication:\n"
        "  flax: {lubricant: flax-oil, tank: {holds: 5 L, charge: 5 L}, supplied-by: press, feeds: [step]}\n"
    )
    fill = "commissioning:\n  - fill: {part: step, with: 2 L}\n  - start: wheel\n  - start: other\n"
    assert "take press out" in _titles(tmp_path, press + fill, "loose-end", "press")
    titles = _titles(tmp_path, press + circuit, "loose-end", "press")
    assert titles == ["drive press by lay"]


def test_stages_that_undo_one_another_in_two_files_stay(tmp_path: Path) -> None:
    """One of the two stands in a blueprint, which others may use: the rig's file cannot take it out."""
    (tmp_path / "leg.blueprint.yaml").write_text(LEG, "utf-8")
    rig = (
        "  leg: {blueprint: leg.blueprint.yaml, driven-by: wheel}\n"
        "  up: {item: stage, ratio: 3, set: increase, driven-by: leg.out}\n  mill: {item: mill, driven-by: up}\n"
        "commissioning:\n  - set: {part: up, to: increase}\n  - start: wheel\n"
    )
    assert _titles(tmp_path, rig, "opposed-stages") == []


def test_a_stage_that_takes_a_parameter_is_not_taken_out_of_a_blueprint(tmp_path: Path) -> None:
    """What rigs give it would count for nothing; the same two stages without a parameter go."""
    for way, title in (("increase", "take up and down out"), ("$way", None)):
        (tmp_path / "leg.blueprint.yaml").write_text(
            LEG.replace("in}\n", "up}\n").replace(
                "parts:\n",
                "takes: {way: {kind: direction, default: increase}}\nparts:\n"
                "  lay: {item: shaft, driven-by: in}\n"
                f"  up: {{item: stage, ratio: 3, set: {way}, driven-by: lay}}\n",
            ),
            "utf-8",
        )
        context = _alone(tmp_path)
        assert [r.title for r in plan_for(context, "opposed-stages").repairs] == ([title] if title else [])


@pytest.mark.parametrize(("at", "torque"), [("fork.a", "450 N*m"), ("other", "900 N*m")])
def test_a_reading_beside_what_is_taken_out_stays_as_it_was_written(tmp_path: Path, at: str, torque: str) -> None:
    """At an outlet of the splitter that loses another one, and on another line: 900 N*m in two halves, by hand."""
    catalogue = CATALOGUE.replace("outlets: 2, shares: [[1, 1]]", "shares: [[1, 1, 2], [1, 1]]")
    rig = HEAD + (
        "  fork: {item: fork, shares: {a: 1, b: 1, c: 2}, driven-by: wheel}\n"
        "  mill: {item: mill, driven-by: fork.a}\n  saw: {item: mill, driven-by: fork.b}\n"
        "  other: {item: wheel}\n  stone: {item: mill, driven-by: other}\n"
        f"readings:\n  - {{at: {at}, torque: {torque}}}\n"
    )
    context = workshop_of(tmp_path, catalogue, rig)
    repair = plan_for(context, "loose-end").repairs[0]
    assert repair.title == "take fork.c out"
    assert edited(context, repair) == rig.replace("{a: 1, b: 1, c: 2}", "{a: 1, b: 1}")
