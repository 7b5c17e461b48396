"""The ratio of a stage: a decimal number of 1 or more, or tooth counts driven/driver, kept exact."""

import re
from functools import lru_cache
from math import gcd
from typing import TYPE_CHECKING, NamedTuple, Protocol, cast

from lineshaft.schema.quantities.quantity import BadQuantity, plain_number

_LARGEST = 999_999  # the most teeth, and so the largest ratio
_TAKEN = "a number of 1 or more, or tooth counts driven/driver"


class Ratio(NamedTuple):
    """A ratio of 1 or more: exact in lowest terms, as written, and as the factor that torque or speed is multiplied by.

    Two that are written otherwise are equal in value where their ``terms`` are.
    """

    terms: tuple[int, int]
    text: str
    factor: float

    @property
    def value(self) -> "Fraction":
        """It as a fraction, to reckon with."""
        from fractions import Fraction  # what is only compared has no need of it

        return Fraction(*self.terms)

    @property
    def changes(self) -> bool:
        """Whether it is more than 1."""
        return self.terms != (1, 1)


if TYPE_CHECKING:
    from fractions import Fraction

    class _Reading(Protocol):
        """What :func:`ratio` is called with; the cache's own type forgets it."""

        def __call__(self, value: object) -> Ratio | BadQuantity: ...


def _read(value: object) -> Ratio | BadQuantity:
    """The ratio that a scalar or a key says: ``3``, ``2.5`` or ``96/16``. Never a list or a mapping."""
    text = value.strip() if isinstance(value, str) else ""
    wheels = [wheel.strip(" ") for wheel in text.split("/")]
    if len(wheels) == 2 and all(map(_is_count, wheels)):
        return _tooth_counts(int(wheels[0]), int(wheels[1]))
    number = plain_number(value)
    if isinstance(number, BadQuantity):
        return BadQuantity(_advice(value, text, number.message))
    if number > _LARGEST:
        return BadQuantity(f"{_shown(value)} is out of range: a ratio is at most {_LARGEST}")
    if number <= 0:
        return BadQuantity(f"{_shown(value)} is out of range: write a ratio as {_TAKEN}")
    if number < 1e-6:
        return BadQuantity(f"{_shown(value)} is below 1: a ratio is driven/driver and 1 or more")
    # The shortest decimal of a double is what was written: 2.1 is 21/10, not the double beside it.
    driven, driver = _terms(text or repr(value))
    if driven < driver:
        return BadQuantity(_below_one(_shown(value), driven, driver))
    as_written = text.lstrip("+") or (str(driven) if driver == 1 else repr(value))
    return Ratio((driven, driver), as_written, driven / driver)


def _is_count(text: str) -> bool:
    return 1 <= len(text) <= 6 and text.isascii() and text.isdigit()


def _terms(decimal: str) -> tuple[int, int]:
    """What a decimal number reads as, in lowest terms."""
    digits, _, power = decimal.lower().partition("e")
    whole, _, part = digits.partition(".")
    shift = int(power or 0) - len(part)
    driven, driver = int(whole + part) * 10 ** max(shift, 0), 10 ** max(-shift, 0)
    common = gcd(driven, driver)
    return driven // common, driver // common


def _tooth_counts(driven: int, driver: int) -> Ratio | BadQuantity:
    if driven == 0 or driver == 0:
        return BadQuantity(f"{driven}/{driver} has a wheel without teeth: write counts from 1")
    if driven < driver:
        return BadQuantity(
            f"{driven}/{driver} is below 1: a ratio is driven/driver and 1 or more; "
            f"write {driver}/{driven} and set the direction"
        )
    common = gcd(driven, driver)
    return Ratio((driven // common, driver // common), f"{driven}/{driver}", driven / driver)


def _below_one(written: str, driven: int, driver: int) -> str:
    turned = str(driver) if driven == 1 else f"{driver}/{driven}"
    instead = f"write {turned}" if driver <= _LARGEST else "write its reciprocal"
    return f"{written} is below 1: a ratio is driven/driver and 1 or more; {instead} and set the direction"


def _advice(value: object, text: str, otherwise: str) -> str:
    colon = re.fullmatch(r"([0-9.]{1,13}) *: *([0-9.]{1,13})", text)
    if colon is not None:
        first, second = colon.groups()
        if second == "1":
            return f"{_shown(value)} is not how a ratio is written: write {first}"
        if first == "1":
            return f"{_shown(value)} is not how a ratio is written: write {second} and set the direction"
        return f"{_shown(value)} is not how a ratio is written: write {first}/{second}"
    if "/" in text:
        return f"{_shown(value)} is not a ratio: write two tooth counts from 1 to {_LARGEST}, as 96/16"
    if isinstance(value, str) and "not a plain number" not in otherwise:
        return otherwise
    return f"{_shown(value)} is not a ratio: write {_TAKEN}"


def _shown(value: object) -> str:
    from lineshaft.schema.quantities.quantity_advice import shown

    return shown(value)


# Typed: true and 1.0 are equal, and only one of them is a ratio.
ratio = cast("_Reading", lru_cache(maxsize=4096, typed=True)(_read))
