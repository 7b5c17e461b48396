"""How bad a finding is, and what follows from it, each by hand: measures, better and worse, effort, steps in words."""

import math

import pytest
from check.test_worse import found, short_of

from lineshaft.check.effort import EFFORT_OF_CHECK, EFFORT_OF_RUN, allotted
from lineshaft.check.finding import Finding, Measure, litres, power, seconds, speed, times, torque
from lineshaft.check.finding_diff import against, none_against
from lineshaft.check.severity_measure import (
    SeverityMeasure,
    against_limit,
    better,
    has_grown_worse,
    rank,
    severity_measure,
    severity_measures,
    worse,
)
from lineshaft.check.shared_causes import MOST_NAMED, _named, _others


def _measures(**values: Measure) -> list[tuple[str, float]]:
    return [(each.of, pytest.approx(each.value)) for each in severity_measures(found(values))]


@pytest.mark.parametrize(
    ("values", "measures"),
    [
        ({"limit": torque(700), "times_limit": times(1.3)}, [("times_torque_limit", 1.3)]),
        ({"limit": speed(70), "times_limit": times(1.3)}, [("times_speed_limit", 1.3)]),
        ({"times_limit": times(1.3)}, [("times_limit", 1.3)]),
        ({"limit": torque(700), "margin": times(1.1)}, [("torque_margin", 1.1)]),
        ({"margin": times(1.1), "runs_dry_after": seconds(90)}, [("margin", 1.1)]),
        ({"runs_dry_after": seconds(90), "parts": times(7)}, [("runs_dry_after", 90.0), ("parts", 7.0)]),
        ({"ratio_needed": times(2.5)}, [("ratio_needed", 2.5)]),
        (
            {"torque": torque(300), "torque_needed": torque(450), "speed": speed(5), "speed_needed": speed(9)},
            [("times_speed_needed", 1.8), ("times_torque_needed", 1.5)],
        ),
        ({"torque": torque(0), "torque_needed": torque(450)}, [("times_torque_needed", math.inf)]),
        ({"power": power(300), "power_needed": power(450)}, [("times_power_needed", 1.5)]),
        ({"torque": torque(900), "torque_up_to": torque(600)}, [("times_torque_promised", 1.5)]),
        ({"time": seconds(50), "time_wanted": seconds(40)}, [("times_wanted", 1.25)]),
        ({"torque": torque(700), "torque_read": torque(900)}, [("deviation", 2 / 9)]),
        (
            {"torque": torque(900), "torque_read": torque(700), "speed": speed(9), "speed_read": speed(3)},
            [("deviation", 6 / 9)],
        ),
        ({"torque": torque(0), "torque_read": torque(0)}, []),
        ({"charge": litres(7), "power": power(300)}, [("charge", 7.0)]),
        ({"power": power(300)}, [("power", 300.0)]),
        ({}, []),
    ],
)
def test_what_says_how_bad_a_finding_is(values: dict[str, Measure], measures: list[tuple[str, float]]) -> None:
    """By the names of its values: a limit first, then what says it at once, then quotients, the worst first."""
    assert _measures(**values) == measures


def test_the_first_finite_measure_counts() -> None:
    """A machine at rest is endlessly short of torque; its speed, a half too slow, can be told."""
    both = short_of(0, 450) | {"speed": speed(6), "speed_needed": speed(9)}
    assert severity_measure(found(both)) == ("times_speed_needed", pytest.approx(1.5))
    assert severity_measure(found(short_of(0, 450))) is None
    assert against_limit(found(both)) is None


LIMIT, MARGIN = "times_torque_limit", "torque_margin"


@pytest.mark.parametrize(
    ("of", "value", "now", "is_worse", "is_better"),
    [
        (LIMIT, 2.0, 2.0, False, False),
        (LIMIT, 2.0, 2.0199, False, False),
        (LIMIT, 2.0, 2.0201, True, False),
        (LIMIT, 2.0, 1.9801, False, False),
        (LIMIT, 2.0, 1.9799, False, True),
        (MARGIN, 2.0, 2.0199, False, False),
        (MARGIN, 2.0, 2.0201, False, True),
        (MARGIN, 2.0, 1.9801, False, False),
        (MARGIN, 2.0, 1.9799, True, False),
    ],
)
def test_a_hundredth_does_not_count_yet(of: str, value: float, now: float, is_worse: bool, is_better: bool) -> None:
    """1 % of 2 is 0.02; of a margin less is worse."""
    measured = SeverityMeasure(of, now)
    assert (worse(measured, of, value), better(measured, of, value)) == (is_worse, is_better)


def test_without_a_tolerance_a_billionth_does_not_count() -> None:
    """2 · (1 + 1e-9) is as bad as 2, 2 · (1 + 3e-9) is worse; so for margins downward."""
    for of, sign in ((LIMIT, 1), (MARGIN, -1)):
        said = [worse(SeverityMeasure(of, 2 * (1 + sign * off)), of, 2.0, tolerance=0) for off in (0.9e-9, 3e-9)]
        assert said == [False, True]


def test_what_cannot_be_compared_is_worse_and_not_better() -> None:
    """Another measure, or none recorded; what is gone is better than what was."""
    now = SeverityMeasure(LIMIT, 2.0)
    assert worse(now, MARGIN, 2.0)
    assert worse(now, LIMIT, None)
    assert not worse(None, LIMIT, 2.0)
    assert not better(now, MARGIN, 1.0)
    assert not better(now, LIMIT, None)
    assert better(None, LIMIT, 2.0)
    assert not better(None, LIMIT, None)


