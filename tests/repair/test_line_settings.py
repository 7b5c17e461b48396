"""Parts of a line set otherwise: a stage the wrong way round, wherever a search of the line stops; settings alone."""

from itertools import pairwise
from pathlib import Path

import pytest
from repair_bench import edited, plan_for, workshop_of
from rig_maker import make_rig
from rig_maker.setbacks import SETBACKS
from shares import a_few

from lineshaft.check.effort import EFFORT_OF_CHECK
from lineshaft.check.rulebook import open_rulebook
from lineshaft.repair.line.demand import Demand
from lineshaft.repair.line.effort import Effort
from lineshaft.repair.plan.fix_all import fix_all, open_findings
from lineshaft.repair.plan.fix_budget import offers
from lineshaft.repair.plan.planner import plan
from lineshaft.repair.proof.context import RepairContext, open_repair_context
from lineshaft.repair.strategies.draft import Draft
from lineshaft.repair.strategies.goal import Goal, arriving
from lineshaft.repair.strategies.line_settings import LineSettings
from lineshaft.repair.strategies.lines_below import LinesBelow
from lineshaft.repair.strategies.prices import prices_of
from lineshaft.repair.strategies.proposal import strategy_context_of
from lineshaft.repair.strategies.segments import lines_to
from lineshaft.repair.strategies.shares import Sharing
from lineshaft.repair.strategies.strength import strength_of
from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository

CATALOGUE = """\
catalogue: 1
name: Yard
edition: "2"
grades: {iron: {torque-limit: 40 kN*m, speed-limit: 30 rad/s}, steel: {torque-limit: 50 kN*m, speed-limit: 35 rad/s}}
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}, made-of: {bar: 9}}
  stage: {kind: gear-stage, grades: [iron, steel], ratios: {5/2: {made-of: {bar: 4}}, 3: {made-of: {bar: 5}}}}
  angle: {kind: right-angle, ratios: {3: {made-of: {bar: 5}}, 5/2: {made-of: {bar: 4}}}}
  gatherer: {kind: combiner, inlets: 2, made-of: {bar: 3}}
  pump: {kind: driven-machine, grades: [iron, steel], needs: {torque: 1 kN*m, speed: 1 rad/s}}
raw: {bar: {worth: 1}}
"""
HEAD = "rig: 1\ncatalogue: bench.catalogue.yaml\nparts:\n"


def _mill(folder: Path, needs: str, stages: str, driven_by: str) -> RepairContext:
    """A wheel of 900 N·m at 8 rad/s, stages in line, a pump; the list sets the stages as they are declared."""
    catalogue = CATALOGUE.replace("torque: 1 kN*m, speed: 1 rad/s", needs)
    rig = f"{HEAD}  wheel: {{item: wheel}}\n{stages}  pump: {{item: pump, grade: iron, driven-by: {driven_by}}}\n"
    return workshop_of(folder, catalogue, rig)


def _stage(name: str, ratio: str, way: str, above: str) -> str:
    return f"  {name}: {{item: stage, grade: iron, ratio: {ratio}, set: {way}, driven-by: {above}}}\n"


def test_a_stage_the_wrong_way_round_is_found_where_the_search_stops_at_once(tmp_path: Path) -> None:
    """8 * 5/2 * 3 = 60 rad/s breaks the stage of 30; reduced by 5/2 and increased by 3 it is 9.6. In its list too."""
    catalogue = CATALOGUE.replace("torque: 1 kN*m, speed: 1 rad/s", "torque: 100 N*m, speed: 9 rad/s")
    rig = (
        f"{HEAD}  wheel: {{item: wheel}}\n{_stage('one', '5/2', 'increase', 'wheel')}"
        f"{_stage('two', '3', 'increase', 'one')}  pump: {{item: pump, grade: steel, driven-by: two}}\n"
        "commissioning:\n  - set: {part: one, to: increase}\n  - set: {part: two, to: increase}\n  - start: wheel\n"
    )
    context = workshop_of(tmp_path, catalogue, rig)
    finding = next(f for f in context.findings if f.part == "two" and f.rule == "speed-over-limit")
    found = plan(context, finding, steps=60)
    assert found.repairs[0].title == "set one to reduce"
    fixed = rig.replace("ratio: 5/2, set: increase", "ratio: 5/2, set: reduce").replace("one, to: inc", "one, to: red")
    assert edited(context, found.repairs[0]) == fixed.replace("to: redrease", "to: reduce")


