"""Little rigs with one thing wrong each, and by hand what mends them at the least cost. Figures are our own."""

from itertools import product
from pathlib import Path
from random import Random

import pytest
from repair_bench import checked, edited, plan_for, workshop_of

from lineshaft.check.judged_finding import Repair
from lineshaft.repair.proof.context import RepairContext
from lineshaft.repair.strategies.share_options import Option, whole_shares

HEAD = 'rig: 1\nname: Quay\ncatalogue: bench.catalogue.yaml\nedition: "1"\nparts:\n'


def _context(folder: Path, items: str, parts: str, more: str = "") -> RepairContext:
    catalogue = f'catalogue: 1\nname: Quay\nedition: "1"\n{more}items:\n{items}raw: {{bar: {{worth: 1}}}}\n'
    return workshop_of(folder, catalogue, HEAD + parts)


def _first(folder: Path, context: RepairContext, rule: str, part: str) -> Repair:
    """The first repair of a finding; it mends it by the public command."""
    plan = plan_for(context, rule, part)
    assert plan.repairs, plan.no_repair
    assert (rule, part) not in checked(folder, edited(context, plan.repairs[0]))
    return plan.repairs[0]


WHEEL = "  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}\n"


def test_another_splitter_or_combiner_that_stands_it_is_offered(tmp_path: Path) -> None:
    """A fork rated 700 N·m under 900, and one rated 1,100 that divides alike: 5 bars for 3."""
    items = (
        WHEEL
        + "  fork: {kind: splitter, outlets: 2, shares: [[1, 1]], torque-limit: 700 N*m, made-of: {bar: 3}}\n"
        + "  yoke: {kind: splitter, outlets: 2, shares: any, torque-limit: 1100 N*m, made-of: {bar: 5}}\n"
        + "  joint: {kind: combiner, inlets: 2, torque-limit: 800 N*m, made-of: {bar: 2}}\n"
        + "  knee: {kind: combiner, inlets: 2, torque-limit: 1000 N*m, made-of: {bar: 4}}\n"
        + "  mill: {kind: driven-machine}\n"
    )
    parts = (
        "  w: {item: wheel}\n  d: {item: fork, driven-by: w, shares: {a: 1, b: 1}}\n"
        "  j: {item: joint, driven-by: [d.a, d.b]}\n  m: {item: mill, driven-by: j}\n"
    )
    context = _context(tmp_path, items, parts)
    splitter = _first(tmp_path, context, "torque-over-limit", "d")
    combiner = _first(tmp_path, context, "torque-over-limit", "j")
    assert (splitter.title, splitter.worth) == ("take yoke for d", 2)
    assert (combiner.title, combiner.worth) == ("take knee for j", 2)


def test_two_shafts_side_by_side_with_no_stage_between(tmp_path: Path) -> None:
    """A shaft rated 500 N·m under 900: one more of it, a fork and a joint, 2 + 3 + 3 bars for three parts more."""
    items = (
        WHEEL
        + "  rod: {kind: shaft, torque-limit: 500 N*m, made-of: {bar: 2}}\n"
        + "  fork: {kind: splitter, outlets: 2, shares: any, made-of: {bar: 3}}\n"
        + "  joint: {kind: combiner, inlets: 2, made-of: {bar: 3}}\n"
        + "  mill: {kind: driven-machine, needs: {torque: 850 N*m}}\n"
    )
    parts = "  w: {item: wheel}\n  s: {item: rod, driven-by: w}\n  m: {item: mill, driven-by: s}\n"
    repair = _first(tmp_path, _context(tmp_path, items, parts), "torque-over-limit", "s")
    assert (repair.worth, repair.parts_added, repair.effect) == (8, 3, "redesign")
    assert "2 lines side by side, each rod" in repair.title


DIVIDE = "  div: {kind: splitter, outlets: 3, shares: any}\n  fork: {kind: splitter, outlets: 2, shares: any}\n"


def test_all_outlets_of_a_splitter_are_chosen_together(tmp_path: Path) -> None:
    """900 N·m at 5 : 3 : 1; `a` may carry 180, `b` 300, `c` 650: one of five, and no other finding is new. By hand."""
    limits = {"a": 180, "b": 310, "c": 650}
    items = WHEEL + DIVIDE + "".join(
        f"  m{name}: {{kind: driven-machine, limits: {{torque: {limit} N*m}}}}\n" for name, limit in limits.items()
    )
    parts = "  w: {item: wheel}\n  d: {item: div, driven-by: w, shares: {a: 5, b: 3, c: 1}}\n" + "".join(
        f"  {name}: {{item: m{name}, driven-by: d.{name}}}\n" for name in "abc"
    )
    context = _context(tmp_path, items, parts)
    assert [(f.rule, f.part) for f in context.findings] == [("torque-over-limit", "a")]
    repair = _first(tmp_path, context, "torque-over-limit", "a")
    assert (repair.worth, repair.parts_added, repair.effect) == (0, 0, "setting")
    assert checked(tmp_path, edited(context, repair)) == set()


