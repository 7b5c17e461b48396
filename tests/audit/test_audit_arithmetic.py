"""The arithmetic that explanations stand on, piece by piece: by hand, by scipy, by trying all orders."""

import math
from fractions import Fraction
from itertools import pairwise, permutations
from random import Random

import numpy
import pytest
from audit.made_rigs import solved
from scipy.optimize import lsq_linear, minimize  # type: ignore[import-untyped]

from lineshaft.audit import search as search_module
from lineshaft.audit.candidate import LEAST_SHARE, PossibleDeviation, Span, ordinariness, together
from lineshaft.audit.candidates import _arranged, _count_of_orders, _orders, candidates
from lineshaft.audit.common_causes import common_causes
from lineshaft.audit.comparison import NO_READING, Measured, computed, disagree, measured
from lineshaft.audit.coverage import coverage
from lineshaft.audit.deviation_edits import expressed
from lineshaft.audit.deviations import Deviation, Kind, parts_with, with_deviation
from lineshaft.audit.diagnosis import Explanation, _of_all_trains, diagnose
from lineshaft.audit.fitting import Clash, Fit, _weighed, fit, misfit_of
from lineshaft.audit.least_squares import _better_within, _held_sum, error_of, least_squares
from lineshaft.audit.next_reading import _evenness, _groups, next_reading
from lineshaft.audit.reading_places import name_of, place_of, places_to_read
from lineshaft.audit.response import Response, response
from lineshaft.audit.rounding import _plainer, _whole_shares
from lineshaft.audit.search import _Search, explain
from lineshaft.audit.survey import Survey, surveys
from lineshaft.check.finding import Measure, Text
from lineshaft.schema.model.rig import Part
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.testing import rig_from_text

CATALOGUE = """\
catalogue: 1
edition: "1"
lubricants: [flax-oil]
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  weir: {kind: prime-mover, table: {by: head, points: [[2 m, 500 N*m, 3 rad/s], [3 m, 700 N*m, 5 rad/s], [6 m, 900 N*m, 7 rad/s]]}}
  sluice: {kind: prime-mover, table: {by: head, points: [[2 m, 300 N*m, 3 rad/s], [4 m, 500 N*m, 5 rad/s]]}}
  drum: {kind: prime-mover, output: {torque: 300 N*m, speed: 5 rad/s}}
  runner: {kind: prime-mover, hydraulic: {flow: 0.5 m^3/s, efficiency: 0.7, speed: 9 rad/s}}
  rod: {kind: shaft, efficiency: 0.9}
  stage: {kind: gear-stage, ratios: [5/2, 3, 7]}
  one: {kind: gear-stage, ratios: [1, 3]}
  oiled: {kind: gear-stage, ratios: [3], efficiency: 0.9, lubricant: {kind: flax-oil, holds: 4.5 L, uses: 0.3 mL/s}}
  bevel: {kind: right-angle}
  clutch: {kind: clutch}
  fork: {kind: splitter, shares: any}
  trident: {kind: splitter, shares: [[1, 2, 3], [1, 1, 5]]}
  joiner: {kind: combiner, inlets: 2}
  mill: {kind: driven-machine}
"""  # noqa: E501
PLAIN = "w: {item: wheel}\nm: {item: mill, driven-by: w}"
THREE = "".join(f"m{n}: {{item: mill, driven-by: f.{n}}}\n" for n in "abc")
HEAD = "rig: 1\ncatalogue: made.catalogue.yaml\nparts:\n"


def _rig(parts: str, readings: str = "", steps: str = "") -> SolvedRig:
    lines = "".join(f"  {line.strip()}\n" for line in parts.strip().splitlines())
    read = "".join(f"  - {{{line.strip()}}}\n" for line in readings.strip().splitlines())
    done = "".join(f"  - {line.strip()}\n" for line in steps.strip().splitlines())
    text = HEAD + lines + (f"commissioning:\n{done}" if done else "") + (f"readings:\n{read}" if read else "")
    return solved(text, CATALOGUE)


def _surveyed(rig: SolvedRig) -> Survey:
    (survey,) = surveys(rig.train, tuple(measured(rig.rig.readings)))
    return survey


def _read(*values: float, tolerance: float = 0.1) -> list[Measured]:
    return [Measured(k, k, 0, "torque", value, tolerance) for k, value in enumerate(values)]


# Numbers that were read.


def test_a_number_at_the_edge_of_its_tolerance_agrees() -> None:
    """5 % of 700 are 35: 735 and 665 agree, 735.1 and 664.9 do not; 1e-9 of it never counts."""
    assert [disagree(read, 700.0, 0.05) for read in (735.0, 665.0, 735.1, 664.9)] == [False, False, True, True]
    assert not disagree(700.0 * (1 + 0.9e-9), 700.0, 0.0)
    assert disagree(700.0 * (1 + 3e-9), 700.0, 0.0)


def test_readings_are_numbers_torque_before_speed() -> None:
    """Two readings, one of speed alone: three numbers, each with the place of its reading."""
    rig = _rig(PLAIN, "at: w, speed: 9 rad/s\nat: m, torque: 7 N*m, speed: 3 rad/s, tolerance: 30 %")
    said = [(m.reading, m.part, m.quantity, m.read, m.tolerance) for m in measured(rig.rig.readings)]
    assert [each[:4] for each in said] == [(0, 0, "speed", 9.0), (1, 1, "torque", 7.0), (1, 1, "speed", 3.0)]
    assert said[2][4] == pytest.approx(0.3)


def test_what_is_computed_for_a_place() -> None:
    """An outlet's torque is its share; a machine's is what arrives; what is not solved has none. By hand."""
    rig = _rig(
        """w: {item: wheel}
        f: {item: fork, driven-by: w, shares: {a: 2, b: 3}}
        s: {item: stage, ratio: 3, set: reduce, driven-by: f.a}
        j: {item: joiner, driven-by: [s, f.b]}
        m: {item: mill, driven-by: j}"""
    )
    index, read = rig.rig.index, (rig.parts, rig.flows)
    assert computed(*read, index["f"], 0, "torque") == pytest.approx(360.0)
    assert computed(*read, index["f"], 1, "torque") == pytest.approx(540.0)
    assert computed(*read, index["f"], 1, "speed") == 8.0
    assert computed(*read, index["s"], 0, "torque") == pytest.approx(1080.0)
    assert computed(*read, index["j"], 0, "torque") is computed(*read, index["m"], 0, "speed") is None
    plain = _rig("w: {item: wheel}\nr: {item: rod, driven-by: w}\nm: {item: mill, driven-by: r}")
    assert computed(plain.parts, plain.flows, 2, 0, "torque") == pytest.approx(810.0)
    assert computed(plain.parts, plain.flows, 2, 0, "speed") == 8.0


@pytest.mark.parametrize(
    ("read", "value", "tolerance", "error"),
    [
        (520.0, 500.0, 0.1, 20 / 52),  # of the larger, 520
        (500.0, 520.0, 0.1, -20 / 52),
        (-520.0, 500.0, 0.1, -1020 / 52),
        (0.0, 0.0, 0.1, 0.0),
        (500.0 + 5e-4, 500.0, 0.0, 1.0),  # no tolerance counts as 1e-6
    ],
)
def test_an_error_counts_in_tolerances(read: float, value: float, tolerance: float, error: float) -> None:
    """The difference over the tolerance of the larger of both. By hand."""
    assert error_of(_read(read, tolerance=tolerance)[0], value) == pytest.approx(error, rel=1e-5)


# Responses.


def test_a_response_is_straight_in_each_value() -> None:
    """7 + 5·x·y - 2·x read off at the corners of spans 1 to 3 and 0.5 to 2, and off again anywhere between."""

    def solved_at(v: tuple[float, ...]) -> list[float | None]:
        return [7 + 5 * v[0] * v[1] - 2 * v[0], v[1], 9.0]

    answer = response(solved_at, [(Span(1.0, 3.0),), (Span(0.5, 2.0),)])
    rng = Random(7)
    for _ in range(9):
        values = (rng.uniform(1, 3), rng.uniform(0.5, 2))
        free = answer.free(values)
        assert answer.values(free) == pytest.approx(values)
        expected = solved_at(values)
        for number in range(3):
            assert answer.value(number, free) == pytest.approx(expected[number])
            for place in range(2):
                up, down = list(free), list(free)
                up[place] += 1e-4
                down[place] -= 1e-4
                slope = (answer.value(number, up) - answer.value(number, down)) / 2e-4
                assert answer.slopes(number, free)[place] == pytest.approx(slope, abs=1e-6)


def test_free_values_are_counted_from_the_upper_end() -> None:
    """0 is the upper end of a span and 1 the lower one: as written first, then more and more off."""
    answer = Response((Span(2.0, 6.0),), ((), (0,)), ((7.0, 5.0),))
    assert answer.values([0.0]) == (6.0,)
    assert answer.values([1.0]) == (2.0,)
    assert answer.free([5.0]) == [0.25]
    assert answer.value(0, [0.25]) == pytest.approx(8.25)


