"""What a waiver covers, by its bound and by what the finding says, each by hand."""

from datetime import date

import pytest
from check.test_worse import found

from lineshaft.check.finding import Measure, times, torque
from lineshaft.check.waivers import bound_value, covers
from lineshaft.schema.model.running import Waiver

LIMIT = {"limit": torque(700), "times_limit": times(1.3)}
MARGIN = {"limit": torque(700), "margin": times(1.1)}


def _waiver(up_to: float | None) -> Waiver:
    return Waiver(("waivers", 0), "torque-over-limit", "press", up_to, "until the works stop", date(2027, 3, 7))


@pytest.mark.parametrize(
    ("values", "rule", "up_to", "covered"),
    [
        (LIMIT, "torque-over-limit", 1.3, True),
        (LIMIT, "torque-over-limit", 1.4, True),
        (LIMIT, "torque-over-limit", 1.2, False),
        (LIMIT, "torque-over-limit", None, False),  # without a bound it would cover anything
        (MARGIN, "margin-thin", 1.1, True),
        (MARGIN, "margin-thin", 1.0, True),
        (MARGIN, "margin-thin", 1.2, False),
        ({}, "loose-end", None, True),
        ({}, "loose-end", 1.3, False),  # nothing there that could be bounded
        ({}, "direction-before-commissioning", 1.3, True),  # turns the wrong way and breaks nothing
        ({}, "direction-before-commissioning", None, True),
        (LIMIT, "direction-before-commissioning", 1.2, False),
    ],
)
def test_what_a_waiver_covers(values: dict[str, Measure], rule: str, up_to: float | None, covered: bool) -> None:
    """Up to its bound, upward for what is over a limit and downward for margins."""
    assert covers(_waiver(up_to), found(values, rule=rule)) is covered


def test_the_value_that_is_bounded() -> None:
    """Times the limit or the margin; else none."""
    assert [bound_value(found(values)) for values in (LIMIT, MARGIN, {})] == [1.3, 1.1, None]
