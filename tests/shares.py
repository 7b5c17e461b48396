"""A share of many cases for bare pytest; the others are run by a step of CI, and by `-m further`."""

from collections.abc import Sequence
from typing import Any

import pytest


def a_few(cases: Sequence[Any], count: int) -> list[Any]:
    """Cases for `pytest.mark.parametrize`, a tuple for each of several names; bare pytest runs the first ``count``."""
    rows = (case if isinstance(case, tuple) else (case,) for case in cases[count:])
    return [*cases[:count], *(pytest.param(*row, marks=pytest.mark.further) for row in rows)]