def test_values_of_one_group_are_not_multiplied() -> None:
    """Two shares of one splitter and one value beside: terms of none, one, and one of each group."""
    answer = response(lambda v: [sum(v)], [(Span(0, 1), Span(0, 1)), (Span(0, 1),)], [0.9, math.inf])
    assert set(answer.terms) == {(), (0,), (1,), (2,), (0, 2), (1, 2)}
    assert answer.sums == (((0, 1), 0.9),)
    assert list(answer.over([0.5, 0.5, 0.0])) == [((0, 1), pytest.approx(0.1))]
    assert list(answer.over([0.6, 0.5, 0.0])) == []
    assert response(lambda v: [v[0]], [(Span(0, 1),)], [0.9]).sums == ()  # one alone is kept by its span
    assert response(lambda v: [v[0]], [(Span(0, 1), Span(0, 1))], [math.inf]).sums == ()


def test_a_place_without_a_value_in_one_corner_has_no_factors() -> None:
    """Where it is not solved anywhere it is not known between."""
    answer = response(lambda v: [v[0], None if v[0] < 1 else 3.0], [(Span(0.0, 1.0),)])
    assert answer.factors[1] is None
    assert answer.factors[0] is not None


# Least squares.


def _straight(matrix: list[list[float]], sums: tuple[tuple[tuple[int, ...], float], ...] = ()) -> Response:
    """Numbers that are plain sums of free values, each from 0 (upper end) to 1: value = row · u."""
    size = len(matrix[0])
    return Response((Span(1.0, 0.0),) * size, tuple((k,) for k in range(size)), tuple(map(tuple, matrix)), sums)


def _scales(read: list[Measured], values: list[float]) -> list[float]:
    return [max(abs(m.read), abs(v)) * m.tolerance for m, v in zip(read, values, strict=True)]


@pytest.mark.parametrize("seed", range(12))
def test_a_fit_within_bounds_is_scipys(seed: int) -> None:
    """Five numbers near what three values give; scipy's bounded least squares with the same scales finds the same."""
    rng = Random(seed)
    matrix = [[rng.uniform(-3, 9) for _ in range(3)] for _ in range(5)]
    weights, true = [rng.uniform(0.3, 3) for _ in range(5)], [rng.choice((0, 0.3, 0.7, 1)) for _ in range(3)]
    answer = _straight(matrix)
    read = _read(*(answer.value(k, true) * rng.uniform(0.95, 1.05) for k in range(5)))
    free = least_squares(answer, list(enumerate(read)), [0.3] * 3, weights)
    scales = _scales(read, [answer.value(k, free) for k in range(5)])
    rows = numpy.array([[a * math.sqrt(w) / s for a in row] for row, w, s in zip(matrix, weights, scales, strict=True)])
    right = numpy.array([m.read * math.sqrt(w) / s for m, w, s in zip(read, weights, scales, strict=True)])
    assert free == pytest.approx(list(lsq_linear(rows, right, bounds=(0, 1), tol=1e-13).x), abs=2e-4)


def test_a_value_that_was_held_comes_back_where_that_is_better() -> None:
    """Five numbers far from what three values give, 300 times: with the same scales scipy finds none 1 % better.

    Scales go with the values, and after twelve rounds a few still move: up to half a percent.
    """
    worse = []
    for seed in range(300):
        rng = Random(seed)
        matrix = [[rng.uniform(-3, 9) for _ in range(3)] for _ in range(5)]
        answer, read = _straight(matrix), _read(*(rng.uniform(0.5, 12) for _ in range(5)))
        free = least_squares(answer, list(enumerate(read)), [0.3] * 3, [1.0] * 5)
        scales = _scales(read, [answer.value(k, free) for k in range(5)])
        rows = numpy.array([[a / s for a in row] for row, s in zip(matrix, scales, strict=True)])
        right = numpy.array([m.read / s for m, s in zip(read, scales, strict=True)])
        best = lsq_linear(rows, right, bounds=(0, 1), tol=1e-13).x
        mine, least = (float(((rows @ numpy.array(u) - right) ** 2).sum()) for u in (free, best))
        if mine > least * 1.01:
            worse.append((seed, mine / least))
    assert worse == []


@pytest.mark.parametrize("seed", range(6))
def test_a_fit_under_a_sum_is_scipys(seed: int) -> None:
    """Two shares that may come to 0.7 together: the least of all squares under that bound, by scipy's SLSQP."""
    rng = Random(seed)
    matrix = [[rng.uniform(3, 9), 0.5], [0.7, rng.uniform(3, 9)], [1.0, 1.0]]
    answer = _straight(matrix, (((0, 1), 0.7),))
    read = _read(rng.uniform(3, 6), rng.uniform(3, 6), 0.9)
    free = least_squares(answer, list(enumerate(read)), [0.3, 0.3], [1.0] * 3)
    scales = _scales(read, [answer.value(k, free) for k in range(3)])

    def squares(u: list[float]) -> float:
        return sum(((m.read - a * u[0] - b * u[1]) / s) ** 2 for m, (a, b), s in zip(read, matrix, scales, strict=True))

    bound = {"type": "ineq", "fun": lambda u: 0.7 - u[0] - u[1]}
    best = minimize(squares, [0.3, 0.3], bounds=[(0, 1)] * 2, constraints=[bound], options={"ftol": 1e-14}).x
    assert sum(free) <= 0.7 + 1e-6
    assert free == pytest.approx(list(best), abs=2e-3)


def test_a_sum_counts_in_values_and_not_in_parts_of_spans() -> None:
    """Shares from 0.9 down to 0.2 and from 0.6 down to 0.1, at most 0.8 together: both numbers want more.

    10·a and 10·b are read as 7 and 5: 0.12 too much each, which the scales of 7 and 5 share as their squares.
    """
    spans = (Span(0.2, 0.9), Span(0.1, 0.6))
    answer = response(lambda v: [10 * v[0], 10 * v[1]], [spans], [0.8])
    read = _read(7.0, 5.0)
    free = least_squares(answer, list(enumerate(read)), [0.3, 0.3], [1.0, 1.0])
    a, b = answer.values(free)
    assert a + b == pytest.approx(0.8, abs=1e-6)
    # The least of ((7 - 10a)/7)² + ((5 - 10b)/5)² with b = 0.8 - a: (7 - 10a) / 49 = (5 - 10b) / 25.
    assert (7 - 10 * a) / 49 == pytest.approx((5 - 10 * b) / 25, abs=1e-4)


def test_what_no_number_depends_on_stays_where_it_was() -> None:
    """The second value moves nothing; or neither does."""
    assert least_squares(_straight([[0.0, 0.0]]), [(0, _read(2.0)[0])], [0.3, 0.7], [1.0]) == [0.3, 0.7]
    free = least_squares(_straight([[5.0, 0.0]]), [(0, _read(2.0)[0])], [0.3, 0.7], [1.0])
    assert free == [pytest.approx(0.4), pytest.approx(0.7)]


@pytest.mark.parametrize(
    ("slope", "tilt", "held", "better"),
    [
        (1000.0, 1e-8, 0.0, 0),
        (1000.0, 1e-9, 0.0, None),  # 1000 × 1e-9 of 1000 √2 × √2: half a billionth of the most that there could be
        (1000.0, -1e-8, 0.0, None),  # on its way further out
        (1000.0, -1e-8, 1.0, 0),
        (1000.0, 1e-8, 1.0, None),
        (0.001, 1e-8, 0.0, 0),
        (0.001, 1e-9, 0.0, None),
    ],
)
def test_a_held_value_comes_back_for_more_than_rounding(
    slope: float, tilt: float, held: float, better: int | None
) -> None:
    """Two errors of 1 + tilt and -1 that one value moves alike: the gain is their sum times the slope. By hand."""
    for size in (0.01, 1.0, 100.0):
        some = [([slope], size * (1 + tilt)), ([slope], -size)]
        assert _better_within(some, [held], [held], {0: held}) == better


def test_of_two_held_values_the_one_that_gains_most_by_its_own_length_comes_back() -> None:
    """One error of 1 alone and one of 1 that both share: 3 of length √(9 + 1) gains 4, 5 of length 5 gains 5."""
    some = [([3.0, 0.0], 1.0), ([1.0, 5.0], 1.0)]
    # 4 / √10 = 1.26 against 5 / 5 = 1.
    assert _better_within(some, [0.0, 0.0], [0.0, 0.0], {0: 0.0, 1: 0.0}) == 0
    assert _better_within(some, [0.0, 0.0], [0.0, 0.0], {1: 0.0}) == 1
    # The first as far in as takes all of the first error leaves 2/3 of the second one.
    assert _better_within(some, [0.0, 0.0], [1 / 3, 0.0], {1: 0.0}) == 1
    assert _better_within(some, [0.0, 0.0], [0.0, 0.0], {}) is None
    assert _better_within([([3.0], 1.0)], [0.0], [1 / 3], {0: 0.0}) is None  # nothing is left to explain


