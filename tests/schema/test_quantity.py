"""Quantities, shares and plain numbers: what is taken, and each trap that is not."""

import math

import pytest

from lineshaft.schema.quantities.quantity import BadQuantity, efficiency, plain_number, quantity, share, weight
from lineshaft.schema.quantities.quantity_advice import quantity_advice
from lineshaft.schema.quantities.units import LISTED, QuantityKind


def _message(value: object) -> str:
    assert isinstance(value, BadQuantity), value
    return value.message


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("18 kN*m", "torque", 18_000.0),
        ("12 Nm", "torque", 12.0),
        ("12Nm", "torque", 12.0),
        ("12 N m", "torque", 12.0),
        ("12 N·m", "torque", 12.0),
        ("12 mNm", "torque", 0.012),
        ("2 kgf*m", "torque", 19.6133),
        ("35 rad/s", "speed", 35.0),
        ("3 krad/s", "speed", 3000.0),
        ("300 rpm", "speed", 10 * math.pi),
        ("2 rev/s", "speed", 4 * math.pi),
        ("2 kW", "power", 2000.0),
        ("2 hp", "power", 1491.3997431445405),  # 2 x 550 x 0.3048 x 4.4482216152605
        ("24 L", "volume", 24.0),
        ("30 mL", "volume", 0.03),
        ("1.5 m^3", "volume", 1500.0),
        ("0.2 mL/s", "flow", 2e-4),
        ("3600 L/h", "flow", 1.0),
        ("1.2 m^3/s", "flow", 1200.0),
        ("1.2 m³/s", "flow", 1200.0),
        ("30 s", "time", 30.0),
        ("2 min", "time", 120.0),
        ("1 h", "time", 3600.0),
        ("250 ms", "time", 0.25),
        ("50 mm", "length", 0.05),
        ("5 cm", "length", 0.05),
        ("10 in", "length", 0.254),
        ("10 ft", "length", 3.048),
        ("41 MPa", "stress", 41e6),
        ("8000 psi", "stress", 55158058.345),
        ("1000 kg/m^3", "density", 1000.0),
        ("5 %", "share", 0.05),
        ("+5 N*m", "torque", 5.0),
        ("5. N*m", "torque", 5.0),
        (".5 N*m", "torque", 0.5),
        ("1.5e3 N*m", "torque", 1500.0),
        ("1.5E-3 N*m", "torque", 0.0015),
        (" 5 N*m ", "torque", 5.0),
        ("5\N{NO-BREAK SPACE}N·m", "torque", 5.0),
        ("5\N{NARROW NO-BREAK SPACE}N·m", "torque", 5.0),
        ("5 \N{NARROW NO-BREAK SPACE}\N{NO-BREAK SPACE} N·m", "torque", 5.0),
    ],
)
def test_what_is_taken(text: str, kind: QuantityKind, value: float) -> None:
    """A number and a listed unit give the value in the internal unit (by hand from the definitions)."""
    assert quantity(text, kind) == pytest.approx(value, rel=1e-10)


@pytest.mark.parametrize("written", [24, "24", 24.0, " 24 "])
def test_a_bare_number_names_the_units_it_could_be(written: object) -> None:
    """A number without a unit is an error that lists what to write."""
    assert _message(quantity(written, "torque")) == "24 has no unit: write 24 N*m, 24 kN*m or 24 lbf*ft"


@pytest.mark.parametrize("kind", [kind for kind in LISTED if kind != "share"])
def test_a_bare_number_is_refused_for_every_kind(kind: QuantityKind) -> None:
    """No kind has a unit that goes without saying, and each offer that is made is one that is taken."""
    message = _message(quantity(24, kind))
    offers = message.removeprefix("24 has no unit: write ").replace(" or ", ", ").split(", ")
    assert all(isinstance(quantity(offer, kind), float) for offer in offers)


def test_a_bare_zero_has_no_unit_either() -> None:
    """Zero is no exception to the unit, even where zero is allowed."""
    assert "0 has no unit" in _message(quantity(0, "volume", zero=True))


