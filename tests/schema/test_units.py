"""The table of units against pint and against published conversion factors."""

import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from typing import Any

import pint
import pytest

from lineshaft.schema.quantities.units import (
    FACTORS,
    INTERNAL_UNIT,
    LISTED,
    RARE_PREFIXES,
    SPELLED,
    QuantityKind,
    factor_of,
    is_listed,
    usual_spelling,
)

_REGISTRY: Any = pint.UnitRegistry()
_PINT_WRITES = {"rev/s": "revolution/second", "L/h": "liter/hour", "%": "percent", "1": "dimensionless"}


def _every_factor() -> Iterator[tuple[QuantityKind, str, float]]:
    for kind, table in FACTORS.items():
        for unit, factor in table.items():
            yield kind, unit, factor


def _by_pint(unit: str, kind: QuantityKind) -> float:
    source = unit
    for ours, theirs in _PINT_WRITES.items():
        source = source[: -len(ours)] + theirs if source.endswith(ours) else source
    inner = _PINT_WRITES.get(INTERNAL_UNIT[kind], INTERNAL_UNIT[kind])
    return float(_REGISTRY.Quantity(1.0, source).to(inner).magnitude)


@pytest.mark.parametrize(("kind", "unit", "factor"), list(_every_factor()), ids=str)
def test_every_factor_agrees_with_pint(kind: QuantityKind, unit: str, factor: float) -> None:
    """Each factor of the table is pint's, to a few roundings of a double."""
    assert factor == pytest.approx(_by_pint(unit, kind), rel=1e-14)


@pytest.mark.parametrize(
    ("kind", "unit", "published"),
    [
        ("torque", "lbf*ft", 1.355818),
        ("torque", "lbf*in", 0.1129848),
        ("torque", "kgf*m", 9.80665),
        ("power", "hp", 745.6999),
        ("stress", "psi", 6894.757),
        ("speed", "rpm", 0.1047198),
        ("speed", "rev/s", 6.283185),
        ("length", "ft", 0.3048),
        ("length", "in", 0.0254),
        ("flow", "L/h", 2.777778e-4),
    ],
)
def test_published_factors(kind: QuantityKind, unit: str, published: float) -> None:
    """Factors are those of NIST Special Publication 811, appendix B (from memory, seven digits)."""
    assert FACTORS[kind][unit] == pytest.approx(published, rel=1e-6)


@pytest.mark.parametrize("kind", LISTED)
def test_internal_unit_has_factor_one(kind: QuantityKind) -> None:
    """The internal unit of each kind is listed with factor 1; a share has none to write."""
    assert kind == "share" or FACTORS[kind][INTERNAL_UNIT[kind]] == 1.0


def test_no_text_is_a_unit_of_two_kinds() -> None:
    """A unit says its kind: no text stands in two tables."""
    counted = Counter(unit for table in SPELLED.values() for unit in table)
    assert [unit for unit, times in counted.items() if times > 1] == []


@pytest.mark.parametrize(
    "unit",
    ["kN*m", "kN·m", "kN m", "kNm", "kN * m", "kN ⋅ m", "kN⋅m"],
)
def test_spellings_of_a_torque(unit: str) -> None:
    """Star, middle dot, dot operator, blank and nothing all join newton and metre."""
    assert factor_of(unit, "torque") == 1000.0


@pytest.mark.parametrize("unit", ["lbf*ft", "lbf·ft", "lbf ft", "ft*lbf", "ft·lbf", "ft lbf"])
def test_spellings_of_a_pound_foot(unit: str) -> None:
    """The pound-force foot may be written either way round: 4.4482216152605 N x 0.3048 m."""
    assert factor_of(unit, "torque") == pytest.approx(1.3558179483314004, rel=1e-15)


@pytest.mark.parametrize("micro", ["µ", "\N{GREEK SMALL LETTER MU}", "u"])
def test_three_micro_signs(micro: str) -> None:
    """The micro sign, the Greek letter and u are one prefix, 1e-6."""
    assert factor_of(f"{micro}m", "length") == 1e-6
    assert usual_spelling(f"{micro}m") == "µm"


@pytest.mark.parametrize("unit", ["m³", "m^3"])
def test_two_ways_to_write_a_cube(unit: str) -> None:
    """A cubic metre is 1000 L, its exponent raised or after a caret."""
    assert factor_of(unit, "volume") == 1000.0


@pytest.mark.parametrize(
    ("prefix", "power"),
    [
        ("da", 1),
        ("h", 2),
        ("d", -1),
        ("n", -9),
        ("p", -12),
        ("f", -15),
        ("a", -18),
        ("T", 12),
        ("P", 15),
        ("E", 18),
    ],
)
def test_rare_prefixes_go_through_pint(prefix: str, power: int) -> None:
    """Prefixes outside the table are SI powers of ten (SI brochure, table 7), on units of two words too."""
    assert factor_of(f"{prefix}N·m", "torque") == pytest.approx(10.0**power, rel=1e-14)
    assert factor_of(f"{prefix}L/s", "flow") == pytest.approx(10.0**power, rel=1e-14)


def test_every_rare_prefix_is_tested_by_hand() -> None:
    """The list above names every prefix that is left to pint."""
    assert set(RARE_PREFIXES) == {"da", "h", "d", "n", "p", "f", "a", "T", "P", "E"}


@pytest.mark.parametrize(
    ("unit", "kind"),
    [
        ("J", "torque"),
        ("Hz", "speed"),
        ("khp", "power"),
        ("krpm", "speed"),
        ("min", "length"),
        ("dah", "time"),
        ("hN", "torque"),
        ("kkN*m", "torque"),
        ("dakN*m", "torque"),
        ("daNewton*m", "torque"),
        ("N*m**2", "torque"),
        ("__import__", "torque"),
        ("", "torque"),
    ],
)
def test_what_is_not_listed_has_no_factor(unit: str, kind: QuantityKind) -> None:
    """No unit is guessed at: wrong kinds, prefixes on units that take none, two prefixes, names, code."""
    assert factor_of(unit, kind) is None
    assert not is_listed(unit, kind)


def test_pint_is_loaded_for_a_rare_unit_only() -> None:
    """Neither a listed unit nor a bad one loads pint; a rare prefix does."""
    code = (
        "import sys; from lineshaft.schema.quantities.quantity import quantity as q;"
        "q('3 kN*m', 'torque'); q('3 J', 'torque'); q('9**9**9 N*m', 'torque');"
        "before = 'pint' in sys.modules; q('3 daN*m', 'torque'); print(before, 'pint' in sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.split() == ["False", "True"]
