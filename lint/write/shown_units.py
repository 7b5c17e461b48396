"""SI values to what a person reads: engineering prefixes, four figures, speeds in rad/s or rpm."""

import math
from typing import TYPE_CHECKING, Literal, TypeGuard

from lineshaft.check.finding import FIGURES, Measure, Text

if TYPE_CHECKING:  # a clean check has no repair
    from lineshaft.check.judged_finding import MachineChange

Units = Literal["si", "rpm"]

_MOST_FIGURES = 10
_ONE = Measure(1.0, "1")

_PREFIXED = frozenset({"N*m", "W"})
_PREFIXES = ((1e9, "G"), (1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"))
_SHOWN = {"N*m": "N·m"}
RPM = 60 / (2 * math.pi)
"""Turns a minute in one rad/s."""


def figures(value: float, most: int = FIGURES) -> str:
    """A number with up to four (``most``) significant figures, without an exponent where that stays short."""
    if value == 0:
        return "0"
    if not math.isfinite(value):
        return str(value)
    size = math.floor(math.log10(abs(value)))
    if size >= 15 or size < -6:
        return f"{value:.{most - 1}e}"
    digits = max(0, most - 1 - size)
    if most < 4:  # pictures: past the figures asked for stand zeros
        value = round(value, most - 1 - size)
    text = f"{value:,.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def as_written(value: float) -> str:
    """A number as a person writes it, for CSV: `17.4` for 17.400000000000002, `15` for 15.0; twelve figures at most."""
    return f"{value:.12g}"


def measure(shown: Measure, units: Units = "si", most: int = FIGURES) -> str:
    """A measure in words, for example `18 kN·m`, `8 rad/s`, `1.5`, `2 h 5 min`."""
    value, unit = shown.value, shown.unit
    if isinstance(value, str):
        return value
    if isinstance(value, tuple):
        return ", ".join(measure(Measure(one, unit), units, most) for one in value)
    if unit == "s":
        return duration(value)
    if unit == "rad/s" and units == "rpm":
        return f"{figures(value * RPM, most)} rpm"
    if unit in _PREFIXED:
        return prefixed(value, _SHOWN.get(unit, unit), most)
    if unit == "L" and 0 < abs(value) < 1:
        return f"{figures(value * 1000, most)} mL"
    if unit == "L/s" and abs(value) < 1:
        return f"{figures(value * 1000, most)} mL/s"
    return figures(value, most) if unit == "1" else f"{figures(value, most)} {unit}"


def axis(unit: str, units: Units = "si") -> tuple[str, float]:
    """What an axis of values with an SI unit is marked in: the unit's name, and by what values are multiplied."""
    if unit == "rad/s" and units == "rpm":
        return "rpm", RPM
    return {"1": "share"}.get(unit, _SHOWN.get(unit, unit)), 1.0


def prefixed(value: float, unit: str, most: int = FIGURES) -> str:
    """A value with the engineering prefix that leaves one to three digits before the point."""
    if value == 0:
        return f"0 {unit}"
    # 999.96 is shown as 1,000: take the prefix of what is shown.
    for factor, prefix in _PREFIXES:
        if abs(value) >= factor * (1 - 0.5 / 10**most):
            return f"{figures(value / factor, most)} {prefix}{unit}"
    return f"{figures(value, most)} {unit}"


def duration(value: float) -> str:
    """A time [s] as a person says it: `15 s`, `2 min 30 s`, `3 h 20 min`, `12 d 4 h`."""
    if not math.isfinite(value):
        return "for ever"
    if value < 120:
        return f"{figures(value)} s"
    for size, name, smaller, under in ((86400, "d", 3600, "h"), (3600, "h", 60, "min"), (60, "min", 1, "s")):
        if value >= size:
            whole = int(value // size)
            rest = round((value - whole * size) / smaller)
            if rest * smaller >= size:
                whole, rest = whole + 1, 0
            return f"{whole:,} {name}" + (f" {rest} {under}" if rest else "")
    return f"{figures(value)} s"


def words(text: Text, units: Units = "si", most: int = FIGURES) -> str:
    """A message as one line of text; measures in the units asked for. Not escaped.

    Of numbers that differ and would be shown alike more figures are shown, until they are told apart.
    """
    told = [piece if isinstance(piece, str) else measure(piece, units, most) for piece in text]
    for more in range(most + 1, _MOST_FIGURES + 1) if most == FIGURES else ():
        numbers = [(at, piece) for at, piece in enumerate(text) if _is_number(piece)]
        alike = [(at, one) for at, one in numbers if any(_differ(one, o) and told[at] == told[n] for n, o in numbers)]
        alike += [(at, one) for at, one in numbers if told[at] == "1" and _differ(one, _ONE)]
        if not alike:
            break
        for at, one in alike:
            told[at] = measure(one, units, more)
    return "".join(told)


def _is_number(piece: str | Measure) -> TypeGuard[Measure]:
    return isinstance(piece, Measure) and isinstance(piece.value, float) and piece.unit != "s"


def _differ(one: Measure, other: Measure) -> bool:
    return one.unit == other.unit and not math.isclose(one.value, other.value)  # type: ignore[arg-type]


def sentence(text: Text, units: Units = "si") -> str:
    """A message as a sentence: with a full stop, but where it ends in a question."""
    said = words(text, units)
    return said if said.endswith("?") else f"{said}."


def hourly(rate: float | None, unit: str = "") -> str:
    """A machine's units of work an hour: `60`, `60 an hour` with that as ``unit``, `stalled`, `at rest`."""
    if rate is None:
        return "at rest"
    return f"{figures(rate)}{unit}" if rate else "stalled"


def rates(change: "MachineChange") -> str:
    """A machine before and after, with units of work an hour: ``mill 30 → 60``, ``saw short → served``."""
    before, after = before_and_after(change)
    return f"{change.part} {before} → {after}"


def before_and_after(change: "MachineChange", unit: str = "") -> tuple[str, str]:
    """How a machine fares before and after: its units of work an hour where there are any, else its state in words."""
    before = change.state_before.replace("-", " ") if change.rate_before is None else hourly(change.rate_before, unit)
    after = change.state_after.replace("-", " ") if change.rate_after is None else hourly(change.rate_after, unit)
    return before, after