@pytest.mark.parametrize(
    ("text", "kind", "told"),
    [
        ("24 J", "torque", "24 J is an energy, not a torque: write 24 N*m"),
        ("3 kJ", "torque", "write 3 kN*m"),
        ("5 Hz", "speed", "turns or radians: write 5 rev/s or 5 rad/s"),
        ("5 1/s", "speed", "turns or radians: write 5 rev/s or 5 rad/s"),
        ("5 kHz", "speed", "turns or radians: write 5 krad/s"),
        ("12 kW", "torque", "12 kW is a power, and a torque is due: write it in N*m, kN*m or lbf*ft"),
        ("5 m", "time", "5 m is a length, and a time is due: write it in s, min or h"),
        ("5 hPa", "length", "5 hPa is a stress, and a length is due"),
        ("24 lb ft", "torque", "write 24 lbf*ft"),
        ("200 N/mm2", "stress", "write 200 MPa"),
        ("300 rev/min", "speed", "write 300 rpm"),
        ("5 sec", "time", "write 5 s"),
        ("5 parsnips", "length", "parsnips is no unit of length: write it in m, mm, in or ft"),
    ],
)
def test_a_unit_of_something_else_is_told_what_to_write(text: str, kind: QuantityKind, told: str) -> None:
    """Joules are no torque, hertz no speed; each refusal says what to write instead."""
    assert told in _message(quantity(text, kind))


@pytest.mark.parametrize(
    ("text", "kind", "told"),
    [
        ("24 KN*M", "torque", "write 24 kN*m"),
        ("24 N.m", "torque", "write 24 N*m"),
        ("24 N-m", "torque", "write 24 N*m"),
        ("24 ft-lbf", "torque", "write 24 lbf*ft"),
        ("24 RPM", "speed", "write 24 rpm"),
        ("24 l", "volume", "write 24 L"),
        ("24 m3", "volume", "write 24 m^3"),
        ("24 m**3", "volume", "write 24 m^3"),
        ("24 kg/m3", "density", "write 24 kg/m^3"),
        ("3 mw", "power", "write 3 mW or 3 MW"),
        ("24\tN*m", "torque", "blanks that do not belong there: write 24 N*m"),
        ("24 N*m\n", "torque", "blanks that do not belong there: write 24 N*m"),
    ],
)
def test_a_unit_nearly_right_is_not_guessed(text: str, kind: QuantityKind, told: str) -> None:
    """Case, dots and dashes are not guessed at (mW or MW?): the message gives the listed spelling."""
    assert told in _message(quantity(text, kind))


def test_newton_metre_is_not_a_number_of_metres() -> None:
    """`12 Nm` is a torque of 12 N*m, not "number metre", and is no length."""
    assert quantity("12 Nm", "torque") == 12.0
    assert "12 Nm is a torque, and a length is due" in _message(quantity("12 Nm", "length"))


@pytest.mark.parametrize("text", ["1,5 m", "1,000 m", "1,000.5 m"])
def test_a_comma_is_neither_a_point_nor_nothing(text: str) -> None:
    """`1,5 m` is not 15 m: a comma is refused, and the message asks for a point."""
    assert "write a point, not a comma" in _message(quantity(text, "length"))


@pytest.mark.parametrize("text", ["1 000 m", "1_000 m", "1'000 m", "1\N{NO-BREAK SPACE}000 m"])
def test_thousands_are_not_separated(text: str) -> None:
    """Digits of one number stand together."""
    assert "write the digits of a number together" in _message(quantity(text, "length"))


@pytest.mark.parametrize(
    "text",
    ["9**9**9 N*m", "2*3 N*m", "2^3 N*m", "5 + 5 N*m", "1/2 N*m", "5-2 N*m", "5 (N*m)"],
)
def test_expressions_are_not_evaluated(text: str) -> None:
    """A calculation is refused as it stands: nothing computes it."""
    assert "write the result, not the calculation" in _message(quantity(text, "torque"))


@pytest.mark.parametrize(
    "text",
    [
        "(5) N*m",
        "5 N*m + 5 N*m",
        "5 N*m/2",
        "5 N*m*m",
        "__import__('os') N*m",
        "5 N*m; x",
        "$torque",
        "0x10 N*m",
        "0o7 N*m",
    ],
)
def test_code_and_left_over_text_are_refused(text: str) -> None:
    """Whatever stands beside one number and one unit makes the whole scalar bad."""
    assert isinstance(quantity(text, "torque"), BadQuantity)


@pytest.mark.parametrize("text", ["inf N*m", "-inf N*m", ".inf N*m", "nan N*m", ".NaN N*m", "Infinity N*m"])
def test_words_for_numbers_that_are_none(text: str) -> None:
    """Infinity and not-a-number are refused in every spelling."""
    assert "is not a finite number" in _message(quantity(text, "torque"))


