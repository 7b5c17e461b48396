"""Counted effort: searches stop at a number of steps, never at a time, so that equal files get equal answers."""

from dataclasses import dataclass
from typing import Literal

STEPS_A_LINE = 100
"""What it takes to make a line ready for a search, in steps of it."""
Outcome = Literal["none", "no-further", "none-within-bound", "no-further-within-bound"]
"""How a search ended: there is none; there is no further one; none, or no further one, was found within the bound."""


@dataclass(slots=True, eq=False, repr=False)
class Effort:
    """How many steps may still be taken; ``spent_up`` once they did not do. Shared by the searches for one finding."""

    left: int
    spent_up: bool = False

    def spend(self, steps: int = 1) -> bool:
        """Take steps from what is left; false where there are not so many."""
        self.left -= steps
        if self.left < 0:
            self.left, self.spent_up = 0, True
            return False
        return True

    def lend(self, most: int) -> "Effort":
        """Effort for a search within this one: so many steps at most, of those that are left."""
        return Effort(max(0, min(self.left, most)))

    def take_back(self, lent: "Effort", most: int) -> None:
        """Count what a search took of the ``most`` steps lent to it; where those did not do, neither do these."""
        self.left -= max(0, min(self.left, most)) - lent.left
        self.spent_up = self.spent_up or lent.spent_up