def test_a_sum_that_is_held_outweighs_what_was_read_and_moves_its_own_values_alone() -> None:
    """Shares 0.9 and 0.6 of at most 0.8, and a third value beside: 10,000 times the steepest slope of 5. By hand."""
    spans = (Span(0.2, 0.9), Span(0.1, 0.6), Span(0.0, 1.0))
    answer = Response(spans, ((0,), (1,), (2,)), (), (((0, 1), 0.8),))
    slopes, error = _held_sum(answer, [0.0, 0.0, 0.0], (0, 1), [[3.0, -5.0, 2.0], [1.0, 0.0, 4.0]])
    assert slopes == [pytest.approx(5e4 * -0.7), pytest.approx(5e4 * -0.5), 0.0]
    assert error == pytest.approx(5e4 * (0.8 - 1.5))


def test_products_are_fitted_from_more_than_one_start() -> None:
    """2 - 3·y + 5·x·y and 1 + 5·x - 2·y + 5·x·y at x = 0.9 and y = 0.3 are 2.45 and 6.25: that they fit is known."""
    answer = response(
        lambda v: [2 - 3 * v[1] + 5 * v[0] * v[1], 1 + 5 * v[0] - 2 * v[1] + 5 * v[0] * v[1]],
        [(Span(0.0, 1.0),), (Span(0.0, 1.0),)],
    )
    found = fit(answer, _read(2.45, 6.25, tolerance=0.01))
    assert isinstance(found, Fit)
    x, y = found.values
    assert (2 - 3 * y + 5 * x * y, 1 + 5 * x - 2 * y + 5 * x * y) == pytest.approx((2.45, 6.25), rel=0.01)


def test_weights_rise_with_the_error_and_keep_their_sum_but_for_the_inlets_of_combiners() -> None:
    """Off by 1 and 3 tolerances, of weight 1 each: 1 and 3 of 4, times the two that there are; an inlet keeps 1."""
    answer = Response((), ((),), ((100.0,), (100.0,), (100.0,)))
    numbers = [*_read(90.0, 70.0), Measured(NO_READING, 2, 1, "speed", 30.0, 0.1)]
    assert _weighed(answer, list(enumerate(numbers)), (), [1.0, 1.0, 1.0]) == pytest.approx([0.5, 1.5, 1.0])
    assert _weighed(answer, list(enumerate(numbers)), (), [3.0, 1.0, 7.0]) == pytest.approx([1.0, 1.0, 7.0])
    agreed = [*_read(100.0, 100.0), numbers[2]]
    assert _weighed(answer, list(enumerate(agreed)), (), [0.3, 0.7, 1.0]) == [0.3, 0.7, 1.0]


# Fits and clashes.


def test_the_misfit_is_the_root_mean_square_in_tolerances() -> None:
    """500 and 520 at 10 %: 20/52; 700 as read; what nobody read does not count: √((20/52)² / 2)."""
    answer = Response((), ((),), ((500.0,), (700.0,), (3.0,)))
    numbers = [*_read(520.0, 700.0), Measured(NO_READING, 2, 1, "speed", 9.0, 1e-6)]
    assert misfit_of(answer, numbers, ()) == pytest.approx(math.sqrt((20 / 52) ** 2 / 2))


def test_without_free_values_all_agree_or_those_that_do_not_clash() -> None:
    """500 read as 520 and 700 as 900, at 10 %: the second alone."""
    answer = Response((), ((),), ((500.0,), (700.0,)))
    found = fit(answer, _read(520.0, 900.0))
    assert isinstance(found, Clash)
    assert (found.each, found.some) == (0b10, 0)
    assert isinstance(fit(answer, _read(520.0, 710.0)), Fit)


@pytest.mark.parametrize(
    ("readings", "low", "high"),
    [
        ((5.0,), 5 / 11, 5 / 9),  # 10·u within 10 % of 5
        ((5.0, 5.6), 5.6 / 11, 5 / 9),
        ((9.5,), 9.5 / 11, 1.0),  # 9.5 / 9 is beyond 1
    ],
)
def test_one_free_value_lies_where_all_agree(readings: tuple[float, ...], low: float, high: float) -> None:
    """(1 ± 0.1) · 10 · u is what was read, u from 0 to 1."""
    answer = Response((Span(1.0, 0.0),), ((), (0,)), ((0.0, 10.0),) * len(readings))
    found = fit(answer, _read(*readings))
    assert isinstance(found, Fit)
    assert low - 1e-9 <= found.values[0] <= high + 1e-9


def test_a_number_that_no_free_value_moves_allows_all_of_them_or_none() -> None:
    """10·u read as 5 and 6.2 clash; 7 read as 7 allows each u from 0 to 1, and 7 read as 9 none at all."""
    answer = Response((Span(1.0, 0.0),), ((), (0,)), ((0.0, 10.0), (0.0, 10.0), (7.0, 0.0)))
    found = fit(answer, _read(5.0, 6.2, 7.0))
    assert isinstance(found, Clash) and found.ranges is not None
    assert (found.each, found.ranges[2]) == (0, (0.0, 1.0))
    wrong = fit(answer, _read(5.0, 6.2, 9.0))
    assert isinstance(wrong, Clash) and wrong.ranges is not None
    assert (wrong.each, wrong.ranges[2][0] > wrong.ranges[2][1]) == (0b100, True)


def test_ranges_that_do_not_meet_clash_at_their_ends() -> None:
    """10·u read as 5, 6.2 and 5.2: from 6.2/11 up and to 5/9 at the most, which the third leaves as they are."""
    answer = Response((Span(1.0, 0.0),), ((), (0,)), ((0.0, 10.0),) * 3)
    found = fit(answer, _read(5.0, 6.2, 5.2))
    assert isinstance(found, Clash)
    assert (found.each, found.some) == (0, 0b011)
    assert found.ranges == (
        (pytest.approx(5 / 11), pytest.approx(5 / 9)),
        (pytest.approx(6.2 / 11), pytest.approx(6.2 / 9)),
        (pytest.approx(5.2 / 11), pytest.approx(5.2 / 9)),
    )
    assert isinstance(fit(answer, _read(5.0, 6.1, 5.2)), Fit)  # 6.1 / 11 = 0.5545 < 5 / 9


def test_a_falling_number_bounds_from_the_other_side() -> None:
    """9 - 5·u read as 6 at 10 %: u from (9 - 6/0.9) / 5 to (9 - 6/1.1) / 5; read as 3.5: 9 - 5 is 4, 3.5 / 0.9 < 4."""
    answer = Response((Span(1.0, 0.0),), ((), (0,)), ((9.0, -5.0),))
    found = fit(answer, _read(6.0))
    assert isinstance(found, Fit)
    assert (9 - 6 / 0.9) / 5 <= found.values[0] <= (9 - 6 / 1.1) / 5
    assert isinstance(fit(answer, _read(3.5)), Clash)
    assert isinstance(fit(answer, _read(3.7)), Fit)


def test_all_that_moves_is_in_a_clash_of_several() -> None:
    """u, v and u + v read as 0.5, 0.5 and 1.6 at 10 %, and a fixed 7: the three that move, and not the fourth."""
    answer = response(lambda v: [v[0], v[1], v[0] + v[1], 7.0], [(Span(0.0, 1.0),), (Span(0.0, 1.0),)])
    clash = fit(answer, _read(0.5, 0.5, 1.6, 7.0))
    assert isinstance(clash, Clash)
    assert (clash.each, clash.some) == (0, 0b0111)
    fixed = fit(answer, _read(0.5, 0.5, 1.0, 9.0))
    assert isinstance(fixed, Clash)
    assert (fixed.each, fixed.some) == (0b1000, 0)
    assert isinstance(fit(answer, _read(0.5, 0.5, 1.0, 7.0)), Fit)


def test_a_clash_is_left_by_what_moves_enough_of_it() -> None:
    """Each of `each`, one of `some`, and the ranges of those that are not moved have to meet."""
    assert Clash(0b011, 0).left_by(0b011)
    assert not Clash(0b011, 0).left_by(0b001)
    assert Clash(0, 0b110).left_by(0b010)
    assert not Clash(0, 0b110).left_by(0b001)
    ranges = ((0.0, 0.3), (0.7, 1.0), (0.2, 0.9))
    assert Clash(0, 0b011, ranges).left_by(0b001)  # 0.7 to 0.9 is left
    assert Clash(0, 0b011, ranges).left_by(0b010)  # 0.2 to 0.3
    assert not Clash(0, 0b111, ranges).left_by(0b100)  # 0.3 and 0.7 are apart
    assert Clash(0, 0b11, ((0.4, 0.4), (0.4, 0.9), (0.0, 1.0))).left_by(0b10)


