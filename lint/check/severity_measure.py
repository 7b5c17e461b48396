"""How bad a finding is, as numbers with names, so that better and worse can be told: of two days, before and after.

The numbers are found by the names of a finding's values, whatever its rule: one that says it at once, or two that are
compared. A rule without such values finds what is there or is not. Whoever asks whether something is worse asks here:
repairs, impact, snags, uses of a blueprint, waivers.
"""

from collections.abc import Sequence
from math import inf, isfinite
from typing import NamedTuple

from lineshaft.check.finding import Finding, value_of
from lineshaft.check.level import gravity
from lineshaft.solve.limits import EQUAL

TOLERANCE = 0.01
"""The relative change that does not count yet."""
_AT_ONCE = ("runs_dry_after", "ratio_needed", "ratio_available", "parts", "worth")
_LACKING = ("torque", "speed", "power")
_QUANTITIES = {"N*m": "torque", "rad/s": "speed"}
_LESS_IS_WORSE = frozenset({"runs_dry_after", "margin", "torque_margin", "speed_margin"})


class SeverityMeasure(NamedTuple):
    """The name of what is measured, and its value: 0 or more. A shortage of torque is not one of speed."""

    of: str
    value: float


def severity_measure(finding: Finding) -> SeverityMeasure | None:
    """How bad a finding is, as one finite number; none where its values do not say."""
    return next((found for found in severity_measures(finding) if isfinite(found.value)), None)


def severity_measures(finding: Finding) -> Sequence[SeverityMeasure]:
    """All that says how bad a finding is, the worst first: a machine may be short of torque and of speed."""
    bounded = against_limit(finding)
    return (
        ((bounded,) if bounded is not None else ())
        or _at_once(finding)
        or _times_needed(finding)
        or _times_wanted(finding)
        or _deviation(finding)
        or _amount(finding)
    )


def against_limit(finding: Finding) -> SeverityMeasure | None:
    """Times the limit, or the margin below it; whether of torque or of speed the limit's unit says."""
    unit = next((measure.unit for name, measure in finding.values if name == "limit"), "")
    of = f"{_QUANTITIES[unit]}_" if unit in _QUANTITIES else ""
    times, margin = value_of(finding, "times_limit"), value_of(finding, "margin")
    if times is not None:
        return SeverityMeasure(f"times_{of}limit", times)
    return None if margin is None else SeverityMeasure(f"{of}margin", margin)


def _at_once(finding: Finding, names: Sequence[str] = _AT_ONCE) -> list[SeverityMeasure]:
    known = ((name, value_of(finding, name)) for name in names)
    return [SeverityMeasure(name, value) for name, value in known if value is not None]


def _times_needed(finding: Finding) -> list[SeverityMeasure]:
    """How many times what arrives is needed, or how many times what was promised arrives: the worst of them."""
    quotients = [
        *((f"times_{name}_needed", _quotient(finding, f"{name}_needed", name)) for name in _LACKING),
        *((f"times_{name}_promised", _quotient(finding, name, f"{name}_up_to")) for name in _LACKING),
    ]
    known = [SeverityMeasure(of, value) for of, value in quotients if value is not None]
    return sorted(known, key=lambda found: -found.value)


def _times_wanted(finding: Finding) -> list[SeverityMeasure]:
    value = _quotient(finding, "time", "time_wanted")
    return [] if value is None else [SeverityMeasure("times_wanted", value)]


def _quotient(finding: Finding, over: str, under: str) -> float | None:
    above, below = value_of(finding, over), value_of(finding, under)
    if above is None or below is None or below < 0 or above <= 0:
        return None
    return above / below if below > 0 else inf


def _deviation(finding: Finding) -> list[SeverityMeasure]:
    """How far readings are off, relative to the larger of what was read and what was computed."""
    pairs = [(value_of(finding, name), value_of(finding, f"{name}_read")) for name in _LACKING]
    found = [abs(a - b) / max(a, b) for a, b in pairs if a is not None and b is not None and max(a, b) > 0]
    return [SeverityMeasure("deviation", max(found))] if found else []


def _amount(finding: Finding) -> list[SeverityMeasure]:
    """What is too much, or lost."""
    return _at_once(finding, ("charge", "power"))[:1]


def has_grown_worse(was: Finding, now: Finding) -> bool:
    """Whether one finding, before and after a change, is of a graver level or worse by any of its measures.

    What it was not measured by before is held against the worst that it was: a machine that was short of torque and is
    short of speed now, but by less, is no worse.
    """
    if gravity(now.level) > gravity(was.level):
        return True
    before = severity_measures(was)
    known = dict(before)
    return any(
        worse(found, found.of, known.get(found.of, before[0].value), tolerance=0)
        for found in severity_measures(now)
        if before and (found.of in _LESS_IS_WORSE) == (before[0].of in _LESS_IS_WORSE)
    )


def worse(
    now: SeverityMeasure | None, of: str | None, value: float | None, tolerance: float = TOLERANCE
) -> bool:
    """Whether something is worse than was recorded, by more than the tolerance; what cannot be compared is."""
    if now is None:
        return False
    if value is None or now.of != of:
        return True
    if of in _LESS_IS_WORSE:
        return now.value < value * (1 - tolerance) * (1 - EQUAL)
    return now.value > value * (1 + tolerance) * (1 + EQUAL)


def better(now: SeverityMeasure | None, of: str | None, value: float | None) -> bool:
    """Whether something is better than was recorded, by more than the tolerance."""
    if now is None or value is None or now.of != of:
        return now is None and value is not None
    if of in _LESS_IS_WORSE:
        return now.value > value * (1 + TOLERANCE) * (1 + EQUAL)
    return now.value < value * (1 - TOLERANCE) * (1 - EQUAL)


def rank(measured: SeverityMeasure | None) -> float:
    """A number that rises with severity measure, among findings that measure the same."""
    if measured is None:
        return 0.0
    return -measured.value if measured.of in _LESS_IS_WORSE else measured.value
