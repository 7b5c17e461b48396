"""The engine of lines against brute force, and how it ends. The long form is tests/trust/lines_by_force.py."""

from fractions import Fraction

import pytest
from independent.made_segments import segment_of
from independent.segment_by_force import front, little_problem, outcomes, straight_outcomes

from lineshaft.repair.line.demand import Demand, Need
from lineshaft.repair.line.design import CloseSlot, Found, KeptSlot, OpenSlot, StageSlot
from lineshaft.repair.line.effort import Effort
from lineshaft.repair.line.gains import Gains, coprime_base
from lineshaft.repair.line.prices import PART, cost_units, weight_of
from lineshaft.repair.line.search import Search
from lineshaft.repair.line.segment import End, Kept, Make, Segment, Stage, Stock
from lineshaft.schema.quantities.ratio import Ratio

SEEDS = range(5000, 5080)
UP_AND_DOWN = (5059, 5146, 5264, 5326, 5433, 5444, 5484, 5662, 5681, 5709, 5713, 5764, 5780, 5799, 5904)
"""Seeds of problems where something that gears up and down again would be faster than all that costs no more."""


def _found(search: Search, most: int = 10_000) -> list[Found]:
    found: list[Found] = []
    for design in search.designs():
        if isinstance(design, Found):
            found.append(design)
            if len(found) == most:
                break
    return found


@pytest.mark.parametrize("seed", SEEDS)
def test_the_first_designs_are_those_of_brute_force(seed: int) -> None:
    """The cheapest, and in one line the first forty by cost and parts; none where there is none."""
    problem = little_problem(seed)
    force = sorted((cost, parts) for cost, parts, _ in outcomes(problem))
    search = Search(*segment_of(problem), Effort(1_000_000))
    ours = [(cost_units(found.weight), found.parts) for found in _found(search, 40)]
    most = 40 if problem.lines == 1 else 1
    assert ours[:most] == force[:most]
    if not force:
        assert search.outcome == "none"


@pytest.mark.parametrize("seed", SEEDS)
def test_asking_only_for_what_beats_what_is_shown_gives_the_whole_front(seed: int) -> None:
    """Cost, parts and speed: what brute force finds that nothing else beats, nothing less and nothing more."""
    problem = little_problem(seed)
    search = Search(*segment_of(problem), Effort(1_000_000))
    shown = []
    for design in search.designs():
        if isinstance(design, Found):
            shown.append((cost_units(design.weight), design.parts, float(f"{design.speed:.9g}")))
            search.show(cost_units(design.weight), design.parts, design.speed)
    assert front(shown) == front(outcomes(problem))
    assert search.outcome == ("no-further" if shown else "none")


@pytest.mark.parametrize("seed", [*SEEDS[:40], *UP_AND_DOWN])
def test_of_a_straight_segment_nothing_is_asked_for_that_gears_up_and_down_again_for_more(seed: int) -> None:
    """Brute force leaves out what gears both ways where another costs no more and has no more parts."""
    problem = little_problem(seed)
    expected = straight_outcomes(problem)
    assert expected is not None
    if seed in UP_AND_DOWN:
        assert front(expected) != front(outcomes(problem))
    segment, *given = segment_of(problem)
    search = Search(segment._replace(straight=True), *given, Effort(1_000_000))
    shown = []
    for design in search.designs():
        if isinstance(design, Found):
            shown.append((cost_units(design.weight), design.parts, float(f"{design.speed:.9g}")))
            search.show(cost_units(design.weight), design.parts, design.speed)
    assert front(shown) == front(expected)
    assert search.outcome == ("no-further" if shown else "none")


def test_the_seeds_are_of_all_kinds() -> None:
    """Impossible ones, lines side by side and parts that stay are among the problems."""
    problems = [little_problem(seed) for seed in SEEDS]
    assert sum(not outcomes(problem) for problem in problems) >= 15
    assert sum(problem.lines > 1 for problem in problems) >= 30
    assert sum(bool(problem.kept) for problem in problems) >= 30


def _stage(name: str, ratio: Fraction, torque: float, cost: int, direction: str = "increase") -> Stage:
    make = Make(name, None, torque, weight=weight_of(Fraction(cost), 1, 1))
    return Stage(make, Ratio(ratio.as_integer_ratio(), str(ratio), float(ratio)), direction)  # type: ignore[arg-type]