def test_two_stages_the_wrong_way_round_are_a_setting(tmp_path: Path) -> None:
    """The pump needs 6 kN·m: both stages reduce, 900 * 5/2 * 3 = 6,750, and neither by itself does (2,700 at most)."""
    stages = _stage("one", "5/2", "increase", "wheel") + _stage("two", "3", "increase", "one")
    context = _mill(tmp_path, "torque: 6 kN*m, speed: 1 rad/s", stages, "two")
    finding = next(f for f in context.findings if f.rule == "machine-underdriven")
    found = plan(context, finding, up_to="setting")
    assert [repair.title for repair in found.repairs] == ["set one to reduce, set two to reduce"]


def test_where_no_setting_does_that_is_said_and_no_more(tmp_path: Path) -> None:
    """The pump needs 7 kN·m, and 900 * 5/2 * 3 are 6,750: another ratio does it, which is no setting."""
    stages = _stage("one", "5/2", "reduce", "wheel") + _stage("two", "3", "reduce", "one")
    context = _mill(tmp_path, "torque: 7 kN*m, speed: 0.5 rad/s", stages, "two")
    finding = next(f for f in context.findings if f.rule == "machine-underdriven")
    found = plan(context, finding, up_to="setting")
    assert found.no_repair == "no setting was found that mends it; `lineshaft repair bench.rig.yaml` looks for more"
    assert plan(context, finding).repairs[0].title == "gear one 3 : 1"


def test_a_substitution_that_was_not_found_in_time_is_not_denied(tmp_path: Path) -> None:
    """8 kN·m are 900 * 3 * 3: both stages of 5/2 have to change. With few steps the search stops, and says so."""
    stages = _stage("one", "5/2", "reduce", "wheel") + _stage("two", "5/2", "reduce", "one")
    context = _mill(tmp_path, "torque: 8 kN*m, speed: 0.5 rad/s", stages, "two")
    finding = next(f for f in context.findings if f.rule == "machine-underdriven")
    stopped = "no substitution was found that mends it, and the search stopped at its bound"
    assert (plan(context, finding, steps=20, up_to="substitution").no_repair or "").startswith(stopped)
    found = plan(context, finding, up_to="substitution")
    assert found.repairs[0].title == "gear one 3 : 1, gear two 3 : 1"


def test_one_stage_in_another_ratio_is_found_where_the_search_stops_at_once(tmp_path: Path) -> None:
    """The pump needs 7 kN·m: 900 * 5/2 * 3 are 6,750, and 900 * 3 * 3 are 8,100."""
    stages = _stage("one", "5/2", "reduce", "wheel") + _stage("two", "3", "reduce", "one")
    context = _mill(tmp_path, "torque: 7 kN*m, speed: 0.5 rad/s", stages, "two")
    finding = next(f for f in context.findings if f.rule == "machine-underdriven")
    assert plan(context, finding, steps=20).repairs[0].title == "gear one 3 : 1"


def test_another_grade_of_a_part_is_found_where_no_proof_of_a_line_is_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """900 * 5/2 are 2,250 N·m; iron stands 2,000 here and steel 3,000. The pump needs 2,200: no gear does with iron."""
    catalogue = CATALOGUE.replace("40 kN*m", "2 kN*m").replace("50 kN*m", "3 kN*m").replace("1 kN*m,", "2.2 kN*m,")
    rig = (
        f"{HEAD}  wheel: {{item: wheel}}\n{_stage('one', '5/2', 'reduce', 'wheel')}"
        "  pump: {item: pump, grade: steel, driven-by: one}\n"
    )
    context = workshop_of(tmp_path, catalogue, rig)
    finding = next(f for f in context.findings if f.rule == "torque-over-limit")
    monkeypatch.setattr("lineshaft.repair.plan.planner.FEWEST_PROOFS", 0)
    found = plan(context, finding, steps=20)
    assert [(repair.title, repair.effect) for repair in found.repairs] == [("make one in steel", "substitution")]
    assert plan(context, finding, steps=20, up_to="setting").repairs == ()


