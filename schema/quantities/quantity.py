"""The scalar of a quantity, as YAML gave it, to its value in the internal unit, or what is wrong with it.

A quantity is one scalar, a decimal number and a listed unit. What does not fit is data, not an exception: the
reader knows the place, this module only the words.
"""

import math
import re
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple, Protocol, cast

from lineshaft.schema.quantities.units import SPELLED, QuantityKind, factor_of

__all__ = ["BadQuantity", "QuantityKind", "efficiency", "plain_number", "quantity", "share", "weight"]

LONGEST_NUMBER = 40  # characters; a double never needs more than 24
_LONGEST_TEXT = 80  # a number, its unit and room for blanks
_NUMBER = r"[-+]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][-+]?[0-9]+)?"
# Typeset text has these between number and unit. A set with a letter beyond Latin 1 takes as long to compile as a small
# rig to read, so that none stands here.
_BLANK = "[ \N{NO-BREAK SPACE}]*(?:\N{NARROW NO-BREAK SPACE}[ \N{NO-BREAK SPACE}]*)*"
# One pattern for all that is a number, with a unit or without. What begins a unit is for the table of units to know.
_SCALAR = re.compile(rf" *({_NUMBER})(?:{_BLANK}([^\s0-9+.-].*?))? *")


class BadQuantity(NamedTuple):
    """Why a value will not do and what to write instead, in words for a person."""

    message: str


# No drivetrain comes near; products of several such values are still within what a double holds.
LEAST, MOST = 1e-90, 1e90


if TYPE_CHECKING:

    class _Reading(Protocol):
        """What :func:`quantity` is called with; the cache's own type forgets it."""

        def __call__(self, text: object, kind: QuantityKind, *, zero: bool = False) -> float | BadQuantity: ...


def _read(text: object, kind: QuantityKind, *, zero: bool = False) -> float | BadQuantity:
    """The value of a scalar in the internal unit of its kind (:data:`lineshaft.schema.quantities.units.INTERNAL_UNIT`).

    It must be finite and above 0, or from 0 with ``zero``. ``text`` is a scalar, never a list or a mapping.
    """
    if kind == "share":
        return share(text, zero=zero)
    found = _SCALAR.fullmatch(text) if isinstance(text, str) and len(text) <= _LONGEST_TEXT else None
    if found is not None and found[2] and len(found[1]) <= LONGEST_NUMBER:
        number, unit = found.groups()
        factor = SPELLED[kind].get(unit) or factor_of(unit, kind)
        if factor is not None:
            return _within(float(number) * factor, number, text, zero)
    from lineshaft.schema.quantities.quantity_advice import quantity_advice

    return BadQuantity(quantity_advice(text, kind))


def _within(value: float, number: str, written: object, zero: bool) -> float | BadQuantity:
    if LEAST < value < MOST:
        return value
    # A number too small for a double has become 0: nothing was said about zero then.
    vanished = 0.0 <= value <= LEAST and any(digit in "123456789" for digit in re.split("[eE]", number)[0])
    if zero and value == 0.0 and not vanished:
        return 0.0
    from lineshaft.schema.quantities.quantity_advice import shown

    if value >= MOST or vanished:
        return BadQuantity(f"{shown(written)} is too {'small' if vanished else 'large'} to reckon with")
    least = "0 or more" if zero else "more than 0"
    return BadQuantity(f"{shown(written)} is out of range: it must be {least}")


def plain_number(value: object) -> float | BadQuantity:
    """A finite number without a unit, also written as text."""
    number: float | None = None
    match value:
        case bool():
            pass
        case int() if abs(value) < 10**LONGEST_NUMBER:
            number = float(value)
        case float():
            number = value
        case str() if len(value) <= _LONGEST_TEXT and (found := _SCALAR.fullmatch(value)):
            number = float(found[1]) if not found[2] and len(found[1]) <= LONGEST_NUMBER else None
        case _:
            pass
    if number is not None and math.isfinite(number):
        return number
    from lineshaft.schema.quantities.quantity_advice import number_advice

    return BadQuantity(number_advice(value))


def weight(value: object) -> float | BadQuantity:
    """A plain number above 0: a share of a splitter, or what a raw good is worth."""
    number = plain_number(value)
    return number if isinstance(number, BadQuantity) else _within(number, str(number), value, False)


def share(value: object, *, zero: bool = False) -> float | BadQuantity:
    """A part of one: ``5 %`` or a plain number, above 0 (from 0 with ``zero``)."""
    if isinstance(value, str) and len(value) <= _LONGEST_TEXT:
        found = _SCALAR.fullmatch(value)
        if found is not None and found[2] == "%" and len(found[1]) <= LONGEST_NUMBER:
            return _within(float(found[1]) / 100, found[1], value, zero)
    number = plain_number(value)
    if not isinstance(number, BadQuantity):
        return _within(number, str(number), value, zero)
    from lineshaft.schema.quantities.quantity_advice import share_advice

    return BadQuantity(share_advice(value))


def efficiency(value: object) -> float | BadQuantity:
    """An efficiency: a share in (0, 1]."""
    read = share(value)
    if isinstance(read, BadQuantity) or read <= 1.0:
        return read
    from lineshaft.schema.quantities.quantity_advice import shown

    instead = f": write {shown(value)} %" if read <= 100.0 and not str(value).endswith("%") else ""
    return BadQuantity(f"an efficiency is at most 1 (100 %), not {shown(value)}{instead}")


# Typed: true, 1 and 1.0 are equal, and are answered differently.
quantity = cast("_Reading", lru_cache(maxsize=16384, typed=True)(_read))


def litres_text(litres: float) -> str:
    """A volume [L] as it is written into a file and said of it: `12.5 L`, to twelve figures."""
    return f"{litres:.12g} L"