@pytest.mark.parametrize("seed", range(6))
def test_a_clash_may_be_gone_where_all_that_is_left_meets(seed: int) -> None:
    """Four ranges between 0 and 1, and each choice of numbers that another moves: the others have a point in common."""
    rng = Random(seed)
    rows = [tuple(sorted((rng.random(), rng.random()))) for _ in range(4)]
    clash = Clash(0, 0b1111, tuple((low, high) for low, high in rows))
    for moved in range(1, 16):
        left = [row for k, row in enumerate(rows) if not moved & (1 << k)]
        meets = any(all(low <= point <= high for low, high in left) for point in (0.5, *(low for low, _ in rows)))
        assert clash.left_by(moved) is meets, (moved, rows)


# Orders of shares.


@pytest.mark.parametrize("row", [(1, 2, 3), (1, 1, 5), (2, 2, 3, 3), (1, 1, 1), (1, 2, 3, 5), (7, 3)])
def test_the_orders_of_a_row_are_all_there_are(row: tuple[float, ...]) -> None:
    """Against itertools: each order once, the ascending one first, and their count."""
    found = list(_arranged(row))
    assert sorted(set(permutations(row))) == found
    assert _count_of_orders(row) == len(found)


def test_other_shares_that_an_item_offers() -> None:
    """Written 1 : 2 : 3 of [1, 2, 3] and [1, 1, 5]: the five other orders and three, those with two exchanged first."""
    rig = _rig("w: {item: wheel}\nf: {item: trident, driven-by: w, shares: {a: 1, b: 2, c: 3}}\n" + THREE)
    part = rig.parts[rig.rig.index["f"]]
    assert part.item.shares is not None
    found = list(_orders(part, part.item.shares))
    assert found[:3] == [(2, 1, 3), (3, 2, 1), (1, 3, 2)]
    assert set(found) == (set(permutations((1, 2, 3))) | set(permutations((1, 1, 5)))) - {(1, 2, 3)}
    assert len(found) == 8
    doubled = list(_orders(part._replace(shares=(2.0, 4.0, 6.0)), ((1.0, 2.0, 3.0),)))  # 2 : 4 : 6 divides so already
    divided = {tuple(share / sum(row) for share in row) for row in doubled}
    assert divided == {tuple(share / 6 for share in row) for row in permutations((1, 2, 3))} - {(1 / 6, 2 / 6, 3 / 6)}
    assert len(doubled) == 5
    tenths = list(_orders(part._replace(shares=(0.1, 0.2, 0.3)), ((1.0, 2.0, 3.0),)))  # but for last digits
    assert len(tenths) == 5
    # Rows of more and of fewer outlets are of other splitters.
    assert list(_orders(part._replace(shares=(1.0, 2.0)), ((1.0, 2.0, 3.0), (1.0, 1.0), (1.0,)))) == [(1.0, 1.0)]


@pytest.mark.parametrize(("outlets", "values"), [(2, (0.41,)), (3, (0.29, 0.53)), (3, (0.17,))])
def test_plain_shares_near_a_value(outlets: int, values: tuple[float, ...]) -> None:
    """Of sums up to 12, the smallest first: each share the whole part just below or above, and something for all."""

    def near(counts: tuple[int, ...], total: int) -> bool:
        return all(abs(count - value * total) < 1 for count, value in zip(counts, values, strict=True))

    tried = [
        tuple(Fraction(count, total) for count in counts)
        for total in range(outlets, 13)
        for counts in _rows_of(total, len(values))
        if near(counts, total) and total - sum(counts) >= outlets - len(values)
    ]
    found = [tuple(Fraction(share).limit_denominator(12) for share in row) for row in _whole_shares(outlets, values)]
    assert sorted(found) == sorted(tried)
    assert found[0] == tried[0]


def _rows_of(total: int, size: int) -> list[tuple[int, ...]]:
    if size == 1:
        return [(n,) for n in range(1, total + 1)]
    return [(n, *rest) for n in range(1, total + 1) for rest in _rows_of(total, size - 1)]


@pytest.mark.parametrize(
    ("tolerance", "value"),
    [
        ("10 %", 0.68),  # 613 / 900 = 0.68111: 612 is off by 1 of 61.3
        ("0.05 %", 0.6811),  # 612.9 by 0.1 of 0.3065, 0.33 tolerances; 612.99 by a tenth of that
        ("0.02 %", 0.6811),  # by 0.01 of 0.1226: 0.08
        ("0.01 %", 0.68111),  # by 0.01 of 0.0613: 0.16, which is worse than by a tenth
    ],
)
def test_a_fitted_value_is_as_round_as_it_fits_hardly_worse(tolerance: str, value: float) -> None:
    """900 N·m are read as 613: of two to five figures the fewest that are off by a tenth of a tolerance at most."""
    explanations = diagnose(_rig(PLAIN, f"at: m, torque: 613 N*m, tolerance: {tolerance}")).explanations
    (found,) = (d for e in explanations for d in e.deviations if d.kind == "lower-torque")
    assert found.value == value


def test_rounder_values_stay_within_their_spans() -> None:
    """3.042 of two to five figures: 3.0 is under 3.04, 3.04 over 3.03 is not under it. Two values round together."""
    survey = _surveyed(_rig(PLAIN, "at: m, torque: 613 N*m"))

    def plainer(values: tuple[float, ...], *spans: Span) -> list[tuple[float, ...]]:
        return list(_plainer(survey, _one("lower-head", spans=spans), values))

    assert plainer((3.042,), Span(3.04, 5.0)) == [(3.04,), (3.042,), (3.042,)]
    assert plainer((3.042,), Span(3.0, 5.0)) == [(3.0,), (3.04,), (3.042,), (3.042,)]
    assert plainer((3.038,), Span(1.0, 3.039)) == [(3.0,), (3.038,), (3.038,)]
    assert plainer((3.038,), Span(1.0, 3.04)) == [(3.0,), (3.04,), (3.038,), (3.038,)]
    assert plainer((3.042, 0.7), Span(3.0, 5.0), Span(0.7, 0.9))[0] == (3.0, 0.7)
    assert plainer((3.042, 0.748), Span(3.0, 5.0), Span(0.0, 0.749))[:2] == [(3.04, 0.748), (3.042, 0.748)]


@pytest.mark.parametrize(
    ("read", "tolerance", "shares"),
    [
        (359, "5 %", (0.4, 0.6)),  # 2 of 5 are 360: off by 1 of 18
        (351, "5 %", (0.39, 0.61)),  # 360 would be off by half a tolerance
        (351.45, "1 %", (0.3905, 0.6095)),  # 0.39 would be off by 0.45 of 3.5, which is 0.13
        (675, "1 %", (0.75, 0.25)),
    ],
)
def test_estimated_shares_are_plain_where_that_fits_hardly_worse(
    read: float, tolerance: str, shares: tuple[float, float]
) -> None:
    """900 N·m divided 1 : 1 as written, read at one outlet. By hand."""
    forked = "w: {item: wheel}\nf: {item: fork, driven-by: w, shares: {a: 1, b: 1}}\n"
    mills = "m: {item: mill, driven-by: f.a}\nn: {item: mill, driven-by: f.b}"
    explanations = diagnose(_rig(forked + mills, f"at: m, torque: {read} N*m, tolerance: {tolerance}")).explanations
    (found,) = (d for e in explanations for d in e.deviations if d.kind == "estimated-shares")
    assert found.shares == pytest.approx(shares)


# Candidates.


def _one(kind: Kind, part: int = 0, **more: object) -> PossibleDeviation:
    return PossibleDeviation(((Deviation(kind, part),),), 1, (kind, part), **more)  # type: ignore[arg-type]


def test_a_candidate_counts_and_ranks_by_its_deviations() -> None:
    """Two at one part count as two; a common cause as one, with the aspect of each part; the ordinary ones first."""
    two = PossibleDeviation(((Deviation("other-way", 3), Deviation("other-ratio", 3)),), 1, ("gear", 3))
    common = PossibleDeviation(
        ((Deviation("lower-head", 3), Deviation("lower-head", 7)),), 1, ("head", 3), (Span(0, 1),), common=True
    )
    assert (two.count, common.count, _one("stopped").count) == (2, 1, 1)
    assert common.aspects == {("head", 3), ("head", 7)}
    assert two.aspects == {("gear", 3)}
    either = PossibleDeviation(((Deviation("stopped", 3),), (Deviation("clutch-open", 5),)), 1, ("rest", 3))
    assert either.rank == _one("clutch-open").rank < _one("stopped").rank < _one("lower-head").rank
    assert ordinariness((Deviation("other-way", 0), Deviation("stopped", 0))) == ordinariness(
        (Deviation("stopped", 0), Deviation("other-way", 0))
    )
    assert _one("other-way").rank < two.rank
    assert _one("estimated-shares", outlets=(0,)).most == 1 - LEAST_SHARE
    assert _one("torque-lost").most == math.inf


