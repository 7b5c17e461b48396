"""A rule as a plain value: its id, level, what it checks, and perhaps what it would repair."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from lineshaft.judge.finding import Finding, Level, Offer
from lineshaft.judge.waivers import JudgedWaiver
from lineshaft.solve.solved_rig import SolvedRig

Check = Callable[[SolvedRig], Iterable[Finding]]
Propose = Callable[[SolvedRig, Finding], Iterable[Offer]]
Review = Callable[[SolvedRig, Sequence[JudgedWaiver]], Iterable[Finding]]


def nothing(_: SolvedRig) -> Iterable[Finding]:
    """The check of a rule that only reviews."""
    return ()


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule. ``level`` is that of its findings unless a finding or a policy says otherwise.

    ``check`` goes from a read-only solved rig to findings; ``repairs`` from one of them to what might mend it
    (ways for the planner to search, edits of its own, why it is mended by hand), all of it proved before it is shown;
    ``review``, once all checks have run, from what became of the rig's waivers to findings on these.
    ``local`` says that what it finds on a line (parts that share power or lubricant) depends on that line alone, so
    that a repair of one line need not look at the others. A rule never reads files, prints or exits. The docstring of
    its module is its page in the manual.
    """

    id: str
    level: Level
    check: Check = nothing
    repairs: Propose | None = None
    local: bool = False
    review: Review | None = None

    @property
    def home(self) -> dict[str, Any]:
        """The names of the module that the rule is written in."""
        return (self.review or self.check).__globals__

    @property
    def page(self) -> str:
        """The rule's documentation: what, why, how to repair, source."""
        return str(self.home.get("__doc__") or "")