def test_a_rank_rises_as_things_get_worse() -> None:
    """A smaller margin ranks above a larger one."""
    assert rank(None) == 0
    assert rank(SeverityMeasure(LIMIT, 3.0)) > rank(SeverityMeasure(LIMIT, 2.0))
    assert rank(SeverityMeasure(MARGIN, 1.1)) > rank(SeverityMeasure(MARGIN, 1.3))
    assert rank(SeverityMeasure("runs_dry_after", 30.0)) > rank(SeverityMeasure("runs_dry_after", 90.0))


def test_a_graver_level_is_worse_whatever_is_measured() -> None:
    """From a warning to an error, with values that got better; not the other way round."""
    was, now = found(short_of(300, 900), "warning"), found(short_of(300, 450), "error")
    assert has_grown_worse(was, now)
    assert not has_grown_worse(now, found(short_of(300, 450), "warning"))


def test_what_was_not_measured_is_held_against_the_worst_that_was() -> None:
    """Short of torque 3 times; then of speed 1.5 times is no worse, 3.5 times is. Of what had no measure nothing is."""
    was = found(short_of(300, 900))
    assert not has_grown_worse(was, found({"speed": speed(6), "speed_needed": speed(9)}))
    assert has_grown_worse(was, found({"speed": speed(2), "speed_needed": speed(7)}))
    assert not has_grown_worse(found({}), was)
    assert not has_grown_worse(was, found({"limit": torque(700), "margin": times(1.1)}))


def _at(finding: Finding, part: str, *route: str | int, rule: str | None = None) -> Finding:
    from dataclasses import replace

    return replace(finding, part=part, route=route or ("parts", part), rule=rule or finding.rule)


def test_what_is_new_or_worse_speaks_against_a_change() -> None:
    """The press as short as before, the mill shorter, the saw new; a reading says nothing, taken before the change."""
    press, mill = _at(found(short_of(300, 450)), "press"), _at(found(short_of(300, 450)), "mill")
    shorter, saw = _at(found(short_of(270, 450)), "mill"), _at(found(short_of(300, 450)), "saw")
    read = _at(found({"torque": torque(7), "torque_read": torque(9)}, rule="reading-disagrees"), "press")
    assert list(against([press, mill], [press, shorter, saw, read])) == [shorter, saw]
    assert none_against([press, mill], [press, mill, read])
    assert not none_against([press], [press, mill])
    assert none_against([shorter], [mill])


def test_of_several_on_one_part_each_stands_for_its_own_place() -> None:
    """Two at different steps: the one at step 2 got worse, though it is no worse than the other was."""
    bad = {"limit": torque(700), "times_limit": times(3.0)}
    mild, milder = bad | {"times_limit": times(1.3)}, bad | {"times_limit": times(1.1)}
    first, second = (_at(found(values), "rod", "commissioning", step) for step, values in ((1, bad), (2, milder)))
    grown = _at(found(mild), "rod", "commissioning", 2)
    assert list(against([first, second], [first, grown])) == [grown]
    assert list(against([first, second], [second, first])) == []
    third = _at(found(mild), "rod", "commissioning", 7)
    assert list(against([first, second], [first, second, third])) == [third]
    assert list(against([first], [third])) == []  # stands for the one that was worse


def test_a_machine_that_runs_at_last_was_never_better() -> None:
    """One that stalled misses its target now: nothing against it; the press that ran before and is late now is new."""
    stalled = _at(found(short_of(300, 450)), "press")
    late = _at(found({"time": seconds(50), "time_wanted": seconds(40)}, rule="target-missed"), "press")
    assert list(against([stalled], [late])) == []
    assert list(against([], [late])) == [late]
    other = _at(found({"power": power(7)}, rule="loose-end"), "press")
    assert list(against([stalled], [other])) == [other]


@pytest.mark.parametrize(
    ("faulty", "each"), [(0, 40_000), (1, 40_000), (100, 40_000), (101, 20_000), (200, 20_000), (201, 10_000)]
)
def test_effort_is_halved_until_there_is_enough_for_all(faulty: int, each: int) -> None:
    """A hundred faulty files may be searched in full; the hundred and first halves what each gets."""
    assert (EFFORT_OF_CHECK, EFFORT_OF_RUN) == (40_000, 4_000_000)
    assert allotted(faulty) == each


def test_of_very_many_files_each_gets_one_step() -> None:
    """Never none, so that a file that needs a single step is served."""
    assert allotted(10**9) == 1


def test_names_of_parts_in_a_sentence() -> None:
    """Two by `and`; of eleven the first eight, and the number of the others."""
    assert _named(["a", "b"]) == "a and b"
    assert _named(["a", "b", "c"]) == "a, b and c"
    assert _named([f"p{n}" for n in range(MOST_NAMED)]).endswith("p6 and p7")
    assert _named([f"p{n}" for n in range(11)]) == "p0, p1, p2, p3, p4, p5, p6, p7 and 3 more"


@pytest.mark.parametrize(
    ("others", "shown", "last"),
    [(10, 10, None), (11, 11, ""), (12, 11, ", and so have 1 more"), (17, 11, ", and so have 6 more")],
)
def test_others_with_one_cause_are_shown_up_to_ten(others: int, shown: int, last: str | None) -> None:
    """Ten with what they have; the eleventh stands for all that are left, which are counted."""
    worst, *rest = (_at(found(short_of(300, 450)), f"p{n}") for n in range(others + 1))
    causes = list(_others([worst, *rest], worst))  # type: ignore[list-item,arg-type]
    assert [cause.part for cause in causes] == [f"p{n}" for n in range(1, shown + 1)]
    assert all(cause.message[0] == "has it too: " for cause in causes[:10])
    assert [cause.message for cause in causes[10:]] == ([] if last is None else [(f"has it too{last}",)])