def test_members_are_combined_in_every_way() -> None:
    """Two of one and three of another: six, each with how far it stands behind."""
    first = PossibleDeviation(tuple((Deviation("not-coupled", n),) for n in range(2)), 1, ("rest", 0))
    second = PossibleDeviation(tuple((Deviation("torque-lost", n),) for n in range(3)), 1, ("lost", 0))
    found = list(together((first, second)))
    assert [behind for _, behind in found] == [0, 1, 2, 1, 2, 3]
    assert [[way[0].part for way in ways] for ways, _ in found] == [[a, b] for a in range(2) for b in range(3)]


def _part(name: str, rig: SolvedRig) -> Part:
    return rig.parts[rig.rig.index[name]]


def test_a_candidate_at_its_free_values() -> None:
    """Shares 1 : 2 : 3; the first is read as 0.4, so 0.6 are left for 2 : 3: 0.24 and 0.36. Heads are lower by 1.5."""
    rig = _rig(
        "v: {item: weir, head: 5 m}\nr: {item: runner, head: 4 m}\nn: {item: mill, driven-by: r}\n"
        "f: {item: trident, driven-by: v, shares: {a: 1, b: 2, c: 3}}\n" + THREE
    )
    fork, weir, runner = (rig.rig.index[name] for name in ("f", "v", "r"))
    shares = PossibleDeviation(((Deviation("estimated-shares", fork),),), 1, ("shares", fork), (Span(0, 1),), (0,))
    (found,) = shares.at(shares.members[0], (0.4,), rig.parts)
    assert found.shares == pytest.approx((0.4, 0.24, 0.36))
    lower = (Deviation("lower-head", weir), Deviation("lower-head", runner))
    common = PossibleDeviation((lower,), 1, ("head", weir), (Span(0, 2),), common=True)
    assert [one.value for one in common.at(lower, (1.5,), rig.parts)] == [3.5, 2.5]
    lost = PossibleDeviation(((Deviation("torque-lost", 3),),), 1, ("lost", 3), (Span(0.05, 1),))
    assert lost.at(lost.members[0], (0.7,), rig.parts)[0].value == 0.7
    plain = _one("stopped")
    assert plain.at(plain.members[0], (), rig.parts) == plain.members[0]


def test_a_part_as_it_stands_with_a_deviation() -> None:
    """Each kind changes what it says and nothing else. By hand."""
    rig = _rig(
        """w: {item: wheel}
        v: {item: weir, head: 5 m}
        c: {item: clutch, driven-by: w}
        s: {item: oiled, ratio: 3, set: reduce, driven-by: c}
        m: {item: mill, driven-by: s}
        n: {item: mill, driven-by: v}"""
    )
    stage, clutch, wheel, weir = (_part(name, rig) for name in ("s", "c", "w", "v"))
    assert with_deviation(stage, Deviation("other-way", 0)) == stage._replace(direction="increase")
    turned = stage._replace(direction="increase")
    assert with_deviation(turned, Deviation("other-way", 0)).direction == "reduce"
    assert with_deviation(clutch, Deviation("clutch-open", 0)) == clutch._replace(engaged=False)
    assert with_deviation(clutch._replace(engaged=False), Deviation("clutch-engaged", 0)).engaged is True
    assert with_deviation(clutch, Deviation("not-coupled", 0)) == clutch._replace(inlets=())
    assert with_deviation(wheel, Deviation("stopped", 0)).item.source is None
    assert with_deviation(stage, Deviation("torque-lost", 0, value=0.7)).item.efficiency == pytest.approx(0.63)
    assert with_deviation(wheel, Deviation("lower-torque", 0, value=0.7)).item.source == (630.0, 8.0)
    assert with_deviation(wheel, Deviation("lower-speed", 0, value=0.7)).item.source == (900.0, pytest.approx(5.6))
    assert with_deviation(weir, Deviation("lower-head", 0, value=3.5)).head == 3.5
    assert with_deviation(weir, Deviation("lower-torque", 0, value=0.7)) == weir
    assert with_deviation(stage, Deviation("wrong-reading", 0)) == stage
    both = parts_with(rig.parts, [Deviation("other-way", 3), Deviation("torque-lost", 3, value=0.5)])
    assert (both[3].direction, both[3].item.efficiency) == ("increase", pytest.approx(0.45))


LINE = """w: {item: wheel}
c: {item: clutch, driven-by: w}
s: {item: oiled, ratio: 3, set: reduce, driven-by: c}
b: {item: bevel, driven-by: s}
f: {item: fork, driven-by: b, shares: {a: 2, b: 3}}
r: {item: rod, driven-by: f.a}
o: {item: clutch, engaged: false, driven-by: f.b}
m: {item: mill, driven-by: r}
n: {item: mill, driven-by: o}
"""


def test_a_survey_of_a_line_by_hand() -> None:
    """What is read at or below each part, and the lowest part in line with it."""
    survey = _surveyed(_rig(LINE, "at: m, torque: 700 N*m\nat: f.a, speed: 7 rad/s"))
    names = [part.name for part in survey.train.parts]
    assert names == ["w", "c", "s", "b", "f", "r", "m"]  # what leads to no reading is left out
    assert [m.quantity for m in survey.measured] == ["torque", "speed"]
    assert dict(zip(names, survey.reach, strict=True)) == {
        "w": 0b11, "c": 0b11, "s": 0b11, "b": 0b11, "f": 0b11, "r": 0b01, "m": 0b01,
    }  # fmt: skip
    assert [names[n] for n in survey.stretch] == ["f", "f", "f", "f", "f", "m", "m"]
    assert survey.expected == pytest.approx((900 * 3 * 0.9 * 0.4 * 0.9, 8 / 3))
    assert survey.wrong(survey.expected) == 0b11
    assert survey.wrong((700.0, 7.0)) == 0
    assert survey.wrong((None, 7.0)) == 0b01
    changed = {1: with_deviation(survey.train.parts[1], Deviation("clutch-open", 1))}
    assert survey.values(changed) == [0.0, 0.0]
    turned = {2: with_deviation(survey.train.parts[2], Deviation("other-way", 2))}
    assert survey.values(turned) == pytest.approx([900 / 3 * 0.9 * 0.4 * 0.9, 24.0])
    assert survey.values({}) == pytest.approx(survey.expected)


def test_the_candidates_of_a_line_by_hand() -> None:
    """All that can move what was read, by kind and part: one for all that rests, and that loses, on a stretch."""
    survey = _surveyed(_rig(LINE, "at: m, torque: 700 N*m\nat: f.a, speed: 7 rad/s", "couple: b\nstart: w"))
    names = [part.name for part in survey.train.parts]
    found = [
        (" ".join(one.kind for one in c.members[0]), [names[way[0].part] for way in c.members], c.mask)
        for c in candidates(survey)
    ]
    assert sorted(found) == sorted(
        [
            ("other-way", ["s"], 0b11),
            ("clutch-open", ["c", "b", "s", "f", "w"], 0b11),
            ("not-coupled", ["r", "m"], 0b01),
            ("torque-lost", ["s", "b"], 0b01),
            ("lower-torque", ["w"], 0b01),
            ("lower-speed", ["w"], 0b11),
            ("estimated-shares", ["f"], 0b01),
        ]
    )
    behind = _surveyed(_rig(LINE, "at: n, torque: 7 N*m"))
    members = [way[0] for one in candidates(behind) for way in one.members]
    loose = {behind.train.parts[one.part].name for one in members if one.kind == "not-coupled"}
    assert loose == {"s", "b", "f", "n"}  # not the clutches, closed or open
    ranks = [(c.count, c.rank) for c in candidates(survey)]
    assert all(one <= other for one, other in pairwise(ranks))


@pytest.mark.parametrize(
    ("readings", "outlets"),
    [
        ("at: f.b, torque: 7 N*m", (1,)),
        ("at: f.a, torque: 7 N*m", (0,)),
        ("at: f.a, torque: 7 N*m\nat: f.b, torque: 7 N*m", (0,)),  # the last is what the others leave
        ("at: f.a, torque: 7 N*m\nat: n, speed: 7 rad/s", (0,)),
        ("at: m, torque: 7 N*m\nat: n, speed: 7 rad/s", (0,)),
        ("at: m, torque: 7 N*m\nat: n, torque: 7 N*m", (0,)),
        ("at: m, speed: 7 rad/s\nat: n, torque: 7 N*m", (1,)),
        ("at: m, torque: 7 N*m", (0,)),
        ("at: f.a, speed: 7 rad/s\nat: n, torque: 7 N*m", (1,)),
        ("at: w, torque: 7 N*m", None),
    ],
)
def test_shares_are_estimated_at_outlets_where_torque_was_read(readings: str, outlets: tuple[int, ...] | None) -> None:
    """At the outlet or below it; a speed tells nothing of shares, nor what was read above."""
    forked = "w: {item: wheel}\nf: {item: fork, driven-by: w, shares: {a: 2, b: 3}}\n"
    rig = _rig(f"{forked}m: {{item: mill, driven-by: f.a}}\nn: {{item: mill, driven-by: f.b}}", readings)
    found = [c.outlets for c in candidates(_surveyed(rig)) if c.members[0][0].kind == "estimated-shares"]
    assert found == ([] if outlets is None else [outlets])