def test_a_right_angle_drive_is_geared_as_the_other_line_turns(tmp_path: Path) -> None:
    """Two wheels of 8 rad/s meet, one behind an angle of 5/2 and one behind 3: 5/2 twice is a bar less than 3 twice."""
    rig = (
        f"{HEAD}  wheel: {{item: wheel}}\n  mate: {{item: wheel}}\n"
        "  left: {item: angle, ratio: 5/2, set: reduce, driven-by: wheel}\n"
        "  right: {item: angle, ratio: 3, set: reduce, driven-by: mate}\n"
        "  joint: {item: gatherer, driven-by: [left, right]}\n  pump: {item: pump, grade: iron, driven-by: joint}\n"
    )
    found = plan_for(workshop_of(tmp_path, CATALOGUE, rig), "combiner-mismatch")
    assert [repair.title for repair in found.repairs] == ["gear right 5/2 : 1"]


@pytest.mark.parametrize("part", ["wheel", "pump"])
def test_a_prime_mover_or_machine_comes_in_another_grade_of_its_item(tmp_path: Path, part: str) -> None:
    """Both carry 900 N·m, and elm stands 90: iron does, and no other wheel or pump is another grade."""
    grades = "grades: {elm: {torque-limit: 90 N*m, speed-limit: 30 rad/s}, "
    catalogue = CATALOGUE.replace("grades: {", grades, 1).replace("[iron, steel], needs", "[elm, iron], needs")
    catalogue = catalogue.replace("torque: 1 kN*m", "torque: 100 N*m").replace(
        "wheel: {kind: prime-mover,", "wheel: {kind: prime-mover, grades: [elm, iron],"
    )
    elm = {part: "elm"}
    rig = (
        f"{HEAD}  wheel: {{item: wheel, grade: {elm.get('wheel', 'iron')}}}\n"
        f"  pump: {{item: pump, grade: {elm.get('pump', 'iron')}, driven-by: wheel}}\n"
    )
    found = plan_for(workshop_of(tmp_path, catalogue, rig), "torque-over-limit", part)
    assert [(repair.title, repair.effect) for repair in found.repairs] == [(f"make {part} in iron", "substitution")]


def test_where_the_effort_does_not_do_for_all_the_first_findings_get_theirs(tmp_path: Path) -> None:
    """Twenty lines turn their second stage at 60 rad/s, which stands 30; there are 4,000 steps for all of them."""
    lines = "".join(
        f"  wheel-{n}: {{item: wheel}}\n{_stage(f'step-{n}', '5/2', 'increase', f'wheel-{n}')}"
        f"{_stage(f'next-{n}', '3', 'increase', f'step-{n}')}  pump-{n}: {{item: pump, driven-by: next-{n}}}\n"
        for n in range(20)
    )
    context = workshop_of(tmp_path, CATALOGUE.replace("grades: [iron, steel], needs", "needs"), f"{HEAD}{lines}")
    findings = [finding for finding in context.findings if finding.level == "error"]
    plans = offers(context, findings, 4_000, 2)
    assert plans[0].repairs
    assert all(made.repairs for made in plans[:2])
    assert plans[-1].no_repair == "not looked for: the findings before it took the effort that one file gets"


def _broken(folder: Path, kind: str, seed: int, size: int) -> RepairContext | None:
    made = make_rig(seed, size)
    text = next(SETBACKS[kind](made, seed), None)
    if text is None:
        return None
    folder.mkdir(parents=True)
    (folder / made.catalogue).write_text(made.catalogue_text, encoding="utf-8")
    (folder / "made.rig.yaml").write_text(text, encoding="utf-8")
    loader = Loader(Repository(folder.resolve(), folder.resolve()))
    return open_repair_context(loader, loader.rig((folder / "made.rig.yaml").resolve()), open_rulebook())


@pytest.mark.parametrize("seeds", a_few([range(4), range(4, 60)], 1), ids=["some", "more"])
@pytest.mark.parametrize("kind", SETBACKS)
def test_of_one_mistake_no_error_is_left_without_a_way(tmp_path: Path, kind: str, seeds: range) -> None:
    """A sound seeded rig with one mistake: to undo it mends every error, so none may be left, by the effort of a check.

    A stage that was turned is undone by a setting, so there is one within settings as well.
    """
    held = 0
    for seed in seeds:
        context = _broken(tmp_path / str(seed), kind, seed, 30)
        wanted = [] if context is None else [f for f in context.findings if f.level == "error"]
        plans = [] if context is None else list(offers(context, wanted, EFFORT_OF_CHECK, 2))
        if context is not None and kind == "wrong-direction":
            plans += offers(context, wanted, up_to="setting")
        for made in plans:
            assert made.repairs, (seed, made.finding.rule, made.finding.part, made.no_repair)
            held += 1
    assert held >= len(seeds) / 2


