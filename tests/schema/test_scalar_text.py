"""Texts written as YAML come back as they were, by another reader of YAML too; volumes as they are written."""

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from lineshaft.schema.quantities.quantity import litres_text, quantity
from lineshaft.schema.text.scalar_text import scalar_text


@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_any_text_comes_back(text: str) -> None:
    """PyYAML reads YAML 1.1, in which `no` and `on` are truth values: in a list and as a value of a mapping."""
    assert yaml.safe_load(f"[{scalar_text(text)}]") == [text]
    assert yaml.safe_load(f"a: {scalar_text(text)}\n") == {"a": text}


@pytest.mark.parametrize("text", ["wheel", "leg-b/stock", "main shaft", "a.b"])
def test_plain_names_stand_as_they_are(text: str) -> None:
    """Nothing is quoted that needs no quotes."""
    assert scalar_text(text) == text


def test_half_of_a_surrogate_pair_is_refused() -> None:
    """No file can hold it."""
    with pytest.raises(UnicodeError):
        scalar_text("leg\ud800")


@given(st.floats(1e-6, 1e6))
def test_a_volume_is_read_as_it_was_written(litres: float) -> None:
    """To the twelve figures that are written."""
    read = quantity(litres_text(litres), "volume")
    assert isinstance(read, float)
    assert abs(read - litres) <= 1e-11 * litres