def test_a_starved_outlet_is_fed_by_smaller_shares_of_two_others(tmp_path: Path) -> None:
    """1 : 2 : 1 of 760 N·m leave `a` 190 of 350 it needs; `b` needs 340 and the press 30: 1 : 1 to within 40 N·m."""
    items = "  wheel: {kind: prime-mover, output: {torque: 760 N*m, speed: 8 rad/s}}\n" + DIVIDE + "".join(
        f"  m{need}: {{kind: driven-machine, needs: {{torque: {need} N*m}}}}\n" for need in (350, 340, 30)
    )
    parts = (
        "  w: {item: wheel}\n  d: {item: div, driven-by: w, shares: {a: 1, b: 2, press: 1}}\n"
        "  a: {item: m350, driven-by: d.a}\n  b: {item: m340, driven-by: d.b}\n  p: {item: m30, driven-by: d.press}\n"
    )
    context = _context(tmp_path, items, parts)
    repair = _first(tmp_path, context, "machine-underdriven", "a")
    assert (repair.worth, repair.effect) == (0, "setting")
    assert checked(tmp_path, edited(context, repair)) == set()


def test_two_splitters_in_line_are_looked_at_together(tmp_path: Path) -> None:
    """90 N·m at 1 : 8 and 1 : 1 leave the saw 5 of 55 it needs; both fans need 6: no one splitter can do it."""
    items = (
        "  wheel: {kind: prime-mover, output: {torque: 90 N*m, speed: 8 rad/s}}\n" + DIVIDE
        + "  saw: {kind: driven-machine, needs: {torque: 55 N*m}}\n"
        + "  fan: {kind: driven-machine, needs: {torque: 5 N*m}}\n"
    )
    parts = (
        "  w: {item: wheel}\n  d: {item: fork, driven-by: w, shares: {a: 1, b: 8}}\n"
        "  d2: {item: fork, driven-by: d.a, shares: {a: 1, b: 1}}\n  saw: {item: saw, driven-by: d2.a}\n"
        "  f1: {item: fan, driven-by: d2.b}\n  fan: {item: fan, driven-by: d.b}\n"
    )
    context = _context(tmp_path, items, parts)
    repair = _first(tmp_path, context, "machine-underdriven", "saw")
    assert (repair.worth, repair.effect) == (0, "setting")
    assert "share d " in repair.title
    assert "share d2 " in repair.title
    assert checked(tmp_path, edited(context, repair)) == set()


def test_a_share_and_a_stage_mend_together_what_neither_does(tmp_path: Path) -> None:
    """The saw wants 20 N·m at 19 rad/s and gets 9 at 8: 5/2 up asks for 50 of the 90 N·m, the fan for 5."""
    items = (
        "  wheel: {kind: prime-mover, output: {torque: 90 N*m, speed: 8 rad/s}}\n" + DIVIDE
        + "  step: {kind: gear-stage, ratios: {5/2: {made-of: {bar: 5}}}}\n"
        + "  saw: {kind: driven-machine, needs: {torque: 20 N*m, speed: 19 rad/s}}\n"
        + "  fan: {kind: driven-machine, needs: {torque: 5 N*m}}\n"
    )
    parts = (
        "  w: {item: wheel}\n  d: {item: fork, driven-by: w, shares: {a: 1, b: 9}}\n"
        "  saw: {item: saw, driven-by: d.a}\n  fan: {item: fan, driven-by: d.b}\n"
    )
    context = _context(tmp_path, items, parts)
    repair = _first(tmp_path, context, "machine-underdriven", "saw")
    assert (repair.worth, repair.parts_added) == (5, 1)
    assert checked(tmp_path, edited(context, repair)) == set()


SHAFTS = (
    "  a: {kind: prime-mover, output: {torque: 450 N*m, speed: 10 rad/s}}\n"
    "  b: {kind: prime-mover, output: {torque: 450 N*m, speed: 17 rad/s}}\n"
    "  reed: {kind: shaft, torque-limit: 310 N*m, made-of: {bar: 2}}\n"
    "  rod: {kind: shaft, torque-limit: 2300 N*m, made-of: {bar: 3}}\n"
    "  joint: {kind: combiner, inlets: 2}\n  saw: {kind: driven-machine, needs: {torque: 20 N*m}}\n"
)


@pytest.mark.parametrize(
    "below",
    [
        "",
        "  v: {item: b}\n  j: {item: joint, driven-by: [s, v]}\n  m: {item: saw, driven-by: j}\n",
        "  v: {item: a}\n  j: {item: joint, driven-by: [s, v]}\n  m: {item: saw, driven-by: j}\n",
    ],
    ids=["an open end", "lines that turn apart", "lines that turn alike"],
)
def test_what_stands_below_does_not_keep_a_shaft_from_being_mended(tmp_path: Path, below: str) -> None:
    """A reed rated 310 N·m under 450, a rod for a bar more: its line may end open, or in a combiner of any kind."""
    context = _context(tmp_path, SHAFTS, f"  w: {{item: a}}\n  s: {{item: reed, driven-by: w}}\n{below}")
    repair = _first(tmp_path, context, "torque-over-limit", "s")
    assert (repair.title, repair.worth) == ("take rod for s", 1)