def test_four_lines_side_by_side_of_two_way_splitters() -> None:
    """900 N·m, a stage rated 260: two lines carry 450 each, three 300, four 225. By hand: 3 + 3 ends, 4 stages."""
    ends = {"splitters": (_end("fork"),), "combiners": (_end("joint"),)}
    stock = Stock((_stage("light", Fraction(5, 2), 260.0, 4),), **ends)
    search = Search(Segment((900.0, 900.0), 8.0), Demand(needs=(Need(speed=20.0),)), stock, Effort(100_000))
    first = _found(search, 1)[0]
    lines = [slot.lines for slot in first.slots if isinstance(slot, OpenSlot)]
    assert (lines, first.parts, cost_units(first.weight)) == ([4], 10, 4 * 4 + 6 * 3)
    assert (first.passes, first.speed) == (pytest.approx(1 / 2.5), 20.0)


def _end(name: str) -> End:
    return End(name, (Make(name, None),), 1.0, weight_of(Fraction(3), 1, 1), 2, None)


def test_a_part_that_stays_is_put_side_by_side_with_no_stage_in_the_stretch() -> None:
    """A shaft rated 500 N·m under 900: two of them between a splitter and a combiner, by hand one more and two ends."""
    shaft = Make("shaft", None, 500.0, weight=0, part=7, copy=weight_of(Fraction(2), 1, 1))
    stock = Stock((), (_end("fork"),), (_end("joint"),))
    segment = Segment((900.0, 900.0), 8.0, (Kept(7, (shaft,)),))
    found = _found(Search(segment, Demand(), stock, Effort(10_000)), 1)[0]
    kinds = [type(slot) for slot in found.slots]
    assert kinds == [OpenSlot, KeptSlot, CloseSlot]
    assert (cost_units(found.weight), found.parts) == (8, 3)


def test_an_unknown_torque_at_the_head_is_answered_with_an_interval() -> None:
    """5/2 up, rated 260 N·m, for 40 N·m at 20 rad/s: from 100 N·m at the head to 260. By hand."""
    stock = Stock((_stage("light", Fraction(5, 2), 260.0, 4), _stage("heavy", Fraction(5, 2), 700.0, 9)))
    demand = Demand(needs=(Need(torque=40.0, speed=20.0),))
    found = _found(Search(Segment((0.0, 900.0), 8.0, lines=1), demand, stock, Effort(10_000)))
    single = [one for one in found if len(one.slots) == 1]
    assert [one.torque for one in single] == [
        (pytest.approx(100.0), pytest.approx(260.0)),
        (pytest.approx(100.0), pytest.approx(700.0)),
    ]
    assert all(isinstance(slot, StageSlot) for one in found for slot in one.slots)


def test_the_three_ends_of_a_search_are_told_apart() -> None:
    """None at all; no further one; stopped by the bound."""
    stock = Stock((_stage("light", Fraction(5, 2), 260.0, 4),))
    segment = Segment((200.0, 200.0), 8.0, stages=1, lines=1)
    none = Search(segment, Demand(speed=(70.0, 80.0)), stock, Effort(1000))
    one = Search(segment, Demand(speed=(20.0, 20.0)), stock, Effort(1000))
    stopped = Search(segment, Demand(speed=(20.0, 20.0)), stock, Effort(0))
    assert [len(_found(search)) for search in (none, one, stopped)] == [0, 1, 0]
    assert [search.outcome for search in (none, one, stopped)] == ["none", "no-further", "none-within-bound"]


def test_gains_are_exact_whatever_their_teeth() -> None:
    """75/15 is 5, 96/16 is 6, and 57/19 · 5/3 is 5: equal products are one integer, by arithmetic of fractions."""
    gains = [Fraction(75, 15), Fraction(6), Fraction(57, 19), Fraction(5, 3), Fraction(21, 10)]
    packed = Gains([*gains, *(1 / gain for gain in gains)])
    five, six, three, third, odd = (packed.packed(gain) for gain in gains)
    assert packed.times(three, third) == five
    assert packed.times(six, packed.packed(Fraction(1, 6))) == 0
    assert len({five, six, three, third, odd}) == 5
    assert packed.value(packed.times(odd, odd)) == pytest.approx(4.41)
    assert all(any(n % b == 0 for b in coprime_base([10, 21, 6])) for n in (10, 21, 6))


def test_parts_are_the_lower_digits_of_a_weight() -> None:
    """Goods may be worth nothing: then fewer parts decide, and a cost of one unit outweighs any number of them."""
    assert weight_of(Fraction(1, 3), 3, 900_000) < weight_of(Fraction(2, 3), 3)
    assert weight_of(Fraction(0), 3, 1) < weight_of(Fraction(0), 3, 2)
    assert cost_units(weight_of(Fraction(2, 3), 3, 5)) == 2
    assert weight_of(Fraction(0), 3, 1) == PART