@pytest.mark.parametrize("seeds", a_few([range(4), range(4, 60)], 1), ids=["some", "more"])
def test_what_one_turned_stage_brought_about_is_mended_by_one_repair(tmp_path: Path, seeds: range) -> None:
    """To turn it back costs nothing and mends all, so no more than one repair is needed, and nothing is left."""
    held = 0
    for seed in seeds:
        context = _broken(tmp_path / str(seed), "wrong-direction", seed, 30)
        opened = [] if context is None else open_findings(context)
        if context is None or len(opened) < 2:
            continue
        fixed = fix_all(context, offers(context, opened))
        assert (len(fixed.applied), fixed.left) == (1, ()), (seed, [repair.title for _, repair in fixed.applied])
        assert fixed.applied[0][1].worth <= 0
        held += 1
    assert held >= len(seeds) / 2


BRANCHED = (
    f"{HEAD}  wheel: {{item: wheel}}\n"
    "  fork: {item: fork, shares: {a: 3, b: 5}, driven-by: wheel}\n"
    "  left: {item: lossy, ratio: 5/2, set: reduce, driven-by: fork.a}\n"
    "  right: {item: lossy, ratio: 5/2, set: reduce, driven-by: fork.b}\n"
    "  joint: {item: gatherer, driven-by: [left, right]}\n"
    "  pump: {item: pump, grade: iron, driven-by: joint}\n"
)
"""A wheel's torque shared 3 : 5, each share reduced 5/2, and gathered again for a pump."""
LOSSY = CATALOGUE.replace(
    "  angle:",
    "  fork: {kind: splitter, outlets: 2, shares: any, made-of: {bar: 3}}\n"
    "  lossy: {kind: gear-stage, efficiency: 0.9, ratios: [5/2]}\n"
    "  better: {kind: gear-stage, ratios: [5/2]}\n  angle:",
)


def test_what_reaches_a_part_of_each_newton_metre_that_leaves_an_outlet(tmp_path: Path) -> None:
    """One N·m behind the fork is 1 * 5/2 * 0.9 = 2.25 at the joint and the pump, either way; behind the wheel too."""
    rig = workshop_of(tmp_path, LOSSY, BRANCHED).rig
    at = rig.rig.index
    for source in ((at["fork"], 0), (at["fork"], 1), (at["wheel"], 0)):
        for part in ("joint", "pump"):
            assert arriving(rig, source, at[part]) == pytest.approx(2.25, rel=1e-12)
    assert arriving(rig, (at["wheel"], 0), at["right"]) == pytest.approx(0.625, rel=1e-12)  # 5 of 8
    assert arriving(rig, (at["fork"], 1), at["left"]) == 0.0
    assert arriving(rig, (at["pump"], 0), at["pump"]) == 0.0


@pytest.mark.parametrize(("item", "streams"), [("lossy", 0), ("better", 2)])
def test_shares_of_lines_that_come_together_are_looked_at_where_one_loses_less(
    tmp_path: Path, item: str, streams: int
) -> None:
    """Through two lossy lines 900 * 2.25 = 2,025 N·m arrive however they are shared; with a better one up to 2,250."""
    rig = BRANCHED.replace("right: {item: lossy", f"right: {{item: {item}")
    context = workshop_of(tmp_path, LOSSY.replace("torque: 1 kN*m", "torque: 2.2 kN*m"), rig)
    goal = Goal(context.rig.rig.index["pump"], machine=True)
    given = (strategy_context_of(context.rig, context.book), goal, strength_of(context.rig, goal.part, margins=True))
    sharing = Sharing(*given, Effort(900), LinesBelow(*given))
    assert len(list(sharing.streams(context.rig.rig.index["fork"]))) == streams


