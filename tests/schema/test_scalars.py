"""Scalars without quotes, by the core schema of YAML 1.2.2, section 10.3.2."""

import pytest

from lineshaft.schema.text.scalars import plain_scalar


@pytest.mark.parametrize(
    ("text", "value"),
    [("9", 9), ("-9", -9), ("+9", 9), ("009", 9), ("0o17", 15), ("0x1F", 31)],
)
def test_an_integer_is_read(text: str, value: int) -> None:
    """Of ten in any sign and with leading zeros; of eight and sixteen with theirs."""
    read = plain_scalar(text)
    assert (read, type(read)) == (value, int)


@pytest.mark.parametrize(
    ("text", "value"), [(".5", 0.5), ("5.", 5.0), ("-.5e3", -500.0), ("2.5E-1", 0.25), ("7e2", 700.0)]
)
def test_a_decimal_number_is_read(text: str, value: float) -> None:
    """With digits before or behind its point, and an exponent."""
    read = plain_scalar(text)
    assert (read, type(read)) == (value, float)


@pytest.mark.parametrize(
    "text",
    [
        *(".", "-", "e5", "5e", "+-5", "1.2.3", "2026-11-26", "5-3"),
        *("1_000", "1 000", "inf", "nan", ".inf", "1e999", "0o9", "0xG", "-0x1F", "0X1F", "\u0665", "5\u00b2"),
    ],
)
def test_what_is_only_like_a_number_stays_text(text: str) -> None:
    """Python's own reading of some of these is a number; numbers that are not finite stay text by our choice."""
    assert plain_scalar(text) == text
