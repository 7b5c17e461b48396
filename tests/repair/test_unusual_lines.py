"""Lines that are seldom met: clutches that are open, stages that change nothing, work that slows down at speed."""

from pathlib import Path

import pytest
from repair_bench import checked, edited, plan_for, workshop_of

from lineshaft.check.rulebook import open_rulebook
from lineshaft.repair.plan.fix_budget import offers
from lineshaft.repair.plan.pictured import pictured_repairs
from lineshaft.repair.proof.context import open_repair_context
from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository

CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}, made-of: {bar: 9}}
  quick-wheel: {kind: prime-mover, output: {torque: 360 N*m, speed: 20 rad/s}}
  reed: {kind: shaft, torque-limit: 700 N*m, made-of: {bar: 2}}
  rod: {kind: shaft, torque-limit: 1100 N*m, made-of: {bar: 5}}
  bevel: {kind: right-angle, ratios: [3]}
  stage: {kind: gear-stage, ratios: [1, 5/2, 3], made-of: {bar: 40}}
  clutch: {kind: clutch}
  fork: {kind: splitter, shares: [[1, 1], [3, 5], [1, 1, 1]], made-of: {bar: 3}}
  joint: {kind: combiner, made-of: {bar: 3}}
  mill: {kind: driven-machine, needs: {torque: 250 N*m}}
  press: {kind: driven-machine, needs: {torque: 540 N*m}}
raw: {bar: {worth: 1}}
"""
HEAD = "rig: 1\ncatalogue: bench.catalogue.yaml\nparts:\n  wheel: {item: wheel}\n"
LEG = """blueprint: 1
catalogue: bench.catalogue.yaml
inlets: {in: {torque-up-to: 950 N*m, speed-up-to: 9 rad/s}}
parts:
  lay: {item: rod, driven-by: in}
outlets: {out: lay}
"""
REED = "  lay: {item: reed, driven-by: ABOVE}\n"


def test_an_open_clutch_before_a_blueprint_asks_nothing_of_a_line(tmp_path: Path) -> None:
    """900 N*m on a reed of 700; nothing of it reaches the leg, and a rod, 3 bars more, takes the reed's place."""
    (tmp_path / "leg.blueprint.yaml").write_text(LEG, "utf-8")
    rig = (
        f"{HEAD}{REED.replace('ABOVE', 'wheel')}  hold: {{item: clutch, engaged: false, driven-by: lay}}\n"
        "  leg: {blueprint: leg.blueprint.yaml, driven-by: hold}\n  mill: {item: mill, driven-by: leg.out}\n"
    )
    context = workshop_of(tmp_path, CATALOGUE, rig)
    repair = plan_for(context, "torque-over-limit", "lay").repairs[0]
    assert (repair.title, repair.worth) == ("take rod for lay", 3)
    assert edited(context, repair) == rig.replace("lay: {item: reed", "lay: {item: rod")


def test_a_stage_that_undoes_a_bevel_already_may_go_on_doing_so(tmp_path: Path) -> None:
    """Between the two the reed of 700 N*m carries 900 / 3; that costs nothing, and the press still gets its 900."""
    rig = (
        f"{HEAD}  up: {{item: bevel, ratio: 3, set: increase, driven-by: wheel}}\n"
        "  down: {item: stage, ratio: 3, set: reduce, driven-by: up}\n"
        f"{REED.replace('ABOVE', 'down')}  press: {{item: press, driven-by: lay}}\n"
        "commissioning:\n  - set: {part: up, to: increase}\n  - start: wheel\n"
    )
    context = workshop_of(tmp_path, CATALOGUE, rig)
    (repair,) = plan_for(context, "torque-over-limit", "lay").repairs
    assert (repair.title, repair.worth) == ("reorder the line: up, then lay, then down", 0)
    assert checked(tmp_path, edited(context, repair)) == {("opposed-stages", "down")}


def test_a_stage_of_equal_wheels_goes_with_the_repair(tmp_path: Path) -> None:
    """It neither gains nor holds anything: out it saves its 40 bars, and the rod takes 3 more."""
    even = "  even: {item: stage, ratio: 1, set: increase, driven-by: wheel}\n"
    mill = "  mill: {item: mill, driven-by: lay}\n"
    context = workshop_of(tmp_path, CATALOGUE, HEAD + even + REED.replace("ABOVE", "even") + mill)
    repair = plan_for(context, "torque-over-limit", "lay").repairs[0]
    assert (repair.title, repair.worth) == ("take rod for lay, take even out", -37)
    assert edited(context, repair) == HEAD + "  lay: {item: rod, driven-by: wheel}\n" + mill