@pytest.mark.parametrize("value", [math.inf, -math.inf, math.nan])
def test_floats_that_are_not_finite(value: float) -> None:
    """A float that is not finite never passes, whoever reads it."""
    for read in (
        quantity(value, "torque"),
        share(value),
        weight(value),
        efficiency(value),
        plain_number(value),
    ):
        assert "is not a finite number" in _message(read)


def test_too_large_and_too_small() -> None:
    """A number beyond a double is named as such; its unit counts too; one that vanishes is not zero."""
    assert "too large" in _message(quantity("1e400 N*m", "torque"))
    assert "too large" in _message(quantity("1e308 kN*m", "torque"))
    assert "too small" in _message(quantity("1e-400 N*m", "torque", zero=True))
    assert "too small" in _message(quantity("5e-324 mN*m", "torque", zero=True))
    assert "too large" in _message(plain_number("1e400"))


@pytest.mark.parametrize("text", ["0 N*m", "-0 N*m", "0.0e5 N*m", "-3 N*m"])
def test_a_quantity_is_above_zero(text: str) -> None:
    """Torques and the like are more than 0."""
    assert "it must be more than 0" in _message(quantity(text, "torque"))


def test_zero_where_it_is_allowed() -> None:
    """Charges and fills may be 0, and a zero with a sign is plain 0; less is refused."""
    assert quantity("0 L", "volume", zero=True) == 0.0
    assert math.copysign(1.0, float(str(quantity("-0 L", "volume", zero=True)))) == 1.0
    assert "it must be 0 or more" in _message(quantity("-1 L", "volume", zero=True))


def test_a_number_of_forty_characters_is_the_longest() -> None:
    """Forty characters of number are read, forty-one are refused with only their beginning shown."""
    assert quantity("1" * 40 + " N*m", "torque") == pytest.approx(1.1111111111111111e39)
    message = _message(quantity("1" * 41 + " N*m", "torque"))
    assert "more than 40 characters" in message
    assert "1" * 40 not in message


_HOSTILE: list[object] = [
    "9" * 5000 + " N*m",
    "9" * 5000,
    "0." + "9" * 5000 + " N*m",
    "1e" + "9" * 5000 + " N*m",
    "9" * 1_000_000,
    "24 " + "x" * 5000,
    "x" * 5000,
    "24 N*m" + " " * 5000,
    " " * 5000,
    "24 N" + " *" * 5000 + " m",
    "- " * 5000,
    "24 N*m\0",
    "12\0 N*m",
    "\0",
    "\x1b[31m24 N*m",
    "24 \u202emN",
    "\ud800 N*m",
    "24 \ud800",
    "١٢ m",
    "１２ m",
    "²m",
    "12 ５m",
    "",
    " ",
    "N*m",
    ".",
    ". N*m",
    "1.2.3 N*m",
    "e5 N*m",
    "--5 N*m",
    "::error::24",
    True,
    False,
    None,
    10**309,
    -(10**5000),
    1e308,
]


@pytest.mark.parametrize("value", _HOSTILE, ids=range(len(_HOSTILE)))
@pytest.mark.parametrize("kind", LISTED)
def test_hostile_scalars_end_in_a_short_message(value: object, kind: QuantityKind) -> None:
    """Nothing a file can hold crashes a reader; the message stays short however long the text."""
    for read in (quantity(value, kind), share(value), weight(value), efficiency(value), plain_number(value)):
        assert isinstance(read, float) or 0 < len(read.message) < 200


@pytest.mark.parametrize("text", ["١٢ m", "１２ m", "1२ m"])
def test_digits_are_ascii(text: str) -> None:
    """Digits of other scripts are refused and said to be so."""
    assert "other digits than 0 to 9" in _message(quantity(text, "length"))


def test_hostile_text_is_cut_to_forty_characters() -> None:
    """A message shows at most 40 characters of the file, then an ellipsis."""
    message = _message(quantity("z" * 500, "torque"))
    assert "z" * 39 + "…" in message
    assert "z" * 40 not in message


def test_equal_values_of_other_types_keep_their_own_answer() -> None:
    """The cache tells true from 1 and text from numbers, in whatever order they come."""
    assert "1 has no unit" in _message(quantity(1, "torque"))
    assert "true is not a torque" in _message(quantity(True, "torque"))
    assert "1 has no unit" in _message(quantity(1.0, "torque"))
    assert isinstance(quantity("0 L", "volume", zero=True), float)
    assert isinstance(quantity("0 L", "volume"), BadQuantity)


