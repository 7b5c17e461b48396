"""A rule as a plain value: its id, level, what it checks, and perhaps what it would repair."""

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from lineshaft.check.level import Level
from lineshaft.solve.solved_rig import SolvedRig

if TYPE_CHECKING:  # a clean rig has none
    from lineshaft.check.finding import Finding, Reported
    from lineshaft.check.offer import Offer
    from lineshaft.check.waivers import JudgedWaiver

Check = Callable[[SolvedRig], "Iterable[Reported]"]
Propose = Callable[[SolvedRig, "Finding"], "Iterable[Offer]"]
Review = Callable[[SolvedRig, "Sequence[JudgedWaiver]"], "Iterable[Reported]"]


def nothing(_: SolvedRig) -> "Iterable[Reported]":
    """The check of a rule that only reviews."""
    return ()


class Rule(NamedTuple):
    """One rule. ``level`` is that of its findings unless a finding or a policy says otherwise.

    ``check`` goes from a read-only solved rig to what `report` makes; ``repairs`` from a finding to what might mend it
    (ways for the planner to search, edits of its own, why it is mended by hand), all of it proved before it is shown;
    ``review``, once all checks have run, from what became of the rig's waivers to findings on these.
    ``local`` says that what it finds on a line (parts that share power or lubricant) depends on that line alone, so
    that a repair of one line need not look at the others. ``page`` is its documentation: what, why, how to repair,
    source; left empty it is the docstring of its module, else that of its check. A rule never reads files, prints or
    exits. The id that holds is the one it is registered by; ``level_wins`` is the engine's, where a policy gave the
    level: then it wins over what a finding says; so is ``kind_levels``, where it gave one for parts of a kind.
    """

    id: str
    level: Level
    check: Check = nothing
    repairs: Propose | None = None
    local: bool = False
    review: Review | None = None
    page: str = ""
    level_wins: bool = False
    kind_levels: tuple[tuple[str, Level], ...] = ()