def test_lines_side_by_side_may_turn_the_other_way(tmp_path: Path) -> None:
    """A mill that needs 310 N*m at 19 rad/s, behind a stage of 460 N*m left reducing: two increasing give it 360.

    They carry 450 N*m each; one alone gets 900, and two that reduce carry 450 * 5/2 = 1,125 N*m.
    """
    catalogue = CATALOGUE.replace("ratios: [1, 5/2, 3], made", "torque-limit: 460 N*m, ratios: [5/2], made")
    catalogue = catalogue.replace("250 N*m", "310 N*m, speed: 19 rad/s")
    step = "  step: {item: stage, ratio: 5/2, set: reduce, driven-by: wheel}\n"
    context = workshop_of(tmp_path, catalogue, HEAD + step + "  mill: {item: mill, driven-by: step}\n")
    repair = plan_for(context, "machine-underdriven", "mill").repairs[0]
    assert repair.title.startswith("2 lines side by side, each stage 5/2 : 1 increasing")
    assert "set step to increase" in repair.title
    assert checked(tmp_path, edited(context, repair)) == set()


def test_the_lines_of_a_combiner_that_turn_are_made_to_agree(tmp_path: Path) -> None:
    """8 and 20 rad/s differ by 5/2; a third line behind an open clutch stands still and is left alone."""
    rig = HEAD + (
        "  quick: {item: quick-wheel}\n  third: {item: wheel}\n"
        "  hold: {item: clutch, engaged: false, driven-by: third}\n"
        "  joint: {item: joint, driven-by: [wheel, quick, hold]}\n  mill: {item: mill, driven-by: joint}\n"
    )
    found = plan_for(workshop_of(tmp_path, CATALOGUE, rig), "combiner-mismatch")
    assert "put stage 5/2 : 1 increasing, behind wheel as joint-step" in [repair.title for repair in found.repairs]


def test_shares_of_as_many_outlets_are_tried(tmp_path: Path) -> None:
    """Of three rows two are for two outlets: 5 of 8 parts of 900 N*m are 562.5, and the press needs 540."""
    rig = HEAD + (
        "  fork: {item: fork, shares: {a: 1, b: 1}, driven-by: wheel}\n"
        "  press: {item: press, driven-by: fork.a}\n  mill: {item: mill, driven-by: fork.b}\n"
    )
    repair = plan_for(workshop_of(tmp_path, CATALOGUE, rig), "machine-underdriven", "press").repairs[0]
    assert (repair.title, repair.worth) == ("share fork {a: 5, b: 3}", 0)


def test_a_machine_that_slows_down_at_speed_is_not_driven_too_fast(tmp_path: Path) -> None:
    """At 8 rad/s a sack takes 30 s; at 20 it takes 12 s, and at 24 it takes 18 s: too long again for 15 s.

    3 : 1 is the cheaper stage, and 5/2 : 1 the one that does.
    """
    text = "ratios: {5/2: {made-of: {bar: 40}}, 3: {made-of: {bar: 10}}}}"
    catalogue = CATALOGUE.replace("ratios: [1, 5/2, 3], made-of: {bar: 40}}", text).replace(
        "needs: {torque: 250 N*m}",
        "work: {unit: sack, times: [[8 rad/s, 30 s], [20 rad/s, 12 s], [24 rad/s, 18 s]], between: linear}",
    )
    rig = HEAD + "  mill: {item: mill, target: {time: 15 s}, driven-by: wheel}\n"
    context = workshop_of(tmp_path, catalogue, rig)
    repair = plan_for(context, "target-missed").repairs[0]
    assert "5/2 : 1 increasing" in repair.title
    assert ("target-missed", "mill") not in checked(tmp_path, edited(context, repair))


