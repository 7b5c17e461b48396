"""What to say about a scalar that is no quantity of the kind due, and what to write instead.

Loaded when a file has such a scalar. Nothing here accepts anything; text from the file is cut short, and made
harmless for its output by whoever writes it.
"""

import math
import re
from collections.abc import Mapping

from lineshaft.schema.quantities.units import FACTORS, LISTED, QuantityKind, is_listed, spellings

_SHOWN = 40  # characters of a file's text in a message
_LOOKED_AT = 200

_OFFERED: Mapping[QuantityKind, tuple[str, ...]] = {
    "torque": ("N*m", "kN*m", "lbf*ft"),
    "speed": ("rad/s", "rpm", "rev/s"),
    "power": ("W", "kW", "hp"),
    "volume": ("L", "mL", "m^3"),
    "flow": ("L/s", "mL/s", "L/h", "m^3/s"),
    "time": ("s", "min", "h"),
    "length": ("m", "mm", "in", "ft"),
    "stress": ("MPa", "Pa", "psi"),
    "density": ("kg/m^3",),
    "share": ("%",),
}

# Units of the trade that are not listed because they mislead, with the listed ones of the same size.
_INSTEAD: Mapping[QuantityKind, Mapping[str, tuple[str, ...]]] = {
    "torque": {
        "lb*ft": ("lbf*ft",),
        "ft*lb": ("lbf*ft",),
        "lb*in": ("lbf*in",),
        "in*lb": ("lbf*in",),
        "kg*m": ("kgf*m",),
    },
    "speed": {
        "rev/min": ("rpm",),
        "r/min": ("rpm",),
        "1/min": ("rpm",),
        "rps": ("rev/s",),
    },
    "power": {"N*m/s": ("W",), "J/s": ("W",)},
    "volume": {
        "litre": ("L",),
        "liter": ("L",),
        "litres": ("L",),
        "liters": ("L",),
        "cm^3": ("mL",),
        "dm^3": ("L",),
    },
    "flow": {},
    "time": {
        "sec": ("s",),
        "second": ("s",),
        "seconds": ("s",),
        "minute": ("min",),
        "minutes": ("min",),
        "hr": ("h",),
        "hour": ("h",),
        "hours": ("h",),
    },
    "length": {"inch": ("in",), "foot": ("ft",), "feet": ("ft",), "metre": ("m",), "meter": ("m",)},
    "stress": {"N/mm^2": ("MPa",), "N/m^2": ("Pa",)},
    "density": {"g/L": ("kg/m^3",)},
    "share": {},
}

_LEADING_NUMBER = re.compile(r"\s*([-+]?[0-9.]+(?:[eE][-+]?[0-9]+)?)(.*)", re.DOTALL)
_NOT_FINITE = re.compile(r"\s*[-+]?\.?(inf|infinity|nan)\b", re.IGNORECASE)
_SEPARATED = re.compile(r"[0-9][ '_\u00a0\u2009\u202f]+[0-9](?!/)")
_EXPRESSION = re.compile(r"\s*(?:[-+*/^()=]|[0-9](?!/))")
_LOOSE = re.compile(r"[-*·⋅.^_\s]")
_PREFIXED_ENERGY = re.compile(r"([µmckMG]?)J")
_PREFIXED_HERTZ = re.compile(r"([µmckMG]?)Hz|1/s|s\^-1")


def shown(value: object) -> str:
    """A value as a message may show it: as written, at most 40 characters, the rest an ellipsis."""
    match value:
        case None:
            return "nothing"
        case bool():
            return "true" if value else "false"
        case str():
            text = value[:_LOOKED_AT].strip()
        case int():
            # str() of a longer whole number is refused by the interpreter.
            text = str(value) if abs(value) < 10**_LOOKED_AT else "a number of more than 200 digits"
        case float():
            text = str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
        case list():
            return "a list"
        case _:
            return "a mapping"
    return text if len(text) <= _SHOWN else text[: _SHOWN - 1] + "…"


def _listing(texts: tuple[str, ...]) -> str:
    return texts[0] if len(texts) == 1 else f"{', '.join(texts[:-1])} or {texts[-1]}"


def _with_units(number: str, units: tuple[str, ...]) -> str:
    return "write " + _listing(tuple(f"{number} {unit}" for unit in units))


def _for_instance(kind: QuantityKind) -> str:
    return f"write a {kind} as a number and a unit: {_listing(_OFFERED[kind])}"


def _bad_number(text: str) -> str | None:
    """What is wrong with the number that a text starts with; none where it is a number as such."""
    cut = text[:_LOOKED_AT]
    if any(letter.isdigit() and letter not in "0123456789²³" for letter in cut):
        return f"{shown(text)} has other digits than 0 to 9: write those"
    if _NOT_FINITE.match(cut):
        return f"{shown(text)} is not a finite number"
    if re.search("[0-9],[0-9]", cut):
        return f"{shown(text)} has a comma: write a point, not a comma, and no thousands separators"
    if _SEPARATED.search(cut):
        return f"{shown(text)} has a separator between digits: write the digits of a number together"
    found = _LEADING_NUMBER.match(cut)
    if found is None:
        return None
    number, rest = found.groups()
    if len(number) > _SHOWN:
        return f"{shown(number)} has more than {_SHOWN} characters: write a shorter number"
    if number.count(".") > 1 or not re.search("[0-9]", number):
        return f"{shown(text)} does not start with a decimal number"
    if _EXPRESSION.match(rest) or re.search(r"[(){}\[\]]", rest):
        return f"{shown(text)} is not one number and a unit: write the result, not the calculation"
    return None