@pytest.mark.parametrize("value", [True, False, None, [], {}, [1], {"a": 1}, "true", "N*m", ""])
def test_what_is_no_number_is_refused(value: object) -> None:
    """Truth values, nothing, lists and words are neither numbers, shares nor weights."""
    for read in (share(value), weight(value), efficiency(value), plain_number(value)):
        assert isinstance(read, BadQuantity)


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ("5 %", 0.05),
        ("5%", 0.05),
        ("2 %", 0.02),
        ("0.05", 0.05),
        (0.05, 0.05),
        (1, 1.0),
        ("7 %", 0.07),
        (3, 3.0),
    ],
)
def test_a_share_is_a_percentage_or_a_plain_number(value: object, expected: float) -> None:
    """`5 %`, `5%` and 0.05 are one share, each the double nearest to what is written."""
    assert share(value) == expected
    assert quantity(value, "share") == expected


def test_a_share_of_zero_where_it_is_allowed() -> None:
    """A tolerance may be 0, other shares may not."""
    assert share("0 %", zero=True) == 0.0
    assert share(0, zero=True) == 0.0
    assert "more than 0" in _message(share("0 %"))
    assert "more than 0" in _message(share(-0.1))


@pytest.mark.parametrize("value", ["5 N*m", "5 %%", "5 percent", "abc"])
def test_a_share_with_another_unit_says_what_to_write(value: str) -> None:
    """Whatever else stands behind the number, a percentage is asked for."""
    assert "write a percentage such as 5 %" in _message(share(value))


@pytest.mark.parametrize(
    ("value", "expected"), [("80 %", 0.8), (0.98, 0.98), (1, 1.0), ("100 %", 1.0), ("0.5", 0.5)]
)
def test_an_efficiency_up_to_one(value: object, expected: float) -> None:
    """An efficiency lies in (0, 1], also as a percentage."""
    assert efficiency(value) == expected


def test_an_efficiency_above_one_may_have_lost_its_percent_sign() -> None:
    """80 is refused and `80 %` offered; 180 % and 200 are refused without a guess."""
    assert "write 80 %" in _message(efficiency(80))
    assert "write" not in _message(efficiency("180 %"))
    assert "write" not in _message(efficiency(200))
    assert "more than 0" in _message(efficiency(0))


def test_weights_are_plain_numbers_above_zero() -> None:
    """Shares of a splitter are weights: 7, 0.5 or `7`, not 0, not less, not a percentage."""
    assert weight(7) == 7.0
    assert weight(0.5) == 0.5
    assert weight("7") == 7.0
    for bad in (0, -1, "5 %", "7 N*m"):
        assert isinstance(weight(bad), BadQuantity)


def test_plain_numbers_have_a_sign_and_no_unit() -> None:
    """Coordinates may be negative or 0; a unit, a comma or 41 digits are refused."""
    assert [plain_number(value) for value in (12, -3, 0, 2.5, "-4", "1e2")] == [
        12.0,
        -3.0,
        0.0,
        2.5,
        -4.0,
        100.0,
    ]
    for bad in ("3 m", "1,5", 10**41, "1" * 41):
        assert isinstance(plain_number(bad), BadQuantity)


@pytest.mark.parametrize("blanks", [79, 80, 200])
def test_a_number_in_more_than_eighty_signs_is_no_number(blanks: int) -> None:
    """A digit and 79 blanks are 80 signs, and a number; one blank more, or many, are too much."""
    text = "7" + " " * blanks
    assert (plain_number(text) == 7.0) is (blanks == 79)
    assert (share("0." + text[:-2]) == 0.7) is (blanks == 79)
    assert (quantity("7 m" + " " * (blanks - 2), "length") == 7.0) is (blanks == 79)


def test_a_percentage_of_forty_signs_is_the_longest() -> None:
    """0 and 38 digits behind the point are 40 signs; one more is told."""
    longest = "0." + "7" * 38
    assert share(f"{longest} %") == pytest.approx(0.0077777777)
    assert isinstance(share(f"{longest}7 %"), BadQuantity)


def test_hertz_are_turns_or_radians_of_a_speed_alone() -> None:
    """Where a time or a torque is due nothing is said of turns."""
    assert "turns or radians" in quantity_advice("7 Hz", "speed")
    for kind in ("time", "torque", "volume", "stress", "power"):
        assert "turns or radians" not in quantity_advice("7 Hz", kind)
