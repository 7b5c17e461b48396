"""The arithmetic that the engine of lines stands on, piece by piece: by hand, and by trying all where it is little."""

import math
from fractions import Fraction
from itertools import combinations_with_replacement, pairwise
from random import Random

import pytest

from lineshaft.repair.line.bounds import Bounds, Shown
from lineshaft.repair.line.demand import Demand, Need
from lineshaft.repair.line.design import CloseSlot, Found, KeptSlot, Nothing, OpenSlot, StageSlot
from lineshaft.repair.line.effort import Effort
from lineshaft.repair.line.gains import NEVER, Gains, coprime_base
from lineshaft.repair.line.labels import DOWNWARD, UNDIVIDED, UPWARD, Label, Labels, State
from lineshaft.repair.line.prepared import Prepared
from lineshaft.repair.line.prices import (
    PART,
    WORD,
    cost_of,
    cost_units,
    denominator_of,
    exact_units,
    parts_of,
    weight_of,
)
from lineshaft.repair.line.reach import Reach, Reaches, tabled
from lineshaft.repair.line.search import Search
from lineshaft.repair.line.segment import ENDLESS, End, Kept, Make, Segment, Stage, Stock
from lineshaft.repair.line.steps import Steps, grouped
from lineshaft.repair.line.tooth_counts import convergents, nearest, simplest_between
from lineshaft.repair.line.trees import Tree, Trees, weakest
from lineshaft.schema.model.catalogue import Direction
from lineshaft.schema.quantities.ratio import Ratio


def _make(name: str, torque: float = ENDLESS, speed: float = ENDLESS, cost: int = 0, efficiency: float = 1.0) -> Make:
    return Make(name, None, torque, speed, efficiency, weight_of(Fraction(cost), 1, 1))


def _stage(make: Make, ratio: Fraction, direction: Direction = "increase") -> Stage:
    return Stage(make, Ratio(ratio.as_integer_ratio(), str(ratio), float(ratio)), direction)


# Weights.


def test_a_weight_holds_cost_parts_and_words() -> None:
    """7/3 with 5 parts and 9 words, by a denominator of 6: 14 units, read back digit by digit."""
    weight = weight_of(Fraction(7, 3), 6, 5, 9)
    assert (cost_units(weight), cost_of(weight, 6), parts_of(weight)) == (14, Fraction(7, 3), 5)
    assert weight - weight_of(Fraction(7, 3), 6, 5) == 9 * WORD
    assert weight + weight_of(Fraction(5, 3), 6, 3, 7) == weight_of(Fraction(4), 6, 8, 16)
    assert weight_of(Fraction(0), 6, 1) == PART > 10_000_000 * WORD


def test_the_denominator_is_the_least_common_one() -> None:
    """Of 1/6, 7/10 and 3: 30."""
    assert denominator_of([Fraction(1, 6), Fraction(7, 10), Fraction(3)]) == 30


def test_components_cost_their_share_of_a_batch() -> None:
    """A batch of 7 pins takes 3 bars at 0.7: 3/10 each. A wheel takes 5 pins and a bar: 1.5 + 0.7 = 2.2. By hand."""
    found = exact_units({"bar": 0.7}, {"wheel": ({"pin": 5, "bar": 1}, 1), "pin": ({"bar": 3}, 7)})
    assert found == {"bar": Fraction(7, 10), "pin": Fraction(3, 10), "wheel": Fraction(11, 5)}
    given = exact_units({"bar": 0.7}, {"box": ({"gift": 5, "bar": 3}, 1)})  # what nobody prices costs nothing
    assert given == {"bar": Fraction(7, 10), "gift": Fraction(0), "box": Fraction(21, 10)}


# Tooth counts.


def test_convergents_of_a_ratio() -> None:
    """97/31 = [3; 7, 1, 3]: 3, 22/7, 25/8, 97/31, by the rule of continued fractions."""
    assert list(convergents(Fraction(97, 31))) == [3, Fraction(22, 7), Fraction(25, 8), Fraction(97, 31)]


