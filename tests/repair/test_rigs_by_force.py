"""Repairs of little rigs against every single edit; the long form, pairs too, is tests/trust/rigs_by_force.py."""

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from independent.rig_by_force import SHAPES, little_rig
from repair_bench import plan_for, workshop_of
from shares import a_few
from trust.rigs_by_force import Outcome, outcomes

from lineshaft.repair.plan.fix_budget import offers

OF_ALL_KINDS = range(70, 84)
SHOWN = [23, 51, 52, 1004, 1010, 1029, 1101, 20075, 20089]
"""These showed repairs that were lost, locks thought stiffer than they are, and shares that were not tried."""
SEEDS = [*SHOWN, *OF_ALL_KINDS, *range(84, 105)]


IN_PAIRS = [100338, 100382, 100096, 100160, 100652, 100934, 100063, 100104, 100117, 100356, 100139, 100364, 100482]
IN_PAIRS += [100571, 100615]
"""Lines that take back what they gave and may go on so; lines and splitters that had to make room for another's; lines
that want what they end at in another grade."""


@pytest.mark.parametrize("seed", a_few(IN_PAIRS, 6))
def test_no_two_edits_are_cheaper_than_the_first_repair(tmp_path: Path, seed: int) -> None:
    """The same with every two edits in one line, or of shares and a line below them."""
    found = outcomes(tmp_path.resolve(), little_rig(seed), two=True)
    assert [outcome for outcome in found if outcome.why] == []


@cache
def _by_single_edits(seed: int) -> list[Outcome]:
    with TemporaryDirectory() as name:
        return outcomes(Path(name).resolve(), little_rig(seed), two=False)


@pytest.mark.parametrize("seed", a_few(SEEDS, len(SHOWN) + len(OF_ALL_KINDS)))
def test_no_edit_is_cheaper_than_the_first_repair_and_none_mends_where_none_is_shown(seed: int) -> None:
    """What a single edit does is worked out by hand-written arithmetic, and confirmed by a check of the edited rig."""
    assert [outcome for outcome in _by_single_edits(seed) if outcome.why] == []


def test_the_seeds_are_of_all_kinds() -> None:
    """Both faults that are mended and faults that nothing mends are among them, in each shape."""
    found = [
        (SHAPES[seed % len(SHAPES)], outcome.what) for seed in OF_ALL_KINDS for outcome in _by_single_edits(seed)
    ]
    assert {shape for shape, what in found if what == "cheapest"} == set(SHAPES)
    assert "none" in {what for _, what in found}


CATALOGUE = """\
catalogue: 1
name: Little stock
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 9 rad/s}}
  rod: {kind: shaft, torque-limit: 440 N*m, made-of: {iron: 3}}
  bar: {kind: shaft, torque-limit: 3.8 kN*m, made-of: {iron: 8}}
  step: {kind: gear-stage, torque-limit: 3.8 kN*m, ratios: {3: {made-of: {iron: 6}}}}
  low: {kind: gear-stage, torque-limit: 350 N*m, ratios: {5/2: {made-of: {iron: 1}}}}
  joint: {kind: combiner, inlets: 2}
  mill: {kind: driven-machine, needs: {torque: 380 N*m, speed: 3.6 rad/s}, limits: {torque: 1.9 kN*m, speed: 50 rad/s}}
raw: {iron: {worth: 1}}
"""
HEAD = """\
rig: 1
name: Little rig
catalogue: bench.catalogue.yaml
edition: "1"
parts:
"""


def test_a_repair_that_beats_the_only_one_shown_takes_its_place(tmp_path: Path) -> None:
    """900 N·m at 9 rad/s, geared down to 2,700 at 3: a rod breaks, the mill gets too much torque and too little speed.

    Without the stage the mill has all it needs, 6 cheaper. The rod then carries 900 and has to be a bar too, which is
    1 cheaper in all. That mends the mill as well and is known before it: the mill's own repair beats it.
    """
    rig = HEAD + """\
  w: {item: wheel}
  a: {item: step, driven-by: w, ratio: 3, set: reduce}
  b: {item: rod, driven-by: a}
  m: {item: mill, driven-by: b}
commissioning: [{set: {part: a, to: reduce}}, {start: w}]
"""
    context = workshop_of(tmp_path, CATALOGUE, rig)
    plans = {(made.finding.rule, made.finding.part): made.repairs for made in offers(context, context.findings)}
    assert plans["torque-over-limit", "b"][0].worth == -1
    assert plans["torque-over-limit", "m"][0].worth == -6
    assert plans["machine-underdriven", "m"][0].worth == -6