@pytest.mark.parametrize(
    ("places", "apart"),
    [
        ("[0, 0, 0] [1, 0, 0] [2, 0, 0]", True),  # two apart once the stage is out
        ("[0, 0, 0] [0, 1, 0] [1, 0, 0]", False),  # the pump stands beside the wheel as well
        ("[0, 0, 0] - [1, 0, 0]", False),
        ("- [1, 0, 0] [2, 0, 0]", False),
        ("[0, 0, 0] [5, 0, 0] [2, 0, 0]", False),  # it stands apart from what drives it now: no new finding
    ],
)
def test_a_line_whose_parts_would_stand_apart_is_not_tried(tmp_path: Path, places: str, apart: bool) -> None:
    """A wheel, a stage and a pump at their places; the stage taken out, the pump hangs on the wheel."""
    at = [place.replace("]", "").replace("[", "") for place in places.replace(", ", ",").split()]
    where = ["" if place == "-" else f", at: [{place}]" for place in at]
    rig = (
        f"{HEAD}  wheel: {{item: wheel{where[0]}}}\n"
        f"  step: {{item: stage, grade: iron, ratio: 5/2, set: reduce, driven-by: wheel{where[1]}}}\n"
        f"  pump: {{item: pump, grade: iron, driven-by: step{where[2]}}}\n"
    )
    solved = workshop_of(tmp_path, CATALOGUE, rig).rig
    assert Draft(solved, inlets={(solved.rig.index["pump"], 0): "wheel"}).opens_gap == apart
    assert not Draft(solved, inlets={(solved.rig.index["pump"], 0): "new-step"}).opens_gap


def _settings_of(context: RepairContext, part: str, demand: Demand) -> LineSettings:
    """The line that a part is in, to be set otherwise for a demand at its end."""
    number = context.rig.rig.index[part]
    (line,) = lines_to(context.rig, number)
    return LineSettings(context.rig, line, Goal(number, speed=True), strength_of(context.rig, number, False), [demand])


def test_steps_that_are_not_there_are_not_taken(tmp_path: Path) -> None:
    """Without steps neither directions nor ratios are tried; with some the stage is turned, or geared."""
    stages = _stage("one", "5/2", "increase", "wheel")
    context = _mill(tmp_path, "torque: 100 N*m, speed: 3 rad/s", stages, "one")
    ways, prices = _settings_of(context, "one", Demand()), prices_of(context.rig.parts, context.rig.catalogue)
    assert [proposal.title for proposal in ways.turned(Effort(0))] == []
    assert [proposal.title for proposal in ways.turned(Effort(9))] == ["set one to reduce"]
    assert [proposal.title for proposal in ways.stages_geared(prices, Effort(0))] == []
    assert [proposal.title for proposal in ways.stages_geared(prices, Effort(9))] == ["gear one 3 : 1"]


@pytest.mark.parametrize(("count", "all_tried"), [(6, True), (7, False)])
def test_of_more_than_six_stages_not_every_set_is_tried_and_that_is_said(
    tmp_path: Path, count: int, all_tried: bool
) -> None:
    """Six stages have 63 sets, seven 127: 64 are tried. Every set turns the end another way than is wanted."""
    names = ["wheel", *(f"s{n}" for n in range(count))]
    stages = "".join(_stage(name, "3", "reduce", above) for above, name in pairwise(names))
    context = _mill(tmp_path, "torque: 100 N*m, speed: 1 rad/s", stages, names[-1])
    effort = Effort(900)
    found = list(_settings_of(context, names[-1], Demand(speed=(1e9, 2e9))).turned(effort))
    assert (found, effort.spent_up) == ([], not all_tried)
    assert effort.left == 900 - min(2**count - 1, 64)


def test_a_right_angle_drive_the_wrong_way_round_is_a_setting(tmp_path: Path) -> None:
    """8 * 3 = 24 rad/s where 20 are allowed; reduced 3 it is 2.7. Another ratio, 5/2, is no setting."""
    catalogue = CATALOGUE.replace("angle: {kind: right-angle, ", "angle: {kind: right-angle, speed-limit: 20 rad/s, ")
    rig = f"{HEAD}  wheel: {{item: wheel}}\n  turn: {{item: angle, ratio: 3, set: increase, driven-by: wheel}}\n"
    context = workshop_of(tmp_path, catalogue, rig)
    finding = next(f for f in context.findings if f.rule == "speed-over-limit")
    found = plan(context, finding, up_to="setting")
    assert [repair.title for repair in found.repairs] == ["set turn to reduce"]
    assert "gear turn 5/2 : 1" in [repair.title for repair in plan(context, finding).repairs]