@pytest.mark.parametrize("seed", range(6))
def test_the_smallest_counts_between_two_ratios(seed: int) -> None:
    """Against trying every driver from 1 up, and for each every driven wheel."""
    rng = Random(seed)
    for _ in range(20):
        low = Fraction(rng.randint(1, 90), rng.randint(7, 60))
        high = low + Fraction(rng.randint(0, 30), rng.randint(50, 900))
        found = simplest_between(low, high)
        under = next(n for n in range(1, 4000) if -(-low * n // 1) <= high * n)
        assert found == Fraction(math.ceil(low * under), under)


@pytest.mark.parametrize("seed", range(3))
def test_the_nearest_ratio_of_few_teeth(seed: int) -> None:
    """Against trying every driver of as many teeth and fewer."""
    rng = Random(seed)
    for _ in range(10):
        ratio, most = Fraction(rng.randint(100, 900), rng.randint(31, 97)), rng.randint(3, 25)
        tried = [Fraction(round(ratio * under), under) for under in range(1, most + 1)]
        found = nearest(ratio, most)
        assert found.denominator <= most
        assert abs(found - ratio) == min(abs(each - ratio) for each in tried)


# Gains and what stages reach.


def test_a_coprime_base_by_hand() -> None:
    """75 = 3 · 5², 45 = 3² · 5, 77: 3, 5 and 77; 6 and 10 share 2: 2, 3, 5; 1 needs none."""
    assert coprime_base([75, 45, 77]) == (3, 5, 77)
    assert coprime_base([6, 10]) == (2, 3, 5)
    assert coprime_base([1, 1]) == ()
    assert coprime_base([49, 7]) == (7,)


def test_packed_gains_add_and_keep_their_value() -> None:
    """Over eight factors both ways, each sum of packed gains is the packed product, and tells its value and log."""
    some = [Fraction(5, 2), Fraction(2, 5), Fraction(97, 31), Fraction(31, 97), Fraction(7), Fraction(1, 7)]
    gains = Gains(some)
    for chosen in combinations_with_replacement(some, 4):
        product, packed = Fraction(1), 0
        for gain in chosen:
            product, packed = product * gain, gains.times(packed, gains.packed(gain))
        assert gains.value(packed) == pytest.approx(float(product), rel=1e-12)
        assert gains.log(packed) == pytest.approx(math.log(product), abs=1e-12)
        assert (packed == 0) == (product == 1)
    assert gains.packed(Fraction(5, 2)) == -gains.packed(Fraction(2, 5)) != 0


@pytest.mark.parametrize("seed", range(8))
def test_the_least_weight_of_up_to_so_many_stages(seed: int) -> None:
    """Against all rows of up to four of six gains whose product lies in a window; none is no stage at all."""
    rng = Random(seed)
    gains = [(rng.choice((-1, 1)) * rng.uniform(0.3, 2.1), rng.randint(3, 90)) for _ in range(6)]
    reach = Reach(gains, 4)
    for _ in range(12):
        low = rng.uniform(-5, 5)
        high, stages = low + rng.uniform(0, 0.9), rng.randint(0, 4)
        tried = [
            sum(weight for _, weight in row)
            for count in range(stages + 1)
            for row in combinations_with_replacement(gains, count)
            if low <= math.fsum(log for log, _ in row) <= high
        ]
        assert reach.at_most(stages, low, high) == min(tried, default=NEVER)


def test_a_window_that_is_none_and_one_that_needs_no_stage() -> None:
    """From 0.7 to 0.3 nothing lies; from -0.3 to 0.3 lies no stage; its ends belong to it."""
    reach = Reach([(0.5, 7), (1.1, 3)], 3)
    assert reach.at_most(3, 0.7, 0.3) == NEVER
    assert reach.at_most(3, -0.3, 0.3) == reach.at_most(3, 0.0, 0.3) == reach.at_most(3, -0.3, 0.0) == 0
    assert reach.at_most(1, 0.5, 0.5) == 7
    assert reach.at_most(1, 0.51, 1.09) == NEVER
    assert reach.at_most(0, 0.5, 1.1) == NEVER
    assert Reach([], 3).at_most(3, 0.5, 1.1) == NEVER


def test_beyond_the_products_that_are_tabled_the_lightest_counts() -> None:
    """120 gains make 7,260 products of two and 302,621 of three: of three only what the outermost reach is known."""
    gains = [(0.01 * n, 3 + n) for n in range(1, 121)]
    reach = Reach(gains, 3)
    assert reach.at_most(2, 1.795, 1.805) == 3 * 2 + 180  # 180 = n + m, each of which adds 3
    assert reach.at_most(3, 1.795, 1.805) == 3 * 4  # three may be lighter than the lightest two
    assert reach.at_most(3, 2.995, 3.005) == 3 * 4  # at least: no three lighter ones reach it
    assert reach.at_most(3, 3.605, 3.7) == NEVER  # three of the largest make 3.6


@pytest.mark.parametrize(
    ("gains", "most", "stages"),
    [
        (26, 4, 3),  # three of 26 in 3,276 ways, four in 23,751
        (21, 4, 4),  # 10,626
        (22, 4, 3),  # 12,650
        (21, 3, 3),
        (154, 2, 2),  # 11,935
        (155, 2, 1),  # 12,090
        (12_001, 4, 1),
        (1, 4, 4),
        (5, 1, 1),
    ],
)
def test_products_are_tabled_while_there_are_no_more_than_twelve_thousand(gains: int, most: int, stages: int) -> None:
    """Multisets of k out of n: (n + k - 1)! / (k! (n - 1)!)."""
    assert tabled(gains, most) == stages


def test_single_gains_are_tabled_however_many_there_are() -> None:
    """12,001 of them are more than products are made of; of one each is known all the same."""
    gains = [(0.0001 * n, 12_345 - n) for n in range(1, 12_002)]
    assert Reach(gains, 2).at_most(1, 0.49995, 0.50005) == 12_345 - 5000


# Needs at the end of a line.


@pytest.mark.parametrize(
    ("demand", "torque", "speed", "met"),
    [
        (Demand(), 0.0, 0.0, True),
        (Demand(torque=(300.0, 900.0)), 300.0, 8.0, True),
        (Demand(torque=(300.0, 900.0)), 299.9, 8.0, False),
        (Demand(torque=(300.0, 900.0)), 900.0, 8.0, True),
        (Demand(torque=(300.0, 900.0)), 900.1, 8.0, False),
        (Demand(speed=(7.0, 20.0)), 300.0, 7.0, True),
        (Demand(speed=(7.0, 20.0)), 300.0, 6.9, False),
        (Demand(speed=(7.0, 20.0)), 300.0, 20.1, False),
        (Demand(needs=(Need(by=0.6, torque=180.0),)), 300.0, 8.0, True),
        (Demand(needs=(Need(by=0.6, torque=180.1),)), 300.0, 8.0, False),
        (Demand(needs=(Need(by=0.6, plus=50.0, torque=230.0),)), 300.0, 8.0, True),
        (Demand(needs=(Need(by=0.6, plus=50.0, torque=230.1),)), 300.0, 8.0, False),
        (Demand(needs=(Need(turns=2.5, speed=20.0),)), 300.0, 8.0, True),
        (Demand(needs=(Need(turns=2.5, speed=20.1),)), 300.0, 8.0, False),
        (Demand(needs=(Need(by=0.6, turns=2.5, power=3600.0),)), 300.0, 8.0, True),
        (Demand(needs=(Need(by=0.6, turns=2.5, power=3601.0),)), 300.0, 8.0, False),
        (Demand(needs=(Need(), Need(speed=9.0))), 300.0, 8.0, False),
        (Demand(accepts=lambda torque, speed: torque < speed), 300.0, 8.0, False),
    ],
)
def test_what_meets_a_demand(demand: Demand, torque: float, speed: float, met: bool) -> None:
    """Torque, speed and power at each end of what is allowed; a need gets by·T + plus at turns·ω. By hand."""
    assert demand.met(torque, speed) is met


@pytest.mark.parametrize(
    ("demand", "speed", "least"),
    [
        (Demand(torque=(70.0, 900.0)), 8.0, 70.0),
        (Demand(needs=(Need(by=0.6, torque=180.0),)), 8.0, 300.0),
        (Demand(needs=(Need(by=0.6, plus=60.0, torque=180.0),)), 8.0, 200.0),
        (Demand(needs=(Need(by=0.6, plus=200.0, torque=180.0),)), 8.0, 0.0),
        (Demand(needs=(Need(by=0.0, torque=180.0),)), 8.0, ENDLESS),
        (Demand(needs=(Need(turns=2.5, speed=20.0),)), 8.0, 0.0),
        (Demand(needs=(Need(turns=2.5, speed=21.0),)), 8.0, ENDLESS),
        (Demand(needs=(Need(by=0.5, turns=2.5, power=3000.0),)), 8.0, 300.0),
        (Demand(needs=(Need(by=0.5, turns=2.5, power=3000.0, torque=170.0),)), 8.0, 340.0),
        (Demand(needs=(Need(),)), 0.0, 0.0),
        (Demand(needs=(Need(power=3000.0),)), 0.0, ENDLESS),
        (Demand(needs=(Need(power=0.7),)), 0.0, ENDLESS),
        (Demand(needs=(Need(power=0.7),)), 0.5, 1.4),
        (Demand(needs=(Need(turns=0.0, torque=70.0),)), 8.0, 70.0),
        (Demand(needs=(Need(by=0.5, power=900.0),)), 7.0, 1800 / 7),
        (Demand(needs=(Need(torque=90.0), Need(torque=70.0))), 8.0, 90.0),
    ],
)
def test_the_least_torque_at_a_speed(demand: Demand, speed: float, least: float) -> None:
    """(wanted - plus) / by of the greediest need; power is wanted as torque at its own speed. By hand."""
    assert demand.least_torque(speed) == pytest.approx(least)


def test_the_least_power_of_needs_that_get_only_what_comes() -> None:
    """3,000 W behind by 0.5 and turns 2.5 are 2,400 W; a need that gets something besides asks for nothing here."""
    own, besides = Need(by=0.5, turns=2.5, power=3000.0), Need(plus=7.0, power=9000.0)
    assert Demand(needs=(own, besides, Need(power=700.0))).least_power == pytest.approx(2400.0)
    assert Demand(needs=(Need(by=0.0, power=7.0), Need(turns=0.0, power=7.0))).least_power == 0.0


# Effort.


def test_effort_is_lent_and_taken_back() -> None:
    """Of 90 steps 30 are lent and 12 used: 78 are left. Of 7 lent all and one more are used: spent up."""
    effort = Effort(90)
    lent = effort.lend(30)
    assert (lent.left, lent.spend(12), lent.left) == (30, True, 18)
    effort.take_back(lent, 30)
    assert (effort.left, effort.spent_up) == (78, False)
    few = effort.lend(7)
    assert not few.spend(8)
    assert (few.left, few.spent_up) == (0, True)
    effort.take_back(few, 7)
    assert (effort.left, effort.spent_up) == (71, True)
    assert effort.lend(900).left == 71
    none = effort.lend(-3)
    effort.take_back(none, -3)
    assert (none.left, effort.left) == (0, 71)
    assert Effort(5).spend(5)
    assert not Effort(5).spend(6)
    one = Effort(1)
    assert (one.spend(), one.left, one.spend()) == (True, 0, False)


# Labels.


def _label(weight: int = 70, parts: int = 3, stages: int = 2, most: float = 900.0, last: int = 0) -> Label:
    return Label(State(0, 0, 0, 0, UNDIVIDED, 0), weight, parts, stages, most, 1.0, last, None, None)


@pytest.mark.parametrize(
    ("change", "does"),
    [
        ({}, True),
        ({"weight": 71}, True),
        ({"weight": 69}, False),
        ({"parts": 4}, True),
        ({"parts": 2}, False),
        ({"stages": 3}, True),
        ({"stages": 1}, False),
        ({"most": 899.0}, True),
        ({"most": 901.0}, False),
    ],
)
def test_a_label_does_for_another_that_is_no_better_in_anything(change: dict[str, int], does: bool) -> None:
    """The same, or worse in one thing: it is done without. Better in one thing: it is not."""
    labels = Labels()
    assert list(labels.admit(_label())) == []
    assert labels.does_without(_label(**change)) is does


def test_it_takes_two_that_end_with_different_stages_to_do_for_a_third() -> None:
    """One that ends with another stage leaves a way on open that the third has; two leave none, nor one with no end."""
    labels = Labels()
    list(labels.admit(_label(last=5)))
    assert labels.does_without(_label(last=5))
    assert not labels.does_without(_label(last=9))
    list(labels.admit(_label(weight=69, last=7)))
    assert labels.does_without(_label(last=9))
    other = Labels()
    list(other.admit(_label(last=0)))
    assert other.does_without(_label(last=9))


def test_labels_that_a_new_one_does_for_are_parked() -> None:
    """But not those that were gone on from, nor such as end with another stage."""
    labels = Labels()
    worse, expanded, other = _label(weight=90), _label(weight=91), _label(weight=92, last=7)
    expanded.expanded = True
    for label in (other, expanded, worse):
        labels.open.setdefault(label.state, []).append(label)
    new = _label(weight=70, last=5)
    assert list(labels.admit(new)) == []
    free = _label(weight=69)
    assert list(labels.admit(free)) == [other, worse, new]
    assert (worse.dead, expanded.dead, other.dead, free.dead) == (True, False, True, False)
    assert labels.open[free.state] == [expanded, free]
    assert labels.parked[free.state] == [other, worse, new]


def test_the_way_to_a_label_begins_at_the_start() -> None:
    """Three labels, each behind the one before."""
    first = _label()
    second = Label(first.state, 1, 1, 1, 1.0, 1.0, 0, first, None)
    third = Label(first.state, 2, 2, 2, 1.0, 1.0, 0, second, None)
    assert third.way() == [first, second, third]


# Groups of stages.


def test_stages_of_one_gain_and_efficiency_are_a_group_lightest_first() -> None:
    """Once-only ones first; 1 : 1 is left out; limits are the greatest of the group."""
    light, strong = _make("light", 300.0, 90.0, 3), _make("strong", 900.0, 30.0, 7)
    once = _make("once", 500.0, 50.0, 9)._replace(once=1)
    lossy, plain = _make("lossy", 700.0, 70.0, 2, 0.9), _make("plain", 10.0)
    five = Fraction(5, 2)
    stages = (*(_stage(make, five) for make in (strong, light, once, lossy)), _stage(plain, Fraction(1)))
    down = _stage(light, five, "reduce")
    gains = Gains([five, 1 / five])
    groups = grouped((*stages, down), gains)
    assert [(g.factor, g.efficiency, g.torque, g.speed) for g in groups] == [
        (0.4, 1.0, 300.0, 90.0),
        (2.5, 0.9, 700.0, 70.0),
        (2.5, 1.0, 900.0, 90.0),
    ]
    assert [slot.stage.make.item for slot in groups[2].slots] == ["once", "light", "strong"]
    assert [g.gain for g in groups] == [gains.packed(1 / five), gains.packed(five), gains.packed(five)]


# Trees.


def _end(name: str, cost: int, ends: int | None = 2, torque: float = ENDLESS, **more: object) -> End:
    makes = (_make(name, torque, float(str(more.get("speed", ENDLESS)))),)
    rows = more.get("rows")
    assert rows is None or isinstance(rows, tuple)
    return End(name, makes, float(str(more.get("efficiency", 1.0))), weight_of(Fraction(cost), 1, 1), ends, rows)


def _told(tree: Tree) -> tuple[int, int, float, tuple[float, ...]]:
    return cost_units(tree.weight), tree.parts, tree.torque, tree.leaves


def test_three_lines_of_two_way_splitters() -> None:
    """One that shares 2 : 1 and one 1 : 1 behind its larger outlet, at 7 each. Rated 500, at most 500 may enter."""
    (tree,) = Trees((_end("fork", 7, torque=500.0),), ()).divided(3, 0)
    assert _told(tree) == (14, 2, 500.0, pytest.approx((1 / 3, 1 / 3, 1 / 3)))
    node = tree.node
    assert node is not None
    assert node.lines == (2, 1)
    assert [branch.lines for branch in node.parts] == [(2, 1), (1, 1)]


def test_a_splitter_that_shares_evenly_alone_makes_no_three_lines() -> None:
    """Rows of 1 : 1 give two and four lines; of 1 : 3 four, with 1 : 1 : 1 behind it."""
    even = Trees((_end("fork", 7, rows=((1.0, 1.0),)),), ())
    assert [len(even.divided(lines, 0)) for lines in (1, 2, 3, 4, 5)] == [1, 1, 0, 1, 0]
    assert _told(even.divided(4, 0)[0])[:2] == (21, 3)
    three = Trees((_end("fork", 7, rows=((1.0, 3.0),)), _end("trident", 9, 3, rows=((1.0, 1.0, 1.0),))), ())
    assert [_told(tree)[:2] for tree in three.divided(4, 0)] == [(16, 2)]
    nothing = Trees((_end("fork", 7, rows=((1e-12, 1.0),)),), ())  # an outlet that gets next to nothing makes no line
    assert nothing.divided(2, 0) == ()


def test_a_splitter_of_any_number_of_outlets_divides_at_once_or_in_steps() -> None:
    """Three lines by one of three outlets, four by one of four, both lighter than a tree of several."""
    trees = Trees((_end("any", 7, None),), ())
    for lines in (2, 3, 4, 5):
        lightest = trees.divided(lines, 0)[0]
        assert _told(lightest)[:2] == (7, 1)
        assert lightest.leaves == pytest.approx((1 / lines,) * lines)


def test_losses_of_splitters_make_lines_unequal() -> None:
    """η 0.9 twice on the way to two of three lines, once to the third: 2/3 · 0.9 · 0.9 / 2 = 0.27 and 0.3."""
    (tree,) = Trees((_end("fork", 7, efficiency=0.9),), ()).divided(3, 0)
    assert tree.leaves == pytest.approx((0.27, 0.27, 0.3))


def test_a_tree_bears_what_its_weakest_splitter_does() -> None:
    """Of 3 lines the second splitter gets two thirds; rated 500 it bears 750, behind one that bears 900 or 600."""
    weak, strong = _end("weak", 3, torque=500.0), _end("strong", 7, torque=900.0)
    trees = Trees((weak, strong), ()).divided(3, 0)
    assert [_told(tree)[:3] for tree in trees] == [(6, 2, 500.0), (10, 2, 750.0), (14, 2, 900.0)]


def test_lines_are_gathered_by_what_takes_as_many() -> None:
    """Three lines by a combiner of three, or two of two; rated 300, the sum of 3 · 0.3 leaves at most 1,000 / 3."""
    trees = Trees((), (_end("pair", 7), _end("trio", 9, 3, torque=300.0))).gathered((0.3, 0.3, 0.3), 0)
    assert [_told(tree)[:2] for tree in trees] == [(9, 1), (14, 2)]
    assert trees[0].torque == pytest.approx(300 / 0.9)
    assert [tree.leaves for tree in trees] == [(0.9,), (0.9,)]
    assert Trees((), (_end("trio", 9, 3),)).gathered((0.4, 0.4), 0) == ()
    assert Trees((), (_end("any", 9, None),)).gathered((0.4, 0.4), 0)[0].leaves == (0.8,)


def test_speed_leaves_the_makes_that_stand_it() -> None:
    """Limits of 30 and 90 rad/s: at 30 both serve, above it one, above 90 none."""
    slow, fast = _end("slow", 3, speed=30.0), _end("fast", 7, speed=90.0)
    trees = Trees((slow, fast), (slow, fast))
    assert [trees.speed_class(speed) for speed in (8.0, 30.0, 30.1, 90.0, 91.0)] == [0, 0, 1, 1, 2]
    for of in (lambda speed: trees.divided(2, speed), lambda speed: trees.gathered((0.5, 0.5), speed)):
        assert [[cost_units(tree.weight) for tree in of(speed)] for speed in range(3)] == [[3], [7], []]


def test_the_lightest_gathering_and_the_worst_tree() -> None:
    """Two pairs for three lines weigh 14; no combiner gathers nothing; η 0.9 · 0.8, seven deep."""
    trees = Trees((_end("fork", 3, efficiency=0.9),), (_end("pair", 7, efficiency=0.8),))
    assert cost_units(trees.lightest_gathering(3)) == 14
    assert Trees((), ()).lightest_gathering(3) == NEVER
    assert trees.worst == pytest.approx(0.72**7)
    assert Trees((), ()).worst == 1.0


def test_the_weakest_make_that_stands_a_load() -> None:
    """At its limit it stands; of equal limits the slower one, then the grade's name decides."""
    makes = [_make("a", 900.0, 30.0), _make("b", 300.0, 90.0), _make("c", 300.0, 30.0)]
    assert weakest(makes, 300.0, 30.0) == makes[2]
    assert weakest(makes, 300.0, 31.0) == makes[1]
    assert weakest(makes, 301.0, 30.0) == makes[0]
    assert weakest(makes, 901.0, 30.0) is None
    named = [makes[2]._replace(grade=grade) for grade in ("oak", "elm")]
    assert weakest(named, 3.0, 3.0) == named[1]


# What is still to come.


def _bounds(segment: Segment, stock: Stock, demand: Demand) -> tuple[Steps, Bounds]:
    ready = Prepared(stock, segment.stages)
    steps = Steps(segment, ready.gains, ready.groups, ready.trees)
    return steps, Bounds(steps, ready.reach, demand)


TWO_AND_A_HALF = _stage(_make("small", cost=7), Fraction(5, 2))
SEVEN = _stage(_make("large", cost=9), Fraction(7))
DOWN = _stage(_make("down", cost=3), Fraction(3), "reduce")


@pytest.mark.parametrize(
    ("demand", "cost"),
    [
        (Demand(), 0),
        (Demand(speed=(20.0, 20.0)), 7),  # 8 × 5/2
        (Demand(speed=(21.0, 90.0)), 9),  # 8 × 7 = 56
        (Demand(speed=(57.0, 150.0)), 16),  # 7 × 5/2 are 140; three of 5/2 are 125, at 21
        (Demand(needs=(Need(speed=50.0),)), 9),
        (Demand(needs=(Need(turns=2.5, speed=50.0),)), 7),  # 50 / 2.5 = 20 rad/s
        (Demand(torque=(2000.0, 9000.0)), 3),  # 900 × 3
        (Demand(needs=(Need(by=0.5, torque=1000.0),)), 3),  # 2,000 N·m
        (Demand(needs=(Need(by=0.5, plus=600.0, torque=1000.0),)), 0),  # 800 N·m
        (Demand(torque=(0.0, 400.0)), 7),  # 900 / 2.5 = 360
        (Demand(torque=(0.0, 200.0)), 9),
        (Demand(speed=(20.0, 20.0), torque=(500.0, 900.0)), None),
        (Demand(needs=(Need(by=0.0, torque=7.0),)), 0),  # what does not hang on the torque here bounds nothing here
        (Demand(needs=(Need(power=7300.0),)), None),  # 900 × 8 = 7,200 W
        (Demand(needs=(Need(power=7200.0),)), 0),
    ],
)
def test_the_least_weight_to_come_from_the_start(demand: Demand, cost: int | None) -> None:
    """900 N·m at 8 rad/s, and stages 5/2 and 7 upward at 7 and 9, 3 downward at 3. By hand."""
    segment = Segment((900.0, 900.0), 8.0, stages=3, lines=1)
    steps, bounds = _bounds(segment, Stock((TWO_AND_A_HALF, SEVEN, DOWN)), demand)
    found = bounds.to_come(steps.start())
    assert found >= NEVER if cost is None else cost_units(found) == cost


def test_parts_that_stay_weigh_what_their_lightest_make_does() -> None:
    """A shaft as it is or for 3 more, then one that must change for 7: 0 + 7 and behind the first 7."""
    first = Kept(0, (_make("as-it-is")._replace(weight=0), _make("other", cost=3)))
    second = Kept(1, (_make("new", cost=7, efficiency=0.8),))
    segment = Segment((900.0, 900.0), 8.0, (first, second), stages=1, lines=1)
    steps, bounds = _bounds(segment, Stock(()), Demand(torque=(720.0, 900.0)))
    start = steps.start()
    assert cost_units(bounds.to_come(start)) == 7
    (past,) = (label for label in steps.past(start, steps.carried(start)) if label.weight == 0)
    assert cost_units(bounds.to_come(past)) == 7
    third = Kept(2, (_make("dear", cost=7), _make("new", cost=3)))
    longer = Segment((900.0, 900.0), 8.0, (first, second, third), stages=1, lines=1)
    assert cost_units(_bounds(longer, Stock(()), Demand())[1].to_come(start)) == 10
    short = _bounds(segment, Stock(()), Demand(torque=(721.0, 900.0)))[1]  # 900 × 0.8 = 720
    assert short.to_come(start) >= NEVER


def test_nothing_that_is_cheaper_than_what_stands_makes_up_for_an_end_that_is_out_of_reach() -> None:
    """Another shaft saves 5; of 900 N·m at 8 rad/s nothing without stages makes 9 rad/s, nor closes two open lines."""
    cheaper = _make("cheaper")._replace(weight=-5 * weight_of(Fraction(1), 1))
    saving = Kept(0, (_make("as-it-is")._replace(weight=0), cheaper))
    segment = Segment((900.0, 900.0), 8.0, (saving,), stages=1, lines=2)
    steps, bounds = _bounds(segment, Stock(()), Demand(speed=(9.0, 90.0)))
    assert bounds.to_come(steps.start()) >= NEVER
    steps, bounds = _bounds(segment, Stock(()), Demand())
    assert bounds.to_come(steps.start()) < 0
    opened = Label(State(0, 0, 0, 1, (0.5, 0.5), 0), 0, 0, 0, 900.0, 1.0, 0, None, None)
    assert bounds.to_come(opened) >= NEVER


@pytest.mark.parametrize(
    ("torque", "cost"),
    [
        ((567.0, 9000.0), 0),  # 900 × 0.9 × 0.7, the makes that lose least
        ((567.1, 9000.0), 3),
        ((0.0, 360.0), 0),  # 900 × 0.8 × 0.5, those that lose most
        ((0.0, 359.9), 7),
    ],
)
def test_parts_that_stay_leave_between_the_least_and_the_most_that_their_makes_do(
    torque: tuple[float, float], cost: int
) -> None:
    """Two parts of two makes each, η 0.9 or 0.8 and 0.7 or 0.5; 3 down turns more torque out, 5/2 up less. By hand."""
    first, second = ((0.8, 0.9), (0.7, 0.5))
    kept = tuple(
        Kept(n, tuple(Make("shaft", str(e), efficiency=e) for e in row)) for n, row in enumerate((first, second))
    )
    segment = Segment((900.0, 900.0), 8.0, kept, stages=1, lines=1)
    steps, bounds = _bounds(segment, Stock((TWO_AND_A_HALF, DOWN)), Demand(torque=torque))
    assert cost_units(bounds.to_come(steps.start())) == cost


@pytest.mark.parametrize(
    ("demand", "cost"),
    [
        (Demand(torque=(450.0, 9000.0)), 0),
        (Demand(torque=(450.1, 9000.0)), 3),
        (Demand(torque=(1351.0, 9000.0)), None),  # 3 × 450 and no more
        (Demand(torque=(0.0, 450.0)), 0),
        (Demand(torque=(0.0, 449.9)), 7),
        (Demand(speed=(16.0, 90.0)), 0),
        (Demand(speed=(16.1, 90.0)), 7),
        (Demand(speed=(0.0, 16.0)), 0),
        (Demand(speed=(0.0, 15.9)), 3),
        (Demand(needs=(Need(turns=0.5, speed=8.0),)), 0),
        (Demand(needs=(Need(turns=0.5, speed=8.1),)), 7),
        (Demand(needs=(Need(turns=0.0, speed=8.0),)), 0),  # what does not hang on the speed here bounds nothing here
        (Demand(needs=(Need(by=2.0, plus=-50.0, torque=850.0),)), 0),
        (Demand(needs=(Need(by=2.0, plus=-50.0, torque=851.0),)), 3),
    ],
)
def test_parts_that_stay_and_gear_turn_the_window_with_them(demand: Demand, cost: int | None) -> None:
    """Two right-angle parts, 5/2 and 4/5: 900 N·m at 8 rad/s leave them as 450 N·m at 16 rad/s. By hand."""
    kept = (Kept(0, (_make("bevel"),), Fraction(5, 2)), Kept(1, (_make("bevel"),), Fraction(4, 5)))
    kept = tuple(one._replace(makes=(one.makes[0]._replace(weight=0),)) for one in kept)
    segment = Segment((900.0, 900.0), 8.0, kept, stages=1, lines=1)
    steps, bounds = _bounds(segment, Stock((TWO_AND_A_HALF, DOWN)), demand)
    found = bounds.to_come(steps.start())
    assert found >= NEVER if cost is None else cost_units(found) == cost


@pytest.mark.parametrize(
    ("torque", "limit", "cost"),
    [
        ((100.0, 900.0), 100.0, 0),
        ((100.0, 900.0), 99.9, 7),  # 100 / 2.5 = 40
        ((100.0, 900.0), 40.0, 7),
        ((100.0, 900.0), 39.9, 9),  # 100 / 7 = 14.3
        ((100.0, 900.0), 14.2, 16),
        ((0.3, 900.0), 0.2, 7),
        ((0.0, 900.0), 0.2, 0),  # as little as one likes may enter
    ],
)
def test_of_an_unknown_torque_the_least_bounds_what_may_leave(
    torque: tuple[float, float], limit: float, cost: int
) -> None:
    """A torque between two at the head, and a limit at the end that the least of it has to keep to. By hand."""
    segment = Segment(torque, 8.0, stages=2, lines=1)
    steps, bounds = _bounds(segment, Stock((TWO_AND_A_HALF, SEVEN)), Demand(torque=(0.0, limit)))
    assert cost_units(bounds.to_come(steps.start())) == cost


@pytest.mark.parametrize(
    ("demand", "cost"),
    [
        (Demand(), 0),
        (Demand(speed=(140.0, 140.0)), 9),
        (Demand(speed=(50.0, 50.0)), 7),
        (Demand(speed=(350.0, 350.0)), None),  # 5/2 × 5/2 × 7: two more
        (Demand(torque=(288.0, 900.0)), 0),
        (Demand(torque=(288.1, 900.0)), 3),
        (Demand(torque=(864.1, 900.0)), None),  # 288 × 3
        (Demand(torque=(0.0, 230.4)), 0),  # the stage to come may lose as much again: 288 × 0.8
        (Demand(torque=(0.0, 230.3)), 7),
        (Demand(torque=(0.0, 92.2)), 7),  # 230.4 / 2.5 = 92.16
        (Demand(torque=(0.0, 92.1)), 9),
        (Demand(needs=(Need(power=5760.0),)), 0),  # 288 × 20
        (Demand(needs=(Need(power=5761.0),)), None),
    ],
)
def test_the_least_weight_to_come_behind_a_stage_is_of_what_is_left(demand: Demand, cost: int | None) -> None:
    """5/2 at η 0.8 for 20 is in its place: 288 N·m at 20 rad/s, and one more stage may follow, of any kind. By hand."""
    lossy = _stage(_make("lossy", cost=20, efficiency=0.8), Fraction(5, 2))
    segment = Segment((900.0, 900.0), 8.0, stages=2, lines=1)
    steps, bounds = _bounds(segment, Stock((lossy, TWO_AND_A_HALF, SEVEN, DOWN)), demand)
    start = steps.start()
    group = next(g for g in steps.groups if g.efficiency < 1)
    (staged,) = steps.with_stage(start, group, steps.carried(start))
    found = bounds.to_come(staged)
    assert found >= NEVER if cost is None else cost_units(found) == cost


def test_a_design_that_is_shown_has_to_be_beaten() -> None:
    """Shown: 7 for 20 rad/s. As dear and as slow is not asked for; faster, or cheaper, or of fewer parts is."""
    segment = Segment((900.0, 900.0), 8.0, stages=2, lines=1)
    _, bounds = _bounds(segment, Stock((TWO_AND_A_HALF, SEVEN)), Demand(speed=(20.0, 90.0), useful=60.0))
    weight = weight_of(Fraction(7), 1)
    assert bounds.asked_for(weight, 1, 20.0, UPWARD)
    bounds.shown.append(Shown(7, 1, 20.0))
    assert not bounds.asked_for(weight, 1, 20.0, UPWARD)
    assert bounds.asked_for(weight, 1, 20.1, UPWARD)
    assert bounds.asked_for(weight_of(Fraction(6), 1), 1, 20.0, UPWARD)
    assert bounds.asked_for(weight, 0, 20.0, UPWARD)
    assert not bounds.asked_for(weight_of(Fraction(9), 1), 2, 19.0, UPWARD)
    bounds.shown.append(Shown(9, 1, 60.0))
    assert not bounds.asked_for(weight_of(Fraction(9), 1), 1, 90.0, UPWARD)  # no machine is faster above 60
    assert bounds.asked_for(weight_of(Fraction(8), 1), 1, 30.0, UPWARD)


@pytest.mark.parametrize(
    ("shown", "cost"),
    [
        ((), 0),
        ((Shown(0, 0, 8.0),), 7),  # 8 × 5/2
        ((Shown(0, 0, 7.9),), 0),
        ((Shown(0, 0, 20.0),), 9),  # not 20 again, but 8 × 7
        ((Shown(0, 0, 56.0),), 16),
        ((Shown(0, 0, 8.0), Shown(0, 0, 20.0)), 9),
        ((Shown(0, 0, 60.0),), None),  # no machine is faster above 60
        ((Shown(0, 0, 90.0),), None),
        ((Shown(0, 0, None),), 0),
        ((Shown(1, 0, 20.0),), 0),  # dearer
        ((Shown(0, 1, 20.0),), 0),  # of more parts
    ],
)
def test_what_is_shown_bounds_what_is_still_to_come(shown: tuple[Shown, ...], cost: int | None) -> None:
    """8 rad/s at the head, and stages 5/2 and 7 upward at 7 and 9: what costs no less has to be faster. By hand."""
    segment = Segment((900.0, 900.0), 8.0, stages=2, lines=1)
    steps, bounds = _bounds(segment, Stock((TWO_AND_A_HALF, SEVEN)), Demand(useful=60.0))
    bounds.shown.extend(shown)
    found = bounds.to_come(steps.start())
    assert found >= NEVER if cost is None else cost_units(found) == cost
    steps, anything = _bounds(segment, Stock((TWO_AND_A_HALF, SEVEN)), Demand(useful=None))
    anything.shown.extend(shown)  # where a slower one may do more, no speed is asked for
    assert anything.to_come(steps.start()) == 0


def test_what_still_has_to_come_counts_against_what_is_shown() -> None:
    """Behind 5/2 for 7 a shaft has to change for 3: that makes 10, which 8 at 20 rad/s is cheaper than; so 7 for 9."""
    kept = (Kept(0, (Make("shaft", "oak", weight=weight_of(Fraction(3), 1)),)),)
    segment = Segment((900.0, 900.0), 8.0, kept, stages=2, lines=1)
    steps, bounds = _bounds(segment, Stock((TWO_AND_A_HALF, SEVEN)), Demand())
    start = steps.start()
    (staged,) = steps.with_stage(start, steps.groups[0], steps.carried(start))
    costs = []
    for shown in (11, 10, 8):
        bounds.shown[:] = [Shown(shown, 1, 20.0)]
        costs.append(cost_units(bounds.to_come(staged)))
    assert costs == [3, 3 + 7, 3 + 7]


def test_where_no_stage_can_be_had_a_limit_is_kept_as_it_is_or_not_at_all() -> None:
    """900 N·m at the head: 900 at the end may be asked for and no less. Of two of η 0.8 576 may be. By hand."""
    segment = Segment((900.0, 900.0), 8.0, stages=2, lines=1)
    lossy = _stage(_make("lossy", cost=20, efficiency=0.8), Fraction(5, 2))
    for stock, limit, cost in ((Stock(()), 900.0, 0), (Stock(()), 899.0, None), (Stock((lossy,)), 576.0, 0)):
        steps, bounds = _bounds(segment, stock, Demand(torque=(0.0, limit)))
        found = bounds.to_come(steps.start())
        assert found >= NEVER if cost is None else cost_units(found) == cost
    steps, bounds = _bounds(segment, Stock((lossy,)), Demand(torque=(0.0, 575.9)))
    assert cost_units(bounds.to_come(steps.start())) == 20


@pytest.mark.parametrize(("straight", "cost"), [(False, 3), (True, None)])
def test_a_straight_segment_does_not_come_back_for_more_than_what_is_shown(straight: bool, cost: int | None) -> None:
    """7 up, and wanted are 56 / 3 rad/s: 3 down for 3 more, unless no more than that is shown already. By hand."""
    segment = Segment((900.0, 900.0), 8.0, stages=2, lines=1, straight=straight)
    steps, bounds = _bounds(segment, Stock((SEVEN, DOWN)), Demand(speed=(18.6, 18.7)))
    start = steps.start()
    (up,) = steps.with_stage(start, steps.groups[-1], steps.carried(start))
    (both,) = steps.with_stage(up, steps.groups[0], steps.carried(up))
    assert [label.ways for label in (start, up, both)] == ([0, UPWARD, UPWARD | DOWNWARD] if straight else [0, 0, 0])
    assert [cost_units(bounds.to_come(label)) for label in (up, both)] == [3, 0]
    bounds.shown.append(Shown(9, 1, None))
    found = bounds.to_come(up)
    assert found >= NEVER if cost is None else cost_units(found) == cost
    assert (bounds.to_come(both) >= NEVER) is straight


@pytest.mark.parametrize(
    ("demand", "cost"),
    [
        (Demand(torque=(120.0, 900.0)), 0),
        (Demand(torque=(120.1, 900.0)), 3),
        (Demand(torque=(360.1, 900.0)), None),
        (Demand(needs=(Need(power=2400.0),)), 0),
        (Demand(needs=(Need(power=2401.0),)), None),
    ],
)
def test_what_a_label_bears_bounds_what_is_still_to_come(demand: Demand, cost: int | None) -> None:
    """Up to 900 N·m at 8 rad/s, but the stage 5/2 stands 300: 120 N·m at 20 rad/s, 2,400 W. By hand."""
    weak = _stage(_make("weak", 300.0, cost=7), Fraction(5, 2))
    steps, bounds = _bounds(Segment((0.0, 900.0), 8.0, stages=2, lines=1), Stock((weak, DOWN)), demand)
    start = steps.start()
    (staged,) = steps.with_stage(start, steps.groups[-1], steps.carried(start))
    found = bounds.to_come(staged)
    assert found >= NEVER if cost is None else cost_units(found) == cost


def test_lines_side_by_side_weigh_what_gathers_them_and_leave_what_both_ends_do() -> None:
    """A fork of η 0.9 and a pair of η 0.8 for 5: 900 N·m are 810 in two lines, and 648 behind them. By hand."""
    ends = (_end("fork", 7, efficiency=0.9),), (_end("pair", 5, efficiency=0.8),)
    segment = Segment((900.0, 900.0), 8.0, stages=1, lines=2)
    said = []
    for torque in ((810.0, 9000.0), (810.1, 9000.0), (0.0, 648.0), (0.0, 647.9)):
        steps, bounds = _bounds(segment, Stock((TWO_AND_A_HALF, DOWN), *ends), Demand(torque=torque))
        start = steps.start()
        (opened,) = steps.opened(start, steps.carried(start), 2)
        ready = Label(opened.state._replace(phase=2), opened.weight, 1, 0, ENDLESS, 1.0, 0, start, opened.slot)
        (closed,) = steps.closed(ready, steps.carried(ready))
        said.append([cost_units(bounds.to_come(label)) for label in (opened, ready, closed)])
    # Behind both, 648 N·m are no 810: 3 down; in the lines more may be lost still, since a tree is up to seven deep.
    assert said == [[5, 5, 3], [8, 8, 3], [5, 5, 0], [5, 5, 7]]


def test_losses_of_lines_side_by_side_count_only_where_there_may_be_such_lines() -> None:
    """900 N·m, and 400 at the end at most: 900 / 2.5 = 360. With one line no tree, which loses more, spares it."""
    ends = (_end("half", 3, efficiency=0.6),), (_end("gather", 3, efficiency=0.6),)
    demand = Demand(torque=(0.0, 400.0))
    for lines, cost in ((1, 7), (2, 0)):
        segment = Segment((900.0, 900.0), 8.0, stages=1, lines=lines)
        steps, bounds = _bounds(segment, Stock((TWO_AND_A_HALF,), *ends), demand)
        assert cost_units(bounds.to_come(steps.start())) == cost


def test_splitters_and_combiners_for_so_many_lines_weigh_no_less() -> None:
    """Splitters of 2 outlets for 3 and of 3 for 5, combiners of any number for 7: by hand, no mixture is lighter.

    Three lines: 5 (3 + 3 is more); four: 3 + 5 = 8, by line added at least 5 / 2 · 3 = 7.5; two: 3.
    """
    trees = Trees((_end("half", 3), _end("third", 5, ends=3)), (_end("gather", 7, ends=None),))
    for lines, splitters in ((2, 3), (3, 5), (4, 8)):
        lightest = min(cost_units(tree.weight) for tree in trees.divided(lines, 0))
        assert lightest == splitters
        assert cost_units(trees.lightest(lines)) <= splitters + 7
    assert [cost_units(trees.lightest(lines)) for lines in (2, 3, 4)] == [10, 12, 14]  # 7.5 is 7 in whole units
    assert Trees((_end("half", 3),), ()).lightest(2) >= NEVER
    assert Trees((), (_end("gather", 7),)).lightest(2) >= NEVER
    assert Trees((_end("one", 3, ends=1),), (_end("gather", 7),)).lightest(2) >= NEVER


def test_lines_that_no_combiner_gathers_have_no_way_on() -> None:
    """A splitter makes two lines, and the only combiner takes exactly three: no design has lines side by side."""
    splitter, combiner = _end("divide", 3, ends=2), _end("gather", 3, ends=3)
    stock = Stock((SEVEN,), (splitter,), (combiner,))
    segment = Segment((900.0, 900.0), 8.0, stages=1, lines=2)
    steps, bounds = _bounds(segment, stock, Demand())
    start = steps.start()
    opened = list(steps.opened(start, steps.carried(start), 2))
    assert opened and all(bounds.to_come(label) >= NEVER for label in opened)
    designs = Search(segment, Demand(), stock, Effort(10_000)).designs()
    costs = sorted(cost_units(found.weight) for found in designs if isinstance(found, Found))
    assert costs == [0, 9]  # as it is, and with a stage


def test_what_is_shown_without_a_speed_is_not_too_slow_for_anything() -> None:
    """Of a straight segment it still stands against what gears up and down again for as much money and parts."""
    segment = Segment((900.0, 900.0), 8.0, stages=2, lines=1, straight=True)
    _, bounds = _bounds(segment, Stock((TWO_AND_A_HALF, SEVEN)), Demand(speed=(20.0, 90.0), useful=60.0))
    bounds.shown.append(Shown(7, 1, None))
    weight = weight_of(Fraction(7), 1)
    assert bounds.asked_for(weight, 1, 20.0, UPWARD)
    assert not bounds.asked_for(weight, 1, 90.0, UPWARD | DOWNWARD)
    assert bounds.asked_for(weight_of(Fraction(6), 1), 1, 20.0, UPWARD | DOWNWARD)
    assert bounds.asked_for(weight, 0, 20.0, UPWARD | DOWNWARD)


def test_stages_that_gear_one_way_reach_less_than_those_that_gear_both() -> None:
    """5/2 up for 9 and 5/3 down for 7: together 3/2 for 16; up alone 5/2 for 9, down alone 3/5 for 7; at most two."""
    reach = Reaches([(math.log(5 / 2), 9), (math.log(3 / 5), 7)], 2)
    near = 1e-9
    both = UPWARD | DOWNWARD
    for gain, ways, weight in (
        (3 / 2, both, 16), (3 / 2, UPWARD, NEVER), (3 / 2, DOWNWARD, NEVER), (3 / 2, 0, NEVER),
        (5 / 2, UPWARD, 9), (5 / 2, 0, 9), (5 / 2, DOWNWARD, NEVER), (3 / 5, UPWARD, NEVER), (3 / 5, 0, 7),
        (9 / 25, DOWNWARD, 14), (9 / 25, 0, 14), (25 / 4, 0, 18), (25 / 4, UPWARD, 18),
    ):  # fmt: skip
        log = math.log(gain)
        assert reach.at_most(2, log - near, log + near, ways) == weight


# Steps.


def test_what_leaves_a_label_behind_a_stage_and_a_shaft() -> None:
    """900 N·m at 8 rad/s: 5/2 up at η 0.9 passes 0.36 for each N·m at 20 rad/s; a shaft of η 0.5 passes 0.18."""
    lossy = _stage(_make("lossy", cost=7, efficiency=0.9), Fraction(5, 2))
    shaft = Kept(0, (_make("shaft", efficiency=0.5)._replace(part=3, weight=0),))
    segment = Segment((900.0, 900.0), 8.0, (shaft,), stages=1, lines=1)
    steps, _ = _bounds(segment, Stock((lossy,)), Demand())
    start = steps.start()
    assert steps.carried(start) == (1.0, 8.0, 1.0, 1)
    (staged,) = steps.with_stage(start, steps.groups[0], steps.carried(start))
    assert steps.carried(staged)[:2] == (pytest.approx(0.36), pytest.approx(20.0))
    assert (cost_units(staged.weight), staged.parts, staged.stages) == (7, 1, 1)
    (past,) = steps.past(staged, steps.carried(staged))
    assert steps.carried(past)[:2] == (pytest.approx(0.18), pytest.approx(20.0))
    assert (past.weight - staged.weight, past.parts, past.stages) == (0, 1, 1)


@pytest.mark.parametrize(
    ("torque", "speed", "names"),
    [
        (200.0, 8.0, ["light"]),
        (300.0, 8.0, ["light"]),
        (301.0, 8.0, ["strong"]),
        (900.0, 8.0, ["strong"]),
        (901.0, 8.0, []),
        (200.0, 12.0, ["light"]),
        (200.0, 12.1, ["strong"]),
        (200.0, 36.1, []),
    ],
)
def test_the_lightest_stage_that_stands_what_comes(torque: float, speed: float, names: list[str]) -> None:
    """5/2 up: light stands 300 N·m and 30 rad/s, strong 900 and 90: inlet torque and outlet speed decide. By hand."""
    stock = Stock(
        (
            _stage(_make("light", 300.0, 30.0, 3), Fraction(5, 2)),
            _stage(_make("strong", 900.0, 90.0, 7), Fraction(5, 2)),
        )
    )
    steps, _ = _bounds(Segment((torque, torque), speed, stages=1, lines=1), stock, Demand())
    start = steps.start()
    found = steps.with_stage(start, steps.groups[0], steps.carried(start))
    assert [label.slot.stage.make.item for label in found if label.slot is not None] == names  # type: ignore[union-attr]


def test_of_an_unknown_torque_lighter_stages_bear_a_part() -> None:
    """From 100 to 900 N·m: the light one bears up to 300, the strong one all."""
    stock = Stock(
        (
            _stage(_make("light", 300.0, cost=3), Fraction(5, 2)),
            _stage(_make("strong", 900.0, cost=7), Fraction(5, 2)),
        )
    )
    steps, _ = _bounds(Segment((100.0, 900.0), 8.0, stages=1, lines=1), stock, Demand())
    start = steps.start()
    found = list(steps.with_stage(start, steps.groups[0], steps.carried(start)))
    assert [label.most for label in found] == [pytest.approx(300.0), pytest.approx(900.0)]
    assert all(one.weight < other.weight for one, other in pairwise(found))


def test_a_part_that_stays_changes_where_it_does_not_stand_what_comes() -> None:
    """Rated 500 as it is; oak 700, elm 900 for more. At 600 N·m oak, at 800 elm, at 1,000 none. By hand."""
    own = Make("shaft", "ash", 500.0, part=3)
    kept = Kept(0, (own, Make("shaft", "oak", 700.0, weight=3), Make("shaft", "elm", 900.0, weight=7)))
    said = []
    for torque in (500.0, 600.0, 700.0, 800.0, 1000.0):
        steps, _ = _bounds(Segment((torque, torque), 8.0, (kept,), stages=0, lines=1), Stock(()), Demand())
        start = steps.start()
        said.append([label.weight for label in steps.past(start, steps.carried(start))])
    assert said == [[0], [3], [3], [7], []]


def test_lines_side_by_side_are_opened_filled_and_gathered() -> None:
    """Three lines: two forks at 7, stages and shafts three times, two pairs at 5; the shaft stands already once."""
    gear = _stage(_make("gear", cost=3, efficiency=0.9), Fraction(5, 2))
    shaft = Make("shaft", None, part=4, copy=weight_of(Fraction(2), 1, 1))
    ends = {"splitters": (_end("fork", 7),), "combiners": (_end("pair", 5, efficiency=0.8),)}
    segment = Segment((900.0, 900.0), 8.0, (Kept(0, (shaft,)),), stages=1, lines=3)
    steps, _ = _bounds(segment, Stock((gear,), **ends), Demand())
    start = steps.start()
    opened = next(steps.opened(start, steps.carried(start), 3))
    assert (cost_units(opened.weight), opened.parts, opened.stages) == (14, 2, 0)
    at = steps.carried(opened)
    assert (at.torque, at.speed, at.share, at.lines) == (1.0, 8.0, pytest.approx(1 / 3), 3)
    (staged,) = steps.with_stage(opened, steps.groups[0], at)
    assert (cost_units(staged.weight), staged.parts, staged.stages) == (14 + 9, 5, 1)
    (past,) = steps.past(staged, steps.carried(staged))
    assert (cost_units(past.weight), past.parts, past.stages) == (23 + 4, 7, 1)
    needed = past.state._replace(phase=2)
    ready = Label(needed, past.weight, past.parts, 1, past.most, past.pass_on, 0, past.above, past.slot)
    (closed,) = steps.closed(ready, steps.carried(ready))
    assert (cost_units(closed.weight), closed.parts) == (27 + 10, 9)
    # η 0.9 of the gears; of three equal lines two pass both pairs, η 0.64, one η 0.8: 0.9 · (2 · 0.64 + 0.8) / 3.
    assert closed.pass_on == pytest.approx(0.9 * (2 * 0.64 + 0.8) / 3)
    assert steps.carried(closed)[1:] == (20.0, 1.0, 1)


def test_the_other_ways_to_a_state_are_those_of_other_makes() -> None:
    """Two gears of one gain and efficiency, two forks, two pairs, and grades of a shaft: each has its other one."""
    gears = tuple(_stage(_make(f"gear-{cost}", cost=cost), Fraction(5, 2)) for cost in (3, 4))
    shaft = tuple(Make("shaft", grade, weight=weight_of(Fraction(cost), 1)) for grade, cost in (("elm", 1), ("oak", 2)))
    forks = tuple(_end(f"fork-{cost}", cost, torque=100.0 * cost**2) for cost in (7, 9))
    pairs = tuple(_end(f"pair-{cost}", cost, torque=100.0 * cost**2, efficiency=0.8) for cost in (5, 6))
    segment = Segment((900.0, 900.0), 8.0, (Kept(0, shaft),), stages=1, lines=2)
    steps, _ = _bounds(segment, Stock(gears, forks, pairs), Demand())
    start = steps.start()
    (staged,) = steps.with_stage(start, steps.groups[0], steps.carried(start))
    assert [cost_units(other.weight) for other in steps.others(staged)] == [4]
    (past,) = steps.past(staged, steps.carried(staged))
    assert [cost_units(other.weight) for other in steps.others(past)] == [3 + 2]
    (opened,) = steps.opened(start, steps.carried(start), 2)
    (other,) = steps.others(opened)
    assert (cost_units(opened.weight), cost_units(other.weight), other.state) == (7, 9, opened.state)
    (inside,) = steps.with_stage(opened, steps.groups[0], steps.carried(opened))
    needed = inside.state._replace(phase=2)
    ready = Label(needed, inside.weight, inside.parts, 1, inside.most, 0.7, 0, inside.above, inside.slot)
    (closed,) = steps.closed(ready, steps.carried(ready))
    (gathered,) = steps.others(closed)
    assert cost_units(gathered.weight) - cost_units(closed.weight) == 1
    assert gathered.pass_on == closed.pass_on == pytest.approx(0.7 * 0.8)
    assert list(steps.others(start)) == []


def test_where_nothing_arrives_nothing_breaks_and_nothing_more_is_lost() -> None:
    """Behind what passes nothing on at all a shaft bears whatever enters the head. By hand."""
    shaft = Kept(0, (Make("shaft", None, torque=3.0, efficiency=0.9, part=0),))
    steps, _ = _bounds(Segment((900.0, 900.0), 8.0, (shaft,), stages=0, lines=1), Stock(()), Demand())
    start = steps.start()
    stopped = Label(start.state, 0, 0, 0, 900.0, 0.0, 0, start, None)
    (past,) = steps.past(stopped, steps.carried(stopped))
    assert (past.most, past.pass_on, past.state.loss) == (900.0, 0.0, 0)


@pytest.mark.parametrize("lossy", ["fork", "pair"])
def test_ends_that_pass_next_to_nothing_on_make_no_lines(lossy: str) -> None:
    """η 1e-13 leaves less of a torque than shares are told apart by: as it is, with one stage and with two, no more."""
    fork, pair = (_end(name, 3, efficiency=1e-13 if name == lossy else 1.0) for name in ("fork", "pair"))
    gear = _stage(_make("gear", 500.0, cost=3), Fraction(5, 2))
    designs = _all(Segment((400.0, 400.0), 8.0, stages=2, lines=2), Demand(), Stock((gear,), (fork,), (pair,)))
    assert [len(one.slots) for one in designs] == [0, 1, 2]
    weak = _stage(_make("weak", 300.0, cost=3), Fraction(5, 2))
    designs = _all(Segment((400.0, 400.0), 8.0, stages=2, lines=2), Demand(), Stock((weak,), (fork,), (pair,)))
    assert [len(one.slots) for one in designs] == [0]


def test_another_make_of_what_can_be_had_once_leads_to_another_state() -> None:
    """One gear stands free and two are bought: instead of a bought one there is the other one, the free one is not."""
    free = Make("gear", None, once=1, part=3)
    bought = tuple(_stage(_make(f"bought-{cost}", cost=cost), Fraction(5, 2)) for cost in (3, 4))
    steps, _ = _bounds(
        Segment((900.0, 900.0), 8.0, stages=1, lines=1), Stock((_stage(free, Fraction(5, 2)), *bought)), Demand()
    )
    start = steps.start()
    first, second = steps.with_stage(start, steps.groups[0], steps.carried(start))
    assert (first.state.used, second.state.used) == (1, 0)
    assert [cost_units(other.weight) for other in steps.others(second)] == [4]
    assert list(steps.others(first)) == []


def test_other_trees_bear_what_arrives_and_no_more() -> None:
    """Behind 5/2 up arrive 360 of 900 N·m: forks of 360 and 400 bear that, one of 350 does not. By hand."""
    gear = _stage(_make("gear", cost=3), Fraction(5, 2))
    forks = tuple(_end(f"fork-{limit}", 7 + limit, torque=float(limit)) for limit in (360, 350, 400))
    pairs = tuple(_end(f"pair-{limit}", 7 + limit, torque=float(limit)) for limit in (360, 350, 400))
    steps, _ = _bounds(Segment((900.0, 900.0), 8.0, stages=1, lines=2), Stock((gear,), forks, pairs), Demand())
    start = steps.start()
    (staged,) = steps.with_stage(start, steps.groups[0], steps.carried(start))
    (opened,) = steps.opened(staged, steps.carried(staged), 2)
    assert opened.most == pytest.approx(900.0)  # 360 × 5/2
    assert [other.most for other in steps.others(opened)] == [pytest.approx(1000.0)]
    ready = Label(opened.state._replace(phase=2), opened.weight, 2, 1, opened.most, 1.0, 0, opened.above, opened.slot)
    (closed,) = steps.closed(ready, steps.carried(ready))
    assert [other.slot.tree.torque for other in steps.others(closed) if isinstance(other.slot, CloseSlot)] == [400.0]


def test_other_makes_in_one_of_two_lines_bear_half() -> None:
    """900 N·m are halved: what stands 460 bears 2 · 460 = 920, another of 470 bears 940, one of 440 too little."""
    limits = ((460.0, 3), (470.0, 4), (440.0, 2))
    gears = tuple(_stage(_make(f"gear-{limit}", limit, cost=cost), Fraction(5, 2)) for limit, cost in limits)
    copy = weight_of(Fraction(1), 1, 1)
    shafts = tuple(Make("shaft", f"g-{limit}", limit, weight=cost, copy=copy) for limit, cost in limits)
    segment = Segment((900.0, 900.0), 8.0, (Kept(0, shafts),), stages=1, lines=2)
    steps, _ = _bounds(segment, Stock(gears, (_end("fork", 7),), (_end("pair", 5),)), Demand())
    start = steps.start()
    (opened,) = steps.opened(start, steps.carried(start), 2)
    (inside,) = steps.with_stage(opened, steps.groups[0], steps.carried(opened))
    assert inside.most == pytest.approx(920.0)
    assert [other.most for other in steps.others(inside)] == [pytest.approx(940.0)]
    (past,) = steps.past(opened, steps.carried(opened))
    assert past.most == pytest.approx(920.0)
    assert [other.most for other in steps.others(past)] == [pytest.approx(940.0)]


def test_a_part_that_stays_and_gears_down_stands_the_torque_at_its_outlet() -> None:
    """2 : 5 down makes 5/2 of each N·m: rated 1,000 it bears 400 at the head; of η 0.9 444.4; up it bears 1,000."""
    said = []
    for turning, efficiency in ((Fraction(2, 5), 1.0), (Fraction(2, 5), 0.9), (Fraction(5, 2), 1.0)):
        kept = Kept(0, (Make("bevel", None, 1000.0, efficiency=efficiency, part=3),), turning)
        steps, _ = _bounds(Segment((300.0, 9000.0), 8.0, (kept,), stages=0, lines=1), Stock(()), Demand())
        (past,) = steps.past(steps.start(), steps.carried(steps.start()))
        said.append(past.most)
    assert said == pytest.approx([400.0, 1000 / 2.25, 1000.0])


def test_other_makes_stand_the_speed_at_their_outlet() -> None:
    """A right-angle stage that stays, 5/2 up: 8 rad/s leave it at 20; of two others one stands 20 and one 15."""
    makes = (Make("as-is", None), Make("slow", None, speed=15.0, weight=1), Make("fast", None, speed=20.0, weight=2))
    kept = Kept(0, makes, Fraction(5, 2), clear=False)
    steps, _ = _bounds(Segment((900.0, 900.0), 8.0, (kept,), stages=0, lines=1), Stock(()), Demand())
    start = steps.start()
    (past,) = steps.past(start, steps.carried(start))
    assert steps.carried(past)[:2] == (pytest.approx(0.4), 20.0)
    others = list(steps.others(past))
    assert [other.slot.make.item for other in others if isinstance(other.slot, KeptSlot)] == ["fast"]
    assert [other.weight for other in others] == [2]
    weak = Make("weak", None, torque=899.0, weight=1)
    weaker, _ = _bounds(
        Segment((900.0, 900.0), 8.0, (kept._replace(makes=(makes[0], weak)),), stages=0, lines=1), Stock(()), Demand()
    )
    (past,) = weaker.past(weaker.start(), weaker.carried(weaker.start()))
    assert list(weaker.others(past)) == []


def test_a_stage_may_not_undo_the_one_above_but_for_what_the_line_has_already() -> None:
    """The gain of the last stage is kept with the label; 0 where the line as it stands gives and takes it back."""
    gear = _stage(_make("gear", cost=3), Fraction(5, 2))
    for undone, last in ((frozenset[Fraction](), True), (frozenset([Fraction(5, 2)]), False)):
        segment = Segment((900.0, 900.0), 8.0, stages=2, lines=1, undone=undone)
        steps, _ = _bounds(segment, Stock((gear,)), Demand())
        start = steps.start()
        (staged,) = steps.with_stage(start, steps.groups[0], steps.carried(start))
        assert (staged.last == steps.groups[0].gain != 0) is last
        assert (staged.last == 0) is not last


def test_what_can_be_had_once_is_taken_once() -> None:
    """A gear that stands in the rig and comes free: a second time only the bought one is left."""
    free = Make("gear", None, once=1, part=3)
    stock = Stock((_stage(free, Fraction(5, 2)), _stage(_make("bought", cost=3), Fraction(5, 2))))
    steps, _ = _bounds(Segment((900.0, 900.0), 8.0, stages=2, lines=1), stock, Demand())
    start = steps.start()
    first = list(steps.with_stage(start, steps.groups[0], steps.carried(start)))
    assert [(label.weight, label.state.used) for label in first] == [(0, 1), (weight_of(Fraction(3), 1, 1), 0)]
    again = list(steps.with_stage(first[0], steps.groups[0], steps.carried(first[0])))
    assert [(cost_units(label.weight), label.state.used) for label in again] == [(3, 1)]


def test_a_stage_in_a_gap_further_from_the_line_s_own_counts_as_words() -> None:
    """Behind two kept parts the gap is 7 places away: 7 words more."""
    shaft = Make("shaft", None, part=4)
    segment = Segment((900.0, 900.0), 8.0, (Kept(0, (shaft,)), Kept(1, (shaft,))), 1, 1, gaps=(0, 3, 7))
    steps, _ = _bounds(segment, Stock((_stage(_make("gear", cost=3), Fraction(5, 2)),)), Demand())
    label, words = steps.start(), []
    for passed in range(3):
        (staged,) = steps.with_stage(label, steps.groups[0], steps.carried(label))
        words.append(staged.weight - label.weight - weight_of(Fraction(3), 1, 1))
        if passed < 2:
            (label,) = steps.past(label, steps.carried(label))
    assert words == [0, 3 * WORD, 7 * WORD]


def _all(segment: Segment, demand: Demand, stock: Stock) -> list[Found]:
    return [one for one in Search(segment, demand, stock, Effort(100_000)).designs() if isinstance(one, Found)]


def test_designs_end_in_one_line_and_weigh_what_is_put_in() -> None:
    """Of all designs of a little segment: as many gathered as divided, and each slot's weight once for each line."""
    gears = tuple(_stage(_make(f"gear-{cost}", 260.0 + 100 * cost, cost=cost), Fraction(5, 2)) for cost in (3, 4))
    shaft = Make("shaft", None, 950.0, part=4, copy=weight_of(Fraction(2), 1, 1))
    stock = Stock(gears, (_end("fork", 7),), (_end("pair", 5), _end("trio", 6, 3)))
    designs = _all(Segment((900.0, 900.0), 8.0, (Kept(0, (shaft,)),), stages=2, lines=3), Demand(), stock)
    assert len(designs) > 9
    assert [one.weight for one in designs] == sorted(one.weight for one in designs)
    assert len({one.slots for one in designs}) == len(designs)
    for one in designs:
        weight, lines = 0, 1
        for slot in one.slots:
            if isinstance(slot, OpenSlot):
                weight, lines = weight + slot.tree.weight, slot.lines
            elif isinstance(slot, CloseSlot):
                weight, lines = weight + slot.tree.weight, 1
            elif isinstance(slot, StageSlot):
                weight += lines * slot.stage.make.weight
            else:
                weight += slot.make.weight + (lines - 1) * (slot.make.copy or 0)
        assert (one.weight, lines) == (weight, 1)
        gains = [2.5 for slot in one.slots if isinstance(slot, StageSlot)]
        assert (one.speed, one.passes) == (pytest.approx(8 * math.prod(gains)), pytest.approx(1 / math.prod(gains)))


def test_every_order_of_four_stages_in_either_make_is_a_design() -> None:
    """Four gains of two makes each for 8 × 11/2 rad/s: 4! orders, 2⁴ makes. Of four parts all, so none of five bars."""
    gains = (Fraction(3, 2), Fraction(5, 3), Fraction(7, 5), Fraction(11, 7))
    gears = tuple(_stage(_make(f"gear-{gain}-{cost}", cost=cost), gain) for gain in gains for cost in (3, 7))
    search = Search(
        Segment((900.0, 900.0), 8.0, stages=4, lines=1), Demand(speed=(44.0, 44.0)), Stock(gears), Effort(100_000)
    )
    search.show(0, 5, 90.0)
    designs = [one for one in search.designs() if isinstance(one, Found)]
    assert len({one.slots for one in designs}) == len(designs) == 24 * 16
    # So many of the four are the dearer one: 24 orders of each of 1, 4, 6, 4 and 1 choices; lightest first.
    costs = [12 + 4 * dear for dear, choices in enumerate((1, 4, 6, 4, 1)) for _ in range(24 * choices)]
    assert [cost_units(one.weight) for one in designs] == costs
    assert all(one.parts == 4 and one.speed == pytest.approx(44.0) for one in designs)
    assert all(one.passes == pytest.approx(2 / 11) for one in designs)


@pytest.mark.parametrize(("straight", "costs"), [(False, [17] * 3 + [18] * 6 + [19] * 3), (True, [17])])
def test_of_a_straight_segment_one_order_of_what_comes_back_is_enough(straight: bool, costs: list[int]) -> None:
    """5/2 twice, for 7 or 8, and 3 down for 3: in three orders. Once one is shown no other is any better in cost."""
    stock = Stock((TWO_AND_A_HALF, _stage(_make("dear", cost=8), Fraction(5, 2)), DOWN))
    segment = Segment((900.0, 900.0), 8.0, stages=3, lines=1, straight=straight)
    search = Search(segment, Demand(speed=(16.6, 16.7)), stock, Effort(10_000))
    found = []
    for one in search.designs():
        if isinstance(one, Found):
            found.append(cost_units(one.weight))
            search.show(cost_units(one.weight), one.parts, None)
    assert found == costs


def test_what_is_said_of_a_search_on_its_way_is_what_is_still_to_come_at_least() -> None:
    """7 and 5/2 for 9 and 7: nothing at first, then with either of them in its place 16, and no word between."""
    segment = Segment((900.0, 900.0), 8.0, stages=2, lines=1)
    search = Search(segment, Demand(speed=(140.0, 140.0)), Stock((TWO_AND_A_HALF, SEVEN)), Effort(1000))
    turns = list(search.designs())
    assert [cost_units(one.weight) for one in turns if isinstance(one, Nothing)] == [0, 16]
    assert [cost_units(one.weight) for one in turns if isinstance(one, Found)] == [16, 16]


def test_of_what_has_as_many_parts_as_what_is_shown_nothing_more_is_asked_for() -> None:
    """Four gains in two makes each again: of the 384 designs a hundred, then four parts are shown for nothing."""
    gains = (Fraction(3, 2), Fraction(5, 3), Fraction(7, 5), Fraction(11, 7))
    gears = tuple(_stage(_make(f"gear-{gain}-{cost}", cost=cost), gain) for gain in gains for cost in (3, 7))
    search = Search(
        Segment((900.0, 900.0), 8.0, stages=4, lines=1), Demand(speed=(44.0, 44.0)), Stock(gears), Effort(100_000)
    )
    count = 0
    for one in search.designs():
        count += isinstance(one, Found)
        if count == 100:
            search.show(0, 4, 90.0)
    assert count == 100


def test_a_word_of_a_search_is_of_what_costs_more_than_before() -> None:
    """As it is; a gear for 7; ends for 7 + 5; gear and ends 19, for which a gear in each of two lines is no better."""
    stock = Stock((TWO_AND_A_HALF,), (_end("fork", 7),), (_end("pair", 5),))
    segment = Segment((900.0, 900.0), 8.0, stages=1, lines=2)
    turns = list(Search(segment, Demand(accepts=lambda torque, speed: False), stock, Effort(1000)).designs())
    assert [cost_units(one.weight) for one in turns if isinstance(one, Nothing)] == [0, 7, 12, 19]
    assert len(turns) == 4
    cheap = Search(segment, Demand(), Stock((_stage(_make("gear", cost=1), Fraction(5, 2)),)), Effort(1000)).designs()
    assert [cost_units(one.weight) for one in cheap if isinstance(one, Nothing)] == [0, 1]


@pytest.mark.parametrize(("gears", "words"), [(128, 1), (129, 2), (257, 2), (258, 3)])
def test_a_word_is_given_after_so_many_labels_that_cost_no_more(gears: int, words: int) -> None:
    """One at the start, then one for 129 labels each: so many gears that cost nothing and serve nobody."""
    free = tuple(_stage(Make(f"gear-{n}", None, weight=PART), Fraction(1000 + n, 1000)) for n in range(1, gears + 1))
    demand = Demand(accepts=lambda torque, speed: False)
    search = Search(Segment((900.0, 900.0), 8.0, stages=1, lines=1), demand, Stock(free), Effort(100_000))
    assert len(list(search.designs())) == words


@pytest.mark.parametrize(("effort", "outcome"), [(6, "no-further"), (5, "no-further-within-bound")])
def test_trees_that_are_looked_at_are_steps_too(effort: int, outcome: str) -> None:
    """Gone on from the start, to two lines, from these: 3; these reached: 1; one fork and one pair looked at: 2."""
    stock = Stock((), (_end("fork", 7),), (_end("pair", 5),))
    search = Search(Segment((900.0, 900.0), 8.0, stages=0, lines=2), Demand(), stock, Effort(effort))
    list(search.designs())
    assert search.outcome == outcome


@pytest.mark.parametrize(
    ("effort", "outcome"), [(4, "no-further"), (3, "no-further-within-bound"), (2, "none-within-bound")]
)
def test_a_step_is_a_label_gone_on_from_a_gain_tried_or_a_label_reached(effort: int, outcome: str) -> None:
    """One gain, one stage: gone on from the start, the gain tried, the stage reached, gone on from it: four steps."""
    segment = Segment((900.0, 900.0), 8.0, stages=1, lines=1)
    search = Search(segment, Demand(speed=(20.0, 20.0)), Stock((TWO_AND_A_HALF,)), Effort(effort))
    list(search.designs())
    assert search.outcome == outcome


def test_an_interval_may_be_narrow() -> None:
    """Rated 260 N·m, and 103.9 N·m are wanted behind 5/2: 259.75 to 260 N·m at the head; from 104.1 on none."""
    stock = Stock((_stage(_make("gear", 260.0, cost=3), Fraction(5, 2)),))
    segment = Segment((0.0, 900.0), 8.0, stages=1, lines=1)
    (only,) = _all(segment, Demand(needs=(Need(torque=103.9, speed=20.0),)), stock)
    assert only.torque == (pytest.approx(259.75), pytest.approx(260.0))
    assert _all(segment, Demand(needs=(Need(torque=104.1, speed=20.0),)), stock) == []
    (bound,) = _all(segment, Demand(torque=(0.0, 40.0), needs=(Need(speed=20.0),)), stock)
    assert bound.torque == (0.0, pytest.approx(100.0))


def test_a_search_lets_others_have_their_turn_now_and_then() -> None:
    """Stages for nothing and a speed that none reach: one word at the beginning, then one in 128 labels, not more."""
    free = tuple(_stage(Make(f"gear-{n}", None, weight=PART), Fraction(100 + n, 100)) for n in range(1, 12))
    demand = Demand(accepts=lambda torque, speed: False)
    search = Search(Segment((900.0, 900.0), 8.0, stages=3, lines=1), demand, Stock(free), Effort(100_000))
    turns = list(search.designs())
    assert all(isinstance(turn, Nothing) for turn in turns)
    assert 2 <= len(turns) <= 1 + (1 + 11 + 11**2 + 11**3) / 128  # no more than each row of up to three
    assert search.outcome == "none"
