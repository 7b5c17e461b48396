"""Ratios: decimals and tooth counts, exact; what is refused and what to write instead."""

import math
from fractions import Fraction

import pytest

from lineshaft.schema.quantities.quantity import BadQuantity
from lineshaft.schema.quantities.ratio import Ratio, ratio


def _message(value: object) -> str:
    assert isinstance(value, BadQuantity), value
    return value.message


@pytest.mark.parametrize(
    ("written", "numerator", "denominator", "text"),
    [
        (4, 4, 1, "4"),
        (1, 1, 1, "1"),
        (1.0, 1, 1, "1"),
        (2.5, 5, 2, "2.5"),
        (2.1, 21, 10, "2.1"),
        ("4", 4, 1, "4"),
        ("2.5", 5, 2, "2.5"),
        ("3.3", 33, 10, "3.3"),
        ("96/16", 6, 1, "96/16"),
        ("75/15", 5, 1, "75/15"),
        ("37/12", 37, 12, "37/12"),
        (" 96 / 16 ", 6, 1, "96/16"),
        ("999999/1", 999_999, 1, "999999/1"),
        ("1000e-3", 1, 1, "1000e-3"),
    ],
)
def test_a_ratio_is_exact(written: object, numerator: int, denominator: int, text: str) -> None:
    """A decimal is what it reads as (2.1 is 21/10), tooth counts are their quotient; the text is kept."""
    found = ratio(written)
    assert found == Ratio((numerator, denominator), text, numerator / denominator)
    assert isinstance(found, Ratio)
    assert found.value == Fraction(numerator, denominator)
    assert found.changes == (numerator != denominator)


def test_tooth_counts_and_decimals_compare_by_value() -> None:
    """5 and 75/15 are the same ratio, however written."""
    five, teeth = ratio(5), ratio("75/15")
    assert isinstance(five, Ratio) and isinstance(teeth, Ratio)
    assert five.value == teeth.value
    assert five.text != teeth.text


def test_three_thirds_stay_exact() -> None:
    """37/12 three times over and back is 1 exactly, which floats do not promise."""
    stage = ratio("37/12")
    assert isinstance(stage, Ratio)
    assert stage.value**3 / Fraction(37, 12) ** 3 == 1


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("16/96", "write 96/16 and set the direction"),
        (0.25, "write 4 and set the direction"),
        ("0.3", "write 10/3 and set the direction"),
        ("5 : 1", "write 5"),
        ("5:1", "write 5"),
        ("1 : 5", "write 5 and set the direction"),
        ("96:16", "write 96/16"),
        ("2,5", "write a point, not a comma"),
        ("9**9", "write the result, not the calculation"),
        ("0/5", "without teeth"),
        ("5/0", "without teeth"),
        ("96.5/16", "two tooth counts from 1 to 999999"),
        ("-96/16", "two tooth counts from 1 to 999999"),
        ("96/16/2", "two tooth counts from 1 to 999999"),
        ("1234567/2", "two tooth counts from 1 to 999999"),
        ("4 N*m", "write a number of 1 or more, or tooth counts driven/driver"),
        ("four", "write a number of 1 or more, or tooth counts driven/driver"),
        (0, "write a ratio as a number of 1 or more"),
        (-2, "write a ratio as a number of 1 or more"),
        (1_000_000, "at most 999999"),
    ],
)
def test_what_is_no_ratio_is_told_what_to_write(written: object, told: str) -> None:
    """Each refusal says what to write: the reciprocal, a point, plain tooth counts."""
    assert told in _message(ratio(written))


@pytest.mark.parametrize("written", ["16/96", 0.25, 0.999999, "0.99999999999999999999"])
def test_below_one_is_explained(written: object) -> None:
    """A ratio is driven/driver and 1 or more, also where a double would round it up to 1."""
    assert "is below 1: a ratio is driven/driver and 1 or more" in _message(ratio(written))


@pytest.mark.parametrize(
    ("written", "told"),
    [
        (0.4, "write 5/2 and"),
        (0.2, "write 5 and"),
        (0.000002, "write 500000 and"),
        (0.000001, "write its reciprocal and"),
        (0.999999, "write its reciprocal and"),
    ],
)
def test_the_ratio_turned_round_is_told_where_it_can_be_written(written: float, told: str) -> None:
    """2/5 is 5/2 turned round, 1/5 is 5; a million teeth are one more than may be written."""
    assert told in _message(ratio(written))


def test_as_many_teeth_on_both_wheels_are_a_ratio_of_one() -> None:
    """It is not below 1."""
    found = ratio("7/7")
    assert isinstance(found, Ratio)
    assert (found.terms, found.value) == ((1, 1), 1)


def test_true_is_not_one() -> None:
    """A truth value is refused although it equals 1, in whatever order the two are read."""
    assert isinstance(ratio(1.0), Ratio)
    assert "true is not a ratio" in _message(ratio(True))
    assert isinstance(ratio(1), Ratio)


_HOSTILE: list[object] = [
    "1e99999999",
    "1e-99999999",
    "0e99999999",
    "1e400",
    "9" * 5000,
    "9" * 1_000_000,
    "9" * 5000 + "/1",
    "1/" + "9" * 5000,
    "1:" * 5000,
    "٤",
    "9٦/16",
    "²",
    "\0",
    "4\0",
    "\ud800",
    "",
    " ",
    "/",
    ":",
    "1_0",
    "inf",
    "nan",
    "0x10",
    10**400,
    -(10**5000),
    1e300,
    5e-324,
    math.inf,
    math.nan,
    True,
    False,
    None,
]


@pytest.mark.parametrize("written", _HOSTILE, ids=range(len(_HOSTILE)))
def test_hostile_ratios_end_in_a_short_message(written: object) -> None:
    """No exponent is ever worked out, no digit of another script read; the message stays short."""
    assert 0 < len(_message(ratio(written))) < 200


def test_a_ratio_does_not_change() -> None:
    """A ratio is shared by all who read the same text, so nobody may change it."""
    stage = ratio("96/16")
    assert stage is ratio("96/16")
    with pytest.raises(AttributeError):
        stage.text = "1"  # type: ignore[misc, union-attr]


@pytest.mark.parametrize(
    ("written", "driven", "driver"),
    [("2.1e1", 21, 1), ("2.1e3", 2100, 1), ("2100e-3", 21, 10), ("37e-1", 37, 10), ("0.7e1", 7, 1), ("1.25", 5, 4)],
)
def test_powers_of_ten_are_exact(written: str, driven: int, driver: int) -> None:
    """As arithmetic of decimal numbers has them."""
    found = ratio(written)
    assert isinstance(found, Ratio)
    assert found.terms == (driven, driver)