def number_advice(value: object) -> str:
    """What to write where a plain number is due."""
    if isinstance(value, str):
        wrong = _bad_number(value)
        if wrong is not None:
            return wrong
    if isinstance(value, float) and not math.isfinite(value):
        return f"{shown(value)} is not a finite number"
    if isinstance(value, int) and not isinstance(value, bool):
        return f"{shown(value)} has more than {_SHOWN} characters: write a shorter number"
    if isinstance(value, str) and re.fullmatch(r"\s*[-+]?[0-9.]+[eE]\+?[0-9]+\s*", value[:_LOOKED_AT]):
        return f"{shown(value)} is too large to reckon with"
    return f"{shown(value)} is not a plain number: write digits, with a point where needed, and no unit"


def share_advice(value: object) -> str:
    """What to write where a share is due."""
    advice = number_advice(value)
    if "not a plain number" in advice:
        return f"{shown(value)} is not a share: write a percentage such as 5 %, or a plain number"
    return advice


def quantity_advice(value: object, kind: QuantityKind) -> str:
    """What to write where a quantity of that kind is due: the units it could be, or the right one."""
    if isinstance(value, float) and not math.isfinite(value):
        return f"{shown(value)} is not a finite number"
    if isinstance(value, int | float) and not isinstance(value, bool):
        if abs(value) >= 10**_SHOWN and isinstance(value, int):
            return number_advice(value)
        number = shown(value)
        return f"{number} has no unit: {_with_units(number, _OFFERED[kind])}"
    if value is None:
        return f"nothing stands here: {_for_instance(kind)}"
    if not isinstance(value, str):
        return f"{shown(value)} is not a {kind}: {_for_instance(kind)}"
    return _text_advice(value, kind)


def _text_advice(text: str, kind: QuantityKind) -> str:
    wrong = _bad_number(text)
    if wrong is not None:
        return wrong
    found = _LEADING_NUMBER.fullmatch(text[:_LOOKED_AT])
    if found is None:
        is_unit = any(is_listed(text.strip()[:_SHOWN], any_kind) for any_kind in LISTED)
        missing = "has no number" if is_unit else f"is not a {kind}"
        return f"{shown(text) or 'an empty text'} {missing}: {_for_instance(kind)}"
    number, unit = found[1], found[2].strip()
    if not unit:
        return f"{shown(number)} has no unit: {_with_units(number, _OFFERED[kind])}"
    return _unit_advice(number, unit[:_SHOWN], shown(text), kind)


def _unit_advice(number: str, unit: str, written: str, kind: QuantityKind) -> str:
    energy = _PREFIXED_ENERGY.fullmatch(unit)
    if kind == "torque" and energy:
        return f"{written} is an energy, not a torque: {_with_units(number, (f'{energy[1]}N*m',))}"
    hertz = _PREFIXED_HERTZ.fullmatch(unit)
    if kind == "speed" and hertz:
        units = (f"{hertz[1]}rad/s",) if hertz[1] else ("rev/s", "rad/s")
        whole = f"{_with_units(number, units)}" + (", or the turns in rev/s" if hertz[1] else "")
        return f"{written} does not say whether it counts turns or radians: {whole}"
    instead = next((u for text, u in _INSTEAD[kind].items() if _bare(text) == _bare(unit)), None)
    if instead:
        return f"{unit} is not taken as a unit of {kind}: {_with_units(number, instead)}"
    alike = _alike(unit, kind)
    if unit in alike:
        return f"{written} has blanks that do not belong there: {_with_units(number, (unit,))}"
    if alike:
        return f"{unit} is not how a unit of {kind} is written: {_with_units(number, alike)}"
    other = next((k for k in LISTED if k != kind and is_listed(unit, k)), None)
    if other is not None:
        return f"{written} is a {other}, and a {kind} is due: write it in {_listing(_OFFERED[kind])}"
    return f"{shown(unit)} is no unit of {kind}: write it in {_listing(_OFFERED[kind])}"


def _bare(unit: str) -> str:
    return _LOOSE.sub("", unit)


def _alike(unit: str, kind: QuantityKind) -> tuple[str, ...]:
    """Units of the kind that differ from the text by case, dots, dashes and blanks alone."""
    bare = _bare(unit).casefold()
    usual = (text for text in FACTORS[kind] if _bare(text).casefold() == bare)
    turned = (u.symbol for u in LISTED[kind] for text in spellings(u) if _bare(text).casefold() == bare)
    return tuple(dict.fromkeys((*usual, *turned)))
