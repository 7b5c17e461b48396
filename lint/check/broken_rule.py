"""A rule that is there and does not run."""

from typing import NamedTuple


class BrokenRule(NamedTuple):
    """A rule that does not run, and why in one line."""

    id: str
    reason: str