def test_a_line_into_a_combiner_that_locks_may_turn_nearer_to_the_others(tmp_path: Path) -> None:
    """Two wheels at 9 rad/s, one line geared down 3 : 1 to 3 rad/s by a stage that breaks at 2,700 N·m.

    Taken out, the lines turn alike, the mill gets 1.8 kN·m at 9 rad/s and stands it, and 6 are saved. By hand.
    """
    rig = HEAD + """\
  w: {item: wheel}
  v: {item: wheel}
  a: {item: step, driven-by: w, ratio: 3, set: reduce}
  j: {item: joint, driven-by: [a, v]}
  m: {item: mill, driven-by: j}
commissioning: [{set: {part: a, to: reduce}}, {start: w}, {start: v}]
"""
    catalogue = CATALOGUE.replace("stage, torque-limit: 3.8 kN*m", "stage, torque-limit: 1.2 kN*m")
    made = plan_for(workshop_of(tmp_path, catalogue, rig), "torque-over-limit", "a")
    assert [(repair.title, repair.worth) for repair in made.repairs] == [("take a out", -6)]


def test_shares_of_two_lines_that_meet_again_are_evened_out(tmp_path: Path) -> None:
    """900 N·m shared 3 : 1 between two rods that stand 440: 675 and 225. Even shares give 450, still too much.

    Of 800 N·m even shares are 400 each, and what comes out where they meet is as before. By hand.
    """
    rig = HEAD + """\
  w: {item: wheel}
  s: {item: fork, driven-by: w, shares: {x: 3, y: 1}}
  one: {item: rod, driven-by: s.x}
  two: {item: rod, driven-by: s.y}
  j: {item: joint, driven-by: [one, two]}
  m: {item: mill, driven-by: j}
commissioning: [{start: w}]
"""
    fork = "  fork: {kind: splitter, outlets: 2, shares: [[1, 3], [1, 1], [4, 5]]}\n"
    strong = CATALOGUE.replace("items:\n", f"items:\n{fork}")
    made = plan_for(workshop_of(tmp_path, strong, rig), "torque-over-limit", "one")
    assert "share s {x: 1, y: 1}" not in [repair.title for repair in made.repairs]
    made = plan_for(workshop_of(tmp_path, strong.replace("900 N*m", "800 N*m"), rig), "torque-over-limit", "one")
    assert (made.repairs[0].title, made.repairs[0].worth) == ("share s {x: 1, y: 1}", 0)


GRADED = CATALOGUE.replace(
    "items:\n",
    "grades:\n"
    "  pine: {torque-limit: 440 N*m}\n"
    "  oak: {torque-limit: 1.9 kN*m}\n"
    "items:\n"
    "  fork: {kind: splitter, outlets: 2, shares: [[1, 1], [2, 3]], grades: [pine, oak]}\n"
    "  yoke: {kind: splitter, outlets: 2, shares: any}\n"
    "  pump: {kind: driven-machine, needs: {torque: 150 N*m}}\n",
).replace("combiner, inlets: 2", "combiner, inlets: 2, made-of: {iron: 9}")


def test_a_line_is_made_anew_together_with_the_splitter_at_its_end(tmp_path: Path) -> None:
    """900 N·m at 9 rad/s, geared up 3 : 1 to 27 rad/s by a stage for 20. Without it the fork gets 900 N·m.

    Pine stands 440, oak 1,900 and costs as much; the mills get 450 at 9 and need 380 at 3.6. The stage was 6. By hand.
    """
    rig = HEAD + """\
  w: {item: wheel}
  a: {item: step, driven-by: w, ratio: 3, set: increase}
  s: {item: fork, grade: pine, driven-by: a, shares: {x: 1, y: 1}}
  m: {item: mill, driven-by: s.x}
  n: {item: mill, driven-by: s.y}
commissioning: [{set: {part: a, to: increase}}, {start: w}]
"""
    slow = GRADED.replace("stage, torque-limit: 3.8 kN*m", "stage, torque-limit: 3.8 kN*m, speed-limit: 20 rad/s")
    made = plan_for(workshop_of(tmp_path, slow, rig), "speed-over-limit", "a")
    assert [(repair.title, repair.worth) for repair in made.repairs][:1] == [("take a out, make s in oak", -6)]


