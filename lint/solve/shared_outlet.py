"""An outlet that drives more than it can."""

from typing import NamedTuple


class Shared(NamedTuple):
    """An outlet that drives two parts: the second one (in file order) and the first."""

    second: int
    first: int
    source: int
