"""Free values fitted: exact where there is one, the least largest error where there are more; conflicts named."""

import pytest

from lineshaft.audit.candidate import Span
from lineshaft.audit.comparison import Measured
from lineshaft.audit.fitting import Clash, Fit, fit
from lineshaft.audit.response import response
from lineshaft.audit.survey import Values

WHOLE = Span(0.0, 1.0)


def _read(*values: float, tolerance: float = 0.1) -> list[Measured]:
    return [Measured(k, k, 0, "torque", value, tolerance) for k, value in enumerate(values)]


def test_one_free_value_is_the_middle_of_what_all_allow() -> None:
    """10·x and 20·x read as 5.2 and 10: both near x = 0.5, between 10/22 and 5.2/9 at the most."""
    found = fit(response(lambda x: [10 * x[0], 20 * x[0]], [(WHOLE,)]), _read(5.2, 10.0))
    assert isinstance(found, Fit)
    assert found.values[0] == pytest.approx(0.51, abs=0.005)
    assert found.misfit < 0.3


def test_a_value_that_no_number_allows_is_a_conflict_of_two() -> None:
    """10·x read as 5 and 20·x as 14: x would be 0.5 and 0.7, a tenth apart from each at the most; one has to move."""
    found = fit(response(lambda x: [10 * x[0], 20 * x[0], 7.0], [(WHOLE,)]), _read(5.0, 14.0, 7.0))
    assert isinstance(found, Clash)
    assert (found.each, found.some) == (0, 0b011)
    assert found.left_by(0b010)
    assert not found.left_by(0b100)


def test_a_number_out_of_reach_is_a_conflict_by_itself() -> None:
    """10·x is at most 10, so 12 is nothing that x explains (10.9 is a tenth less); nor is a fixed 7 read as 9."""
    found = fit(response(lambda x: [10 * x[0], 7.0], [(WHOLE,)]), _read(12.0, 9.0))
    assert isinstance(found, Clash)
    assert found.each == 0b11
    assert not found.left_by(0b01)
    assert found.left_by(0b11)


def test_a_place_without_solution_is_a_conflict() -> None:
    """Where a combiner would lock there is no value, whatever is free."""

    def solved(x: tuple[float, ...]) -> Values:
        return [x[0], None]

    found = fit(response(solved, [(WHOLE,)]), _read(0.5, 1.0))
    assert isinstance(found, Clash)
    assert found.each == 0b10


def test_products_of_two_free_values_are_seen() -> None:
    """x, y and 10·x·y read as 0.5, 0.4 and 2: x = 0.5, y = 0.4 exactly."""
    answer = response(lambda v: [v[0], v[1], 10 * v[0] * v[1]], [(WHOLE,), (WHOLE,)])
    found = fit(answer, _read(0.5, 0.4, 2.0, tolerance=0.01))
    assert isinstance(found, Fit)
    assert found.values == pytest.approx((0.5, 0.4), rel=1e-6)
    assert found.misfit == pytest.approx(0, abs=1e-4)


def test_the_largest_error_counts_with_two_free_values() -> None:
    """x read five times as 0.5 and once as 0.59 (tolerance 0.1): least squares alone would leave the one outside.

    Their mean is 0.515, from which 0.59 is 14.6 % away; x = 0.54 is within 10 % of both (0.5/0.54, 0.59/0.54).
    """
    answer = response(lambda v: [v[0]] * 6 + [v[1]], [(WHOLE,), (WHOLE,)])
    found = fit(answer, _read(0.5, 0.5, 0.5, 0.5, 0.5, 0.59, 0.3))
    assert isinstance(found, Fit)
    assert 0.59 / 1.1 <= found.values[0] <= 0.5 / 0.9
