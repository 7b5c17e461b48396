"""Any number with any listed unit, read by us and by pint."""

from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lineshaft.schema.quantities.quantity import quantity
from lineshaft.schema.quantities.units import INTERNAL_UNIT, SPELLED, QuantityKind

_REGISTRY: Any = pint.UnitRegistry()
_UNITS = [(kind, unit) for kind, table in SPELLED.items() if kind != "share" for unit in table]
_JOINED = {
    "Nm": "N*m",
    "N m": "N*m",
    "f m": "f*m",
    "f ft": "f*ft",
    "f in": "f*in",
    "t lbf": "t*lbf",
    "n lbf": "n*lbf",
}


def _for_pint(unit: str) -> str:
    text = unit.replace("·", "*").replace("³", "**3").replace("^", "**").replace("rev/s", "revolution/s")
    for ours, theirs in _JOINED.items():
        text = text.replace(ours, theirs)
    return text


_NUMBERS = st.floats(min_value=1e-80, max_value=1e80)
_BLANKS = st.sampled_from(["", " ", "  "])


@given(number=_NUMBERS, blank=_BLANKS, chosen=st.sampled_from(_UNITS))
def test_a_quantity_agrees_with_pint(number: float, blank: str, chosen: tuple[QuantityKind, str]) -> None:
    """For every kind, spelling and prefix in the tables the value is pint's to 1e-12, relative."""
    kind, unit = chosen
    theirs = (
        _REGISTRY.Quantity(number, _for_pint(unit)).to(_REGISTRY.parse_units(INTERNAL_UNIT[kind])).magnitude
    )
    assert quantity(f"{number!r}{blank}{unit}", kind) == pytest.approx(float(theirs), rel=1e-12)


@given(text=st.text(max_size=60), kind=st.sampled_from(list(INTERNAL_UNIT)))
def test_any_text_is_a_value_or_a_message(text: str, kind: QuantityKind) -> None:
    """Whatever a scalar holds, reading it ends in a float above zero or in a short message."""
    read = quantity(text, kind)
    assert read > 0 if isinstance(read, float) else 0 < len(read.message) < 200


@given(
    text=st.text(alphabet="0123456789.eE+-*/^ _,'()Nmkradsµ·%lbft", max_size=30),
    kind=st.sampled_from(list(INTERNAL_UNIT)),
)
def test_text_near_the_grammar_is_a_value_or_a_message(text: str, kind: QuantityKind) -> None:
    """The same for texts made of the grammar's own signs, which come close to being quantities."""
    read = quantity(text, kind)
    assert read > 0 if isinstance(read, float) else 0 < len(read.message) < 200