@pytest.mark.parametrize(("leg", "titles"), [
    (LEG, ["promise to stand no more than 700 N*m at in"]),
    (
        LEG.replace("torque-up-to: 950 N*m", "torque-up-to: $most").replace(
            "parts:", "takes: {most: {kind: torque, default: 950 N*m}}\nparts:"
        ),
        ["take rod for lay"],
    ),
    (LEG.replace("outlets: {out: lay}\n", ""), ["promise to stand no more than 700 N*m at in"]),
], ids=["promised", "promised by a parameter", "an open end"])  # fmt: skip
def test_what_a_blueprint_promises_is_lowered_where_it_is_written(
    tmp_path: Path, leg: str, titles: list[str]
) -> None:
    """950 N*m are promised over a reed of 700; a promise that each use may give is no figure of the blueprint's."""
    (tmp_path / "bench.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    path = tmp_path.resolve() / "leg.blueprint.yaml"
    path.write_text(leg.replace("item: rod", "item: reed"), "utf-8")
    loader = Loader(Repository(path.parent, path.parent))
    context = open_repair_context(loader, loader.blueprint_alone(path), open_rulebook())
    found = plan_for(context, "torque-over-limit", "lay")
    assert sorted(r.title for r in found.repairs if "side by side" not in r.title and "put" not in r.title) == titles


def test_more_findings_than_repairs_that_are_shared_each_get_their_own(tmp_path: Path) -> None:
    """Fifteen reeds on lines of their own, under 900 N*m: each is to be a rod, 3 bars more, cheaper than all else."""
    lines = "".join(
        f"  wheel-{n}: {{item: wheel}}\n  lay-{n}: {{item: reed, driven-by: wheel-{n}}}\n"
        f"  mill-{n}: {{item: mill, driven-by: lay-{n}}}\n"
        for n in range(1, 16)
    )
    catalogue = CATALOGUE.replace("  stage:", "  spare:").replace("kind: gear-stage", "kind: right-angle")
    context = workshop_of(tmp_path, catalogue, HEAD.replace("  wheel: {item: wheel}\n", lines))
    plans = offers(context, context.findings, shown=1)
    assert [[repair.title for repair in made.repairs] for made in plans] == [
        [f"take rod for {made.finding.part}"] for made in plans
    ]
    assert len(plans) == 15


def test_repairs_of_a_rig_too_large_to_be_drawn_are_not_pictured(tmp_path: Path) -> None:
    """A reed under 900 N*m beside 397 spare wheels is pictured as a rod: 400 parts in all; with one more it is not."""
    line = HEAD + REED.replace("ABOVE", "wheel") + "  mill: {item: mill, driven-by: lay}\n"
    wheels = [f"  spare-{n}: {{item: wheel}}\n" for n in range(1, 399)]
    found, _ = pictured_repairs(workshop_of(tmp_path, CATALOGUE, line + "".join(wheels[:397])))
    assert "take rod for lay" in [pictured.repair.title for pictured in found]
    assert pictured_repairs(workshop_of(tmp_path, CATALOGUE, line + "".join(wheels))) == ((), 0)


@pytest.mark.parametrize(("ratio", "offered"), [("3", True), ("$gear", False)])
def test_one_parameter_is_not_given_two_defaults(tmp_path: Path, ratio: str, offered: bool) -> None:
    """8 rad/s are to become 138 at 50 N*m: 5/2 by 7 gives 140 and 51.4, and nothing else of two stages does.

    Two stages of 3 : 1 are geared so where each has a ratio of its own, and not where one parameter stands in both.
    """
    catalogue = CATALOGUE.replace("[1, 5/2, 3]", "[5/2, 3, 7]").replace("250 N*m", "50 N*m, speed: 138 rad/s")
    (tmp_path / "bench.catalogue.yaml").write_text(catalogue, "utf-8")
    path = tmp_path.resolve() / "leg.blueprint.yaml"
    path.write_text(
        LEG.replace("950", "900")
        .replace("9 rad/s", "8 rad/s")
        .replace("parts:\n", "takes: {gear: {kind: ratio, default: 3}}\nparts:\n")
        .replace("  lay: {item: rod, driven-by: in}\noutlets: {out: lay}\n", "")
        + f"  one: {{item: stage, ratio: {ratio}, set: increase, driven-by: in}}\n"
        f"  two: {{item: stage, ratio: {ratio}, set: increase, driven-by: one}}\n"
        "  mill: {item: mill, driven-by: two}\n",
        "utf-8",
    )
    loader = Loader(Repository(path.parent, path.parent))
    context = open_repair_context(loader, loader.blueprint_alone(path), open_rulebook())
    titles = [repair.title for repair in plan_for(context, "machine-underdriven").repairs]
    both = ("gear one 5/2 : 1, gear two 7 : 1", "gear one 7 : 1, gear two 5/2 : 1")
    assert any(title.startswith(both) for title in titles) is offered, titles