def test_a_stage_may_have_another_ratio_or_be_turned_or_both() -> None:
    """Of 5/2, 3 and 7 the 3 stands; 1 : 1 turned is nothing, and 3 : 1 in place of it may be turned."""
    staged = "w: {item: wheel}\ns: {item: stage, ratio: 3, set: reduce, driven-by: w}\nm: {item: mill, driven-by: s}"
    rig = _rig(staged, "at: m, torque: 70 N*m")
    kinds = [tuple(one.kind for one in c.members[0]) for c in candidates(_surveyed(rig)) if c.aspect[0] == "gear"]
    assert sorted(kinds) == sorted([("other-way",), *[("other-ratio",)] * 2, *[("other-way", "other-ratio")] * 2])
    even = _rig(staged.replace("stage, ratio: 3", "one, ratio: 1"), "at: m, torque: 70 N*m")
    kinds = [tuple(one.kind for one in c.members[0]) for c in candidates(_surveyed(even)) if c.aspect[0] == "gear"]
    assert sorted(kinds) == [("other-ratio",), ("other-way", "other-ratio")]


def test_heads_may_be_lower_by_the_lines_of_a_table() -> None:
    """A table of 2, 3 and 6 m at 5 m: from 2 to 3 and from 3 to 5; by water alone from a twentieth of 4 m on."""
    rig = _rig("v: {item: weir, head: 5 m}\nm: {item: mill, driven-by: v}", "at: m, torque: 70 N*m, speed: 3 rad/s")
    spans = [(c.spans[0], c.mask) for c in candidates(_surveyed(rig)) if c.aspect[0] == "head"]
    assert sorted(spans) == [((2.0, 3.0), 0b11), ((3.0, 5.0), 0b11)]
    rig = _rig("r: {item: runner, head: 4 m}\nm: {item: mill, driven-by: r}", "at: m, torque: 70 N*m, speed: 3 rad/s")
    spans = [(c.spans[0], c.mask) for c in candidates(_surveyed(rig)) if c.aspect[0] == "head"]
    assert spans == [((pytest.approx(0.2), 4.0), 0b01)]


TWO = """v: {item: weir, head: 5 m}
r: {item: %s}
j: {item: joiner, driven-by: [v, r]}
m: {item: mill, driven-by: j}
"""


def test_causes_that_prime_movers_have_in_common() -> None:
    """Heads of 5 m (points at 2 and 3 m) and 4 m: drops from 0 to 2 and 2 to 3, each moves all that was read.

    Both by water: torque alone, up to 0.95 of the lower head.
    """
    rig = _rig(TWO % "weir, head: 5 m", "at: j, torque: 70 N*m, speed: 3 rad/s")
    found = [(c.spans[0], c.mask & 0b11, len(c.members[0]), c.common) for c in common_causes(_surveyed(rig))]
    assert found == [((0.0, 2.0), 0b11, 2, True), ((2.0, 3.0), 0b11, 2, True)]
    mixed = (TWO % "sluice, head: 4 m").replace("weir, head: 5 m", "weir, head: 3 m")
    spans = [c.spans for c in common_causes(_surveyed(_rig(mixed, "at: j, torque: 70 N*m, speed: 3 rad/s")))]
    assert spans == [((0.0, 1.0),)]  # 3 m can fall to 2; that 4 m could fall by 2 m is no matter
    beside = mixed.replace("m: {item: mill, driven-by: j}", "d: {item: drum}\nk: {item: joiner, driven-by: [j, d]}\n")
    readings = "at: d, torque: 70 N*m\nat: j, torque: 70 N*m\nat: m, speed: 3 rad/s"
    rig = _rig(beside + "m: {item: mill, driven-by: k}", readings)
    (lower,) = common_causes(_surveyed(rig))
    assert (len(lower.members[0]), lower.mask & 0b111) == (2, 0b110)  # what the drum gives hangs on no head
    by_water = (TWO % "runner, head: 4 m").replace("weir, head: 5 m", "runner, head: 5 m")
    rig = _rig(by_water, "at: j, torque: 70 N*m, speed: 3 rad/s")
    found = [(c.spans[0], c.mask & 0b11, len(c.members[0]), c.common) for c in common_causes(_surveyed(rig))]
    assert found == [((0.0, pytest.approx(3.8)), 0b01, 2, True)]
    rig = _rig((TWO % "wheel").replace("weir, head: 5 m", "wheel"), "at: j, torque: 70 N*m, speed: 3 rad/s")
    (slower,) = common_causes(_surveyed(rig))
    assert ([one.kind for one in slower.members[0]], slower.mask & 0b11) == (["lower-speed"] * 2, 0b11)
    assert slower.spans == ((0.05, 1.0),)
    alone = _rig("v: {item: weir, head: 5 m}\nm: {item: mill, driven-by: v}", "at: m, torque: 70 N*m")
    assert list(common_causes(_surveyed(alone))) == []


def test_a_combiner_that_would_lock_hands_on_the_speed_of_the_first_inlet_that_turns() -> None:
    """Both inlets at 24 rad/s as written; turned, a stage leaves 8/3. The second inlet is off by what it differs."""
    geared = "{item: stage, ratio: 3, set: increase, driven-by: "
    lines = "".join(f"{n}: {{item: wheel}}\ng{n}: {geared}{n}}}\n" for n in "vw")
    below = "j: {item: joiner, driven-by: [gv, gw]}\nm: {item: mill, driven-by: j}"
    survey = _surveyed(_rig(lines + below, "at: m, speed: 7 rad/s"))
    names = [part.name for part in survey.train.parts]

    def said(name: str, kind: Kind) -> list[float | None]:
        number = names.index(name)
        return survey.values({number: with_deviation(survey.train.parts[number], Deviation(kind, number))})

    assert survey.expected == (24.0, 24.0)
    assert said("gw", "other-way") == [24.0, pytest.approx(8 / 3)]
    assert said("gv", "other-way") == [pytest.approx(8 / 3), pytest.approx(24 + 24 - 8 / 3)]
    assert said("v", "stopped") == [24.0, 24.0]  # what rests agrees with anything
    assert said("w", "stopped") == [24.0, 24.0]
    assert survey.values({}) == [24.0, 24.0]


def test_inlets_of_a_combiner_count_in_parts_of_its_speed() -> None:
    """Two wheels of 8 rad/s, each geared 3 up: nobody read it, but at 24 rad/s they meet."""
    geared = "{item: stage, ratio: 3, set: increase, driven-by: "
    lines = "".join(f"{n}: {{item: wheel}}\ng{n}: {geared}{n}}}\n" for n in "vw")
    below = "j: {item: joiner, driven-by: [gv, gw]}\nm: {item: mill, driven-by: j}"
    rig = _rig(lines + below, "at: m, torque: 70 N*m")
    survey = _surveyed(rig)
    (inlet,) = (m for m in survey.measured if m.reading == NO_READING)
    assert (inlet.outlet, inlet.quantity, inlet.read, inlet.tolerance) == (1, "speed", 24.0, 1e-6)
    assert survey.expected[survey.measured.index(inlet)] == 24.0


# Explanations.


def test_one_reading_that_is_wrong_beside_one_that_agrees() -> None:
    """Speed agrees within 1 of 8 at 20 %: 1/9 / 0.2 tolerances are left; the torque of the other place is wrong."""
    rig = _rig(PLAIN, "at: m, speed: 9 rad/s, tolerance: 20 %\nat: w, torque: 333 N*m")
    misread = explain(_surveyed(rig)).misread
    assert misread is not None
    assert (misread.deviation.kind, misread.deviation.reading, misread.deviation.part) == ("wrong-reading", 1, 0)
    assert misread.misfit == pytest.approx(1 / 9 / 0.2)
    both = _rig(PLAIN, "at: m, speed: 70 rad/s\nat: w, torque: 333 N*m")
    assert explain(_surveyed(both)).misread is None
    only = _rig(PLAIN, "at: w, torque: 333 N*m")
    assert explain(_surveyed(only)).misread is None


