"""One measure tells worse from better: between two states of a rig as between two days of a snag list."""

from collections.abc import Mapping

import pytest

from lineshaft.check.finding import Finding, Measure, power, seconds, speed, times, torque
from lineshaft.check.finding_diff import against
from lineshaft.check.level import Level
from lineshaft.check.severity_measure import has_grown_worse
from lineshaft.schema.text.span import TOP

Found = Mapping[str, Measure]


def found(values: Found, level: Level = "error", rule: str = "machine-underdriven") -> Finding:
    """A finding on the press, with values."""
    place = ("parts", "press")
    return Finding(rule, level, "mill.rig.yaml", TOP, place, "press", ("gets too little",), tuple(values.items()))


def short_of(gets: float, needs: float) -> Found:
    """A press that lacks torque [N*m]."""
    return {"torque": torque(gets), "torque_needed": torque(needs)}


@pytest.mark.parametrize(
    ("was", "now"),
    [
        (short_of(300, 450), short_of(300, 700)),  # the need has risen, what arrives has not
        (short_of(300, 450), short_of(270, 450)),
        (short_of(300, 450), short_of(0, 450)),
        ({"speed": speed(9), "speed_needed": speed(10)}, short_of(300, 450) | {"speed": speed(9)}),  # now of torque too
        ({"limit": torque(90), "times_limit": times(1.2)}, {"limit": torque(90), "times_limit": times(1.3)}),
        ({"limit": torque(90), "margin": times(1.3)}, {"limit": torque(90), "margin": times(1.1)}),
        ({"time": seconds(50), "time_wanted": seconds(45)}, {"time": seconds(50), "time_wanted": seconds(30)}),
        ({"power": power(700)}, {"power": power(900)}),
    ],
)
def test_worse_one_way_is_better_the_other(was: Found, now: Found) -> None:
    """By hand: a quotient of what is needed and what arrives that has grown, a margin that has shrunk."""
    assert has_grown_worse(found(was), found(now))
    assert not has_grown_worse(found(now), found(was))
    assert not has_grown_worse(found(now), found(now))


def test_a_shortage_mended_in_part_is_no_worse() -> None:
    """Short of torque and of speed, then of speed alone, as before: the shortage of torque is gone."""
    both = found(short_of(300, 900) | {"speed": speed(5), "speed_needed": speed(6)})
    one = found({"speed": speed(5), "speed_needed": speed(6)})
    assert not has_grown_worse(both, one)


def test_a_graver_level_is_worse_whatever_the_values_say() -> None:
    """A note that has become an error, with the same values."""
    assert has_grown_worse(found({}, "note"), found({}, "error"))
    assert not has_grown_worse(found({}, "error"), found({}, "note"))


def test_a_raised_need_speaks_against_a_change() -> None:
    """A press that got 300 of 450 N·m and gets 300 of 700 N·m now is told of by whoever compares two verdicts."""
    before, after = found(short_of(300, 450)), found(short_of(300, 700))
    assert list(against([before], [after])) == [after]
    assert list(against([after], [before])) == []
