"""The units that a quantity may be written in: for each kind a list, and the factor to the unit used inside.

Conversion factors are the exact definitions of the pound-force, inch, foot, kilogram-force and SI prefixes
(ISO 80000-1; the international yard and pound of 1959). A test compares each with pint.
"""

import math
import re
from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Any, Literal, NamedTuple

QuantityKind = Literal[
    "torque", "speed", "power", "volume", "flow", "time", "length", "stress", "density", "share"
]

INTERNAL_UNIT: Mapping[QuantityKind, str] = {
    "torque": "N*m",
    "speed": "rad/s",
    "power": "W",
    "volume": "L",
    "flow": "L/s",
    "time": "s",
    "length": "m",
    "stress": "Pa",
    "density": "kg/m^3",
    "share": "1",
}


class Unit(NamedTuple):
    """A listed unit: as written, its factor to the internal unit, its name in pint, its other spellings."""

    symbol: str
    factor: float
    pint_name: str
    prefixed: bool = False
    also: tuple[str, ...] = ()


_FOOT = 0.3048  # m
_INCH = 0.0254  # m
_POUND_FORCE = 4.4482216152605  # N
_KILOGRAM_FORCE = 9.80665  # N

LISTED: Mapping[QuantityKind, tuple[Unit, ...]] = {
    "torque": (
        Unit("N*m", 1.0, "newton * meter", prefixed=True, also=("Nm",)),
        Unit("lbf*ft", _POUND_FORCE * _FOOT, "force_pound * foot", also=("ft*lbf",)),
        Unit("lbf*in", _POUND_FORCE * _INCH, "force_pound * inch", also=("in*lbf",)),
        Unit("kgf*m", _KILOGRAM_FORCE, "force_kilogram * meter"),
    ),
    "speed": (
        Unit("rad/s", 1.0, "radian / second", prefixed=True),
        Unit("rpm", 2 * math.pi / 60, "revolution / minute"),
        Unit("rev/s", 2 * math.pi, "revolution / second"),
    ),
    "power": (
        Unit("W", 1.0, "watt", prefixed=True),
        Unit("hp", 550 * _FOOT * _POUND_FORCE, "550 * foot * force_pound / second"),
    ),
    "volume": (
        Unit("L", 1.0, "liter", prefixed=True),
        Unit("m^3", 1000.0, "meter ** 3"),
    ),
    "flow": (
        Unit("L/s", 1.0, "liter / second", prefixed=True),
        Unit("L/h", 1 / 3600, "liter / hour", prefixed=True),
        Unit("m^3/s", 1000.0, "meter ** 3 / second"),
    ),
    "time": (
        Unit("s", 1.0, "second", prefixed=True),
        Unit("min", 60.0, "minute"),
        Unit("h", 3600.0, "hour"),
    ),
    "length": (
        Unit("m", 1.0, "meter", prefixed=True),
        Unit("in", _INCH, "inch"),
        Unit("ft", _FOOT, "foot"),
    ),
    "stress": (
        Unit("Pa", 1.0, "pascal", prefixed=True),
        Unit("psi", _POUND_FORCE / _INCH**2, "force_pound / inch ** 2"),
    ),
    "density": (Unit("kg/m^3", 1.0, "kilogram / meter ** 3"),),
    "share": (Unit("%", 0.01, "percent"),),
}

_COMMON_PREFIXES = {"": 1.0, "µ": 1e-6, "m": 1e-3, "c": 1e-2, "k": 1e3, "M": 1e6, "G": 1e9}
_MICRO_SIGNS = ("u", "\N{GREEK SMALL LETTER MU}")  # both stand for the micro sign

# Rare enough to leave to pint; its names for them, so that it never has to guess where a prefix ends.
RARE_PREFIXES: Mapping[str, str] = {
    "da": "deca",
    "h": "hecto",
    "d": "deci",
    "n": "nano",
    "p": "pico",
    "f": "femto",
    "a": "atto",
    "T": "tera",
    "P": "peta",
    "E": "exa",
}


def _prefixes(unit: Unit) -> Mapping[str, float]:
    return _COMMON_PREFIXES if unit.prefixed else {"": 1.0}


def spellings(unit: Unit) -> Iterator[str]:
    """Every way to write a unit without its prefix, the usual one first."""
    for text in (unit.symbol, *unit.also):
        yield text
        if "*" in text:
            yield text.replace("*", "·")
            yield text.replace("*", " ")
        if "^3" in text:
            yield text.replace("^3", "³")


def _spelled(units: tuple[Unit, ...]) -> dict[str, float]:
    return {
        prefix + text: scale * unit.factor
        for unit in units
        for text in spellings(unit)
        for prefix, scale in _prefixes(unit).items()
    }


FACTORS: Mapping[QuantityKind, Mapping[str, float]] = {
    kind: {p + unit.symbol: scale * unit.factor for unit in units for p, scale in _prefixes(unit).items()}
    for kind, units in LISTED.items()
}
"""For each kind, unit text in its usual spelling -> factor to the internal unit."""

SPELLED: Mapping[QuantityKind, Mapping[str, float]] = {k: _spelled(units) for k, units in LISTED.items()}
"""The same with the other spellings: what a file's text is looked up in first."""

_PRODUCT = r" *[*·⋅] *| +"  # middle dot, dot operator; compiled where a unit is not spelled as usual


def usual_spelling(unit: str) -> str:
    """The unit with each product written ``*`` and the micro sign for its look-alikes; nothing is checked."""
    text = re.sub(_PRODUCT, "*", unit)
    return "µ" + text[1:] if text.startswith(_MICRO_SIGNS) else text


def _pint_text(unit: str, kind: QuantityKind) -> str | None:
    # Made of our own words alone: what stands in the file only chooses among them.
    for prefix, name in RARE_PREFIXES.items():
        rest = unit.removeprefix(prefix)
        if rest == unit:
            continue
        for listed in LISTED[kind]:
            if listed.prefixed and rest in spellings(listed):
                return name + listed.pint_name
    return None


def is_listed(unit: str, kind: QuantityKind) -> bool:
    """Whether the text is a unit of that kind, in any spelling and with any prefix."""
    text = usual_spelling(unit)
    return text in SPELLED[kind] or _pint_text(text, kind) is not None


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint  # a quarter of a second: only for a file that needs it

    return pint.UnitRegistry()


@lru_cache(maxsize=256)
def _factor_by_pint(pint_text: str, kind: QuantityKind) -> float:
    listed = next(unit for unit in LISTED[kind] if unit.symbol == INTERNAL_UNIT[kind])
    return float(_registry().Quantity(1.0, pint_text).to(listed.pint_name).magnitude)


def factor_of(unit: str, kind: QuantityKind) -> float | None:
    """The factor from a unit as written to the internal one; none where it is not listed for the kind."""
    text = usual_spelling(unit)
    factor = SPELLED[kind].get(text)
    if factor is not None:
        return factor
    rare = _pint_text(text, kind)
    return None if rare is None else _factor_by_pint(rare, kind)