def test_only_what_moves_a_number_of_the_conflict_is_looked_at() -> None:
    """The mill's torque is off, the other mill's agrees: what moves that one alone is never tried. Steps by hand."""
    forked = "w: {item: wheel}\nf: {item: trident, driven-by: w, shares: {a: 1, b: 2, c: 3}}\n"
    rig = _rig(forked + THREE, "at: ma, torque: 70 N*m\nat: mb, torque: 300 N*m")
    survey = _surveyed(rig)
    search = _Search(survey, candidates(survey))
    search.grow((), 1)
    tried = {index for chosen in (*search.looked, *search.found) for index in chosen}
    assert tried == {index for index, one in enumerate(search.pool) if one.mask & 0b01}
    assert tried < set(range(len(search.pool)))
    fresh = _Search(survey, search.pool)
    fresh._solved((), ())
    assert (fresh.solves, fresh.steps) == (1, len(survey.train.parts) + 2)
    fresh._clash(())
    # Once more the parts and two numbers, then one point of two numbers without a free value.
    weaker = next(index for index, one in enumerate(search.pool) if one.members[0][0].kind == "lower-torque")
    single = _Search(survey, search.pool)
    single._clash((weaker,))
    # Two points of a span, four numbers; and a fit of one free value, (1 + 1)² as long.
    assert (single.solves, single.steps) == (2, 2 * (len(survey.train.parts) + 2) + 4 * 4)
    assert (fresh.solves, fresh.steps, fresh.held) == (2, 2 * (len(survey.train.parts) + 2) + 2, 8)


def test_three_deviations_are_looked_for_where_two_do_not_do_and_two_beside_a_reading_that_may_be_wrong() -> None:
    """150, 300 and 450 N·m in three branches, read with 0.9, 0.8 and 0.7 of it: each its own, within 1 %. By hand."""
    forked = "w: {item: wheel}\nf: {item: trident, driven-by: w, shares: {a: 1, b: 2, c: 3}}\n"
    rows = "".join(f"k{n}: {{item: bevel, driven-by: f.{n}}}\nm{n}: {{item: mill, driven-by: k{n}}}\n" for n in "abc")
    told = ("at: ma, torque: 135 N*m, tolerance: 1 %", "at: mb, torque: 240 N*m, tolerance: 1 %")
    third, alike = "at: mc, torque: 315 N*m, tolerance: 1 %", "at: mc, torque: 450 N*m, tolerance: 1 %"
    found = {}
    for name, readings in (("three", (*told, third)), ("two", (*told, alike)), ("one", (told[0], alike))):
        rig = _rig(forked + rows, "\n".join(readings))
        outcome = explain(_surveyed(rig))
        rows_of = [[d for candidate in one.chosen for d in candidate.members[0]] for one in outcome.explained]
        sets = [sorted((d.kind, rig.parts[d.part].name) for d in row) for row in rows_of]
        found[name] = {len(each) for each in sets}
        lost = [("torque-lost", f"k{n}") for n in {"three": "abc", "two": "ab", "one": "a"}[name]]
        assert lost in sets, name
        assert (outcome.misread is None) is (name != "one")
    assert found == {"three": {3}, "two": {2}, "one": {1}}


def test_of_numbers_that_all_have_to_be_moved_the_one_that_fewest_candidates_move_is_taken() -> None:
    """Torque at two mills and speed at the third: counted one by one; where any of some would do all of them count."""
    forked = "w: {item: wheel}\nf: {item: trident, driven-by: w, shares: {a: 1, b: 2, c: 3}}\n"
    rods = "ra: {item: stage, ratio: 3, set: reduce, driven-by: f.a}\nma: {item: mill, driven-by: ra}\n"
    mills = "".join(f"m{n}: {{item: mill, driven-by: f.{n}}}\n" for n in "bc")
    rig = _rig(forked + rods + mills, "at: ma, torque: 70 N*m\nat: mb, torque: 30 N*m\nat: mc, speed: 7 rad/s")
    survey = _surveyed(rig)
    search = _Search(survey, candidates(survey))
    moved = [sum(1 for one in search.pool if one.mask & bit) for bit in (0b001, 0b010, 0b100)]
    assert moved[0] > moved[1] > moved[2] > 0
    assert [search._conflict(Clash(each, 0)) for each in (0b011, 0b101, 0b111, 0b001)] == [0b010, 0b100, 0b100, 0b001]
    assert search._conflict(Clash(0, 0b011)) == 0b011


@pytest.mark.parametrize(
    ("held", "most_held", "most_free", "left_out"),
    [
        *((4, 8, 24, False), (4, 7, 24, True), (5, 8, 24, True), (0, 4, 24, False), (0, 3, 24, True)),
        *((4, 8, 1, False), (4, 8, 0, True)),
    ],
)
def test_what_would_hold_more_numbers_than_may_be_held_is_left_out(
    monkeypatch: pytest.MonkeyPatch, held: int, most_held: int, most_free: int, left_out: bool
) -> None:
    """One free value makes two points, and two numbers were read: four are held, beside those that are already."""
    rig = _rig(PLAIN, "at: m, torque: 70 N*m\nat: w, torque: 300 N*m")
    survey = _surveyed(rig)
    search = _Search(survey, candidates(survey), held=held)
    weaker = next(index for index, one in enumerate(search.pool) if one.members[0][0].kind == "lower-torque")
    monkeypatch.setattr(search_module, "MOST_HELD", most_held)
    monkeypatch.setattr(search_module, "MOST_FREE", most_free)
    clash = search._clash((weaker,))
    assert (search.left_out, clash is None, search.solves) == (left_out, left_out, 0 if left_out else 2)


def test_a_search_that_is_at_its_bound_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """One solve, five steps or nine numbers are allowed: what was found so far is not all there may be."""
    rig = _rig(LINE, "at: m, torque: 97 N*m, speed: 24 rad/s")
    whole = explain(_surveyed(rig))
    assert (whole.complete, len(whole.explained)) == (True, 1)
    for name, most in (("MOST_SOLVES", 1), ("MOST_STEPS", 5), ("MOST_HELD", 9)):
        with monkeypatch.context() as patched:
            patched.setattr(search_module, name, most)
            assert not explain(_surveyed(rig)).complete, name


def test_explanations_rank_by_causes_then_by_how_ordinary_they_are() -> None:
    """A wrong reading stands between one deviation and two; a common cause counts once, behind a single one."""
    one, other = Deviation("other-way", 3), Deviation("stopped", 1)
    heads = (Deviation("lower-head", 1, value=3.0), Deviation("lower-head", 2, value=3.0))
    single, worse = Explanation((one,), 0.5), Explanation((one,), 0.7)
    stopped, two = Explanation((other,), 0.1), Explanation((other, one), 0.1)
    misread, common = Explanation((Deviation("wrong-reading", 0),), 0.1), Explanation(heads, 0.1, 0, ((0, 1),))
    likely = Explanation((one,), 0.5, 2)
    assert [e.causes for e in (single, two, common, misread)] == [1, 2, 1, 1]
    assert [e.weight for e in (single, two, common, misread)] == [1, 2, 1, 1.5]
    ranked = sorted([two, misread, common, likely, worse, stopped, single], key=lambda e: e.rank)
    assert ranked == [single, likely, worse, stopped, common, misread, two]


def test_of_two_trains_the_first_of_each_are_joined() -> None:
    """Twenty of each are 400; kept are 196, of the first 14 of each, since 15² is more than 200. Misfits are joined."""
    each = [[Explanation((Deviation("other-way", part),), 0.3 * (1 + n)) for n in range(20)] for part in (3, 5)]
    joined = _of_all_trains(each)
    assert len(joined) == 196
    assert joined[0].misfit == pytest.approx(0.3)
    assert max(one.misfit for one in joined) == pytest.approx(0.3 * 14)
    assert [d.part for d in joined[0].deviations] == [3, 5]
    one, other = Explanation((Deviation("stopped", 7),), 0.3, 2), Explanation((Deviation("stopped", 1),), 0.4, 1)
    (both,) = _of_all_trains([[one], [other]])
    assert (both.misfit, both.less_likely, both.weight) == (pytest.approx(math.sqrt(0.125)), 3, 2)
    assert [d.part for d in both.deviations] == [1, 7]
    assert len(_of_all_trains([each[0] * 20])) == 200


def test_a_line_that_is_turned_is_explained_by_that() -> None:
    """Read are 900 / 3 · 0.9 · 0.4 · 0.9 = 97.2 N·m and 24 rad/s, as if the stage increased."""
    rig = _rig(LINE, "at: m, torque: 97 N*m, speed: 24 rad/s")
    diagnosis = diagnose(rig)
    assert [(d.kind, rig.parts[d.part].name) for d in diagnosis.explanations[0].deviations] == [("other-way", "s")]
    assert (diagnosis.wrong, diagnosis.complete, diagnosis.unexplained, diagnosis.more) == (True, True, (), 0)
    assert [one.wrong for one in diagnosis.compared] == [True, True]
    assert diagnosis.compared[0].value == pytest.approx(900 * 3 * 0.9 * 0.4 * 0.9)
    alike = diagnose(_rig(LINE, "at: m, torque: 875 N*m, speed: 2.667 rad/s"))
    assert (alike.wrong, alike.explanations, alike.more) == (False, (), 0)