def test_a_target_that_any_speed_meets_asks_for_no_speed(tmp_path: Path) -> None:
    """At 10 rad/s a plank takes 60 s, as it does up to 20; 61 s are wanted: the shaft is mended, for one bar."""
    work = "work: {unit: plank, times: [[20 rad/s, 60 s], [170 rad/s, 15 s]], between: log-speed}"
    items = SHAFTS + f"  mill: {{kind: driven-machine, needs: {{torque: 80 N*m}}, {work}}}\n"
    parts = "  w: {item: a}\n  s: {item: reed, driven-by: w}\n  m: {item: mill, driven-by: s, target: {time: 61 s}}\n"
    context = _context(tmp_path, items, parts)
    assert _first(tmp_path, context, "torque-over-limit", "s").worth == 1


UNDER = (
    "  wheel: {kind: prime-mover, output: {torque: 110 N*m, speed: 10 rad/s}}\n"
    "  step: {kind: gear-stage, ratios: {3/2: {made-of: {bar: 5}}}}\n"
    "  saw: {kind: driven-machine, needs: {torque: 30 N*m, speed: 12 rad/s},\n"
    "    limits: {torque: 900 N*m, speed: 190 rad/s},\n"
    "    work: {unit: plank, times: [[5 rad/s, 60 s], [90 rad/s, 10 s]], between: log-speed}}\n"
)


@pytest.mark.parametrize("target", ["", ", target: {time: 12 s}"])
def test_an_error_is_mended_at_the_least_cost_whatever_more_could_be_had(tmp_path: Path, target: str) -> None:
    """One step gives 15 of the 12 rad/s that the saw needs, for 5 bars, whatever its target and its torque to spare.

    The machine made nothing before.
    """
    parts = f"  w: {{item: wheel}}\n  saw: {{item: saw, driven-by: w{target}}}\n"
    repair = _first(tmp_path, _context(tmp_path, UNDER, parts), "machine-underdriven", "saw")
    assert (repair.worth, repair.parts_added) == (5, 1)
    assert [(change.part, change.rate_before) for change in repair.machines] == [("saw", 0.0)]


def test_torque_to_spare_is_mended_only_by_what_raises_the_rate(tmp_path: Path) -> None:
    """Behind one step the saw gets 73 N·m of 30: every repair makes it faster, and none gears down and up again."""
    parts = (
        "  w: {item: wheel}\n  g: {item: step, ratio: 3/2, set: increase, driven-by: w}\n"
        "  saw: {item: saw, driven-by: g}\ncommissioning: [{set: {part: g, to: increase}}, {start: w}]\n"
    )
    context = _context(tmp_path, UNDER, parts)
    plan = plan_for(context, "machine-surplus", "saw")
    assert plan.repairs
    for repair in plan.repairs:
        assert [change.part for change in repair.machines] == ["saw"]
        assert all((c.rate_after or 0) > (c.rate_before or 0) for c in repair.machines)
        assert "reducing" not in repair.title


def test_nothing_that_is_offered_is_beaten_by_what_stands_before_it(tmp_path: Path) -> None:
    """A reed under 450 N·m: a rod costs 1 bar; two reeds side by side cost more and add parts, so nobody sees them."""
    ends = (
        "  fork: {kind: splitter, outlets: 2, shares: any, made-of: {bar: 3}}\n"
        "  knee: {kind: combiner, inlets: 2, made-of: {bar: 3}}\n"
    )
    parts = "  w: {item: a}\n  s: {item: reed, driven-by: w}\n  m: {item: saw, driven-by: s}\n"
    context = _context(tmp_path, SHAFTS + ends, parts)
    assert [repair.title for repair in plan_for(context, "torque-over-limit", "s").repairs] == ["take rod for s"]


@pytest.mark.parametrize("seed", range(60))
def test_whole_shares_are_the_smallest_by_brute_force(seed: int) -> None:
    """Of all shares with a sum of up to eleven those of the least sum with which every outlet gets what it takes."""
    dice = Random(f"shares/{seed}")
    passed = 760.0
    intervals = []
    for _ in range(dice.choice((2, 3))):
        least = dice.choice((0, 40, 130, 270, 390))
        intervals.append((least, least + dice.choice((15, 90, 300, 900))))
    takes = [Option(float(a), float(b), 0.0, 0, 0, lambda _: None) for a, b in intervals]
    sums = [
        sum(row)
        for row in product(range(1, 11), repeat=len(intervals))
        if sum(row) <= 11
        and all(a <= passed * n / sum(row) <= b for n, (a, b) in zip(row, intervals, strict=True))
    ]
    found = whole_shares(takes, passed, (1.0,) * len(intervals))
    if sums:
        assert found is not None
        assert sum(found) == min(sums)
    if found is not None:
        assert all(a <= passed * n / sum(found) <= b for n, (a, b) in zip(found, intervals, strict=True))