def test_a_line_that_comes_to_turn_like_the_others_is_made_anew_with_their_combiner(tmp_path: Path) -> None:
    """Two wheels at 9 rad/s, one geared down by a stage that breaks. Taken out, the joint gathers 1.8 kN·m.

    Pine, in which it stands, holds 440, oak 1,900: nothing turned in it before, since its lines locked. By hand.
    """
    rig = HEAD + """\
  w: {item: wheel}
  v: {item: wheel}
  a: {item: step, driven-by: w, ratio: 3, set: reduce}
  j: {item: joint, grade: pine, driven-by: [a, v]}
  m: {item: mill, driven-by: j}
commissioning: [{set: {part: a, to: reduce}}, {start: w}, {start: v}]
"""
    catalogue = GRADED.replace("stage, torque-limit: 3.8 kN*m", "stage, torque-limit: 1.2 kN*m")
    graded = catalogue.replace("combiner, inlets: 2", "combiner, inlets: 2, grades: [pine, oak]")
    made = plan_for(workshop_of(tmp_path, graded, rig), "torque-over-limit", "a")
    assert [(repair.title, repair.worth) for repair in made.repairs][:1] == [("take a out, make j in oak", -6)]


def test_shares_change_together_with_the_make_of_the_splitter_that_gets_more(tmp_path: Path) -> None:
    """900 N·m shared 3 : 2 give a rod 540, which stands 440. Shared 2 : 3 it gets 360, and the other fork 540.

    That stands 440 in pine and 1,900 in oak, which costs no more; a bar is 5 dearer. The pumps have 270. By hand.
    """
    rig = HEAD + """\
  w: {item: wheel}
  s: {item: fork, grade: oak, driven-by: w, shares: {x: 3, y: 2}}
  a: {item: rod, driven-by: s.x}
  m: {item: pump, driven-by: a}
  t: {item: fork, grade: pine, driven-by: s.y, shares: {x: 1, y: 1}}
  n: {item: pump, driven-by: t.x}
  o: {item: pump, driven-by: t.y}
commissioning: [{start: w}]
"""
    only = GRADED.replace("shares: any", "shares: [[1, 1]]")
    made = plan_for(workshop_of(tmp_path, only, rig), "torque-over-limit", "a")
    shown = [(repair.title, repair.worth) for repair in made.repairs]
    assert ("share s {x: 2, y: 3}, make t in oak", 0) in shown
    assert min(worth for _, worth in shown) == 0


def test_a_line_that_only_makes_room_is_geared_otherwise(tmp_path: Path) -> None:
    """900 N·m shared 3 : 2 give a rod 540, which stands 440; so the other line has to take 460 at least.

    It gears 7 : 1 before a mill for 2.6 kN·m: 371. At 5/2 : 1 it takes up to 1,040, and the mill has the 900 that it
    needs from 360 on: 1 dearer, where a bar for the rod is 5. Without the stage, or with the one that slips, it does
    not do: these come first, and what does as it stands is none of them. By hand.
    """
    rig = HEAD + """\
  w: {item: wheel}
  s: {item: yoke, driven-by: w, shares: {x: 3, y: 2}}
  a: {item: rod, driven-by: s.x}
  m: {item: pump, driven-by: a}
  b: {item: down, driven-by: s.y, ratio: 7, set: reduce}
  n: {item: saw, driven-by: b}
commissioning: [{set: {part: b, to: reduce}}, {start: w}]
"""
    catalogue = GRADED.replace(
        "items:\n",
        "items:\n"
        "  down: {kind: gear-stage, ratios: {7: {made-of: {iron: 4}}, 5/2: {made-of: {iron: 5}}}}\n"
        "  slip: {kind: gear-stage, efficiency: 0.95, ratios: {7: {made-of: {iron: 4}}}}\n"
        "  saw: {kind: driven-machine, needs: {torque: 900 N*m}, limits: {torque: 2.6 kN*m, speed: 50 rad/s}}\n",
    )
    made = plan_for(workshop_of(tmp_path, catalogue, rig), "torque-over-limit", "a")
    assert made.repairs[0].worth == 1
    assert "gear b 5/2 : 1" in made.repairs[0].title and "share s" in made.repairs[0].title
