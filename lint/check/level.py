"""How grave a finding is."""

from typing import Final, Literal, get_args

Level = Literal["error", "warning", "note"]
LEVELS: Final = get_args(Level)
"""The levels, the gravest first."""


def gravity(level: str) -> int:
    """A number that rises with the gravity of a level: of a note 0."""
    return len(LEVELS) - 1 - int(LEVELS.index(level))