def test_what_no_reading_covers() -> None:
    """Torque at one mill, speed behind the open clutch at rest, which tells nothing: the clutch and its mill."""
    rig = _rig(LINE, "at: f.a, speed: 7 rad/s\nat: n, torque: 7 N*m")
    left = coverage(rig.train, diagnose(rig).compared)
    assert [rig.parts[n].name for n in left.nothing] == ["r", "o", "m", "n"]
    assert [rig.parts[n].name for n in left.torque] == ["w", "s", "b", "f"]  # a clutch loses nothing


def test_places_that_tell_something() -> None:
    """Shafts and clutches pass on what they get, unless they were read already. A machine is called by its name."""
    rig = _rig(LINE, "at: r, speed: 7 rad/s")
    assert [name_of(rig, place) for place in places_to_read(rig)] == ["w", "s", "b", "f.a", "f.b", "r", "m", "n"]
    assert place_of(rig, "f.b") == (rig.rig.index["f"], 1)
    assert place_of(rig, "m") == (rig.rig.index["m"], 0)
    assert isinstance(place_of(rig, "f"), str)
    assert isinstance(place_of(rig, "zz"), str)


LEG = """\
blueprint: 1
catalogue: made.catalogue.yaml
inlets: {in: {torque-up-to: 900 N*m, speed-up-to: 9 rad/s}}
parts:
  rod: {item: rod, driven-by: in}
  fork: {item: fork, driven-by: rod, shares: {a: 2, b: 3}}
outlets: {near: fork.a, far: fork.b}
"""


def test_an_outlet_of_a_placed_blueprint_is_read_by_its_own_name() -> None:
    """The fork within has two outlets, which lead out as near and far; the wheel beside is the wheel."""
    text = (
        "rig: 1\ncatalogue: made.catalogue.yaml\nparts:\n  w: {item: wheel}\n"
        "  leg: {blueprint: leg.blueprint.yaml, driven-by: {in: w}}\n"
        "  m: {item: mill, driven-by: leg.near}\n  n: {item: mill, driven-by: leg.far}\n"
    )
    rig = rig_from_text(text, files={"made.catalogue.yaml": CATALOGUE, "leg.blueprint.yaml": LEG})
    assert rig.faults == ()
    (fork,) = (number for number, part in enumerate(rig.parts) if part.item.kind == "splitter")
    assert [place_of(rig, name) for name in ("leg.near", "leg.far", "w")] == [(fork, 0), (fork, 1), (0, 0)]
    assert isinstance(place_of(rig, "leg.mid"), str)


# The next reading.


@pytest.mark.parametrize(
    ("values", "groups"),
    [
        ([700.0, 720.0], [(700.0, 720.0, (0, 1))]),  # 720 · 0.98 = 705.6, 700 · 1.02 = 714
        ([700.0, 735.0], [(700.0, 700.0, (0,)), (735.0, 735.0, (1,))]),  # 735 · 0.98 = 720.3
        ([735.0, 700.0, 720.0], [(700.0, 735.0, (0, 1, 2))]),
        ([0.0, 0.0, 7.0], [(0.0, 0.0, (0, 1)), (7.0, 7.0, (2,))]),
        ([7.0, None], []),
    ],
)
def test_values_that_a_reading_tells_apart(
    values: list[float | None], groups: list[tuple[float, float, tuple[int, ...]]]
) -> None:
    """Two readings, each 2 % off, could be the same or not. By hand."""
    assert [tuple(group) for group in _groups(values)] == groups


def test_the_evenness_of_a_split_is_its_entropy() -> None:
    """Of four, 2 and 2: ln 2; 3 and 1: -(3/4 ln 3/4 + 1/4 ln 1/4)."""
    even, odd = _groups([1.0, 1.0, 7.0, 7.0]), _groups([1.0, 1.0, 1.0, 7.0])
    assert _evenness(even) == pytest.approx(math.log(2))
    assert _evenness(odd) == pytest.approx(-(0.75 * math.log(0.75) + 0.25 * math.log(0.25)))


def test_the_reading_that_tells_two_explanations_apart() -> None:
    """Lost torque at the stage, or in the shares: at the fork's other outlet and above they differ; not by speed."""
    rig = _rig(LINE, "at: m, torque: 700 N*m")
    lost = Explanation((Deviation("torque-lost", rig.rig.index["s"], value=0.8),), 0.0)
    turned = Explanation((Deviation("other-way", rig.rig.index["s"]),), 0.0)
    found = next_reading(rig, [lost, turned], tuple(measured(rig.rig.readings)))
    assert found is not None
    # 900 · 3 · 0.9 · 0.8 = 1,944 N·m behind the stage against 270: 7.2 times; speeds 8/3 and 24: 9 times, wider.
    assert (rig.parts[found.part].name, found.quantity) == ("s", "speed")
    assert [(group.low, group.explanations) for group in found.groups] == [
        (pytest.approx(8 / 3), (0,)),
        (pytest.approx(24.0), (1,)),
    ]
    assert next_reading(rig, [lost], ()) is None
    assert next_reading(rig, [lost, lost], ()) is None


# Deviations in words.


def _words(text: Text) -> str:
    return "".join(each if isinstance(each, str) else f"<{_value(each)}>" for each in text)


def _value(measure: Measure) -> str:
    return f"{measure.value:.6g} {measure.unit}".removesuffix(" 1")


def test_a_reading_that_is_wrong_is_to_be_read_again() -> None:
    """Nothing of the file changes, whichever part it is at."""
    rig = _rig(LINE, "at: m, torque: 700 N*m")
    said = expressed(_part("m", rig), Deviation("wrong-reading", rig.rig.index["m"], reading=0), "m")
    assert (_words(said.words), said.edits) == ("the reading at m is wrong: all else on its line agrees", ())
    assert _words(said.by_hand) == "read m again; no repair writes into a reading"


@pytest.mark.parametrize(
    ("name", "deviation", "words", "edits", "by_hand"),
    [
        ("s", Deviation("other-way", 0), "s is set to increase, not to reduce", ["increase"], ""),
        ("c", Deviation("clutch-open", 0), "c is open", ["false"], ""),
        ("o", Deviation("clutch-engaged", 0), "o is engaged, not open", ["true"], ""),
        ("w", Deviation("stopped", 0), "w stands still", [], "start w; a rig file takes every prime mover as running"),
        (
            "f",
            Deviation("estimated-shares", 0, shares=(0.3, 0.7)),
            "f shares about 3 : 7, not 2 : 3",
            ["3", "7"],
            "",
        ),
        ("f", Deviation("estimated-shares", 0, shares=(0.25, 0.75)), "f shares about 1 : 3, not 2 : 3", ["1"], ""),
        ("f", Deviation("other-shares", 0, shares=(3.0, 2.0)), "f shares 3 : 2, not 2 : 3", ["3", "2"], ""),
        (
            "f",
            Deviation("estimated-shares", 0, shares=(0.437, 0.563)),
            "f shares about 43.7 : 56.3, not 2 : 3",
            ["43.7", "56.3"],
            "",
        ),
        (
            "s",
            Deviation("torque-lost", 0, value=0.7),
            "s passes on <70> % of its torque: worn or dry",
            [],
            (
                "look at its lubricant and the teeth of s; a rig file cannot say what one part loses: that is the "
                "efficiency of oiled in the catalogue, about <0.63> here"
            ),
        ),
        (
            "b",
            Deviation("torque-lost", 0, value=0.7),
            "b passes on <70> % of its torque: worn",
            [],
            (
                "look at the teeth of b; a rig file cannot say what one part loses: that is the "
                "efficiency of bevel in the catalogue, about <0.7> here"
            ),
        ),
        (
            "w",
            Deviation("lower-torque", 0, value=0.7),
            "w gives <70> % of its torque",
            [],
            (
                "look at w; a rig file cannot say what it gives: that is the output of wheel in the catalogue, about "
                "<630 N*m> at <8 rad/s> here"
            ),
        ),
        (
            "w",
            Deviation("lower-speed", 0, value=0.7),
            "w gives <70> % of its speed",
            [],
            (
                "look at w; a rig file cannot say what it gives: that is the output of wheel in the catalogue, about "
                "<900 N*m> at <5.6 rad/s> here"
            ),
        ),
    ],
)
def test_a_deviation_in_words(name: str, deviation: Deviation, words: str, edits: list[str], by_hand: str) -> None:
    """What it is, what the file then says, and what it cannot. Figures by hand."""
    rig = _rig(LINE, "at: m, torque: 700 N*m")
    said = expressed(_part(name, rig), deviation)
    assert (_words(said.words), _words(said.by_hand)) == (words, by_hand)
    assert [edit.text.rpartition(" ")[2].strip("\n},") for edit in said.edits] == edits
