"""A repair that is priced and not proved yet; the order in which they are proved."""

import heapq
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import NamedTuple

from lineshaft.judge.finding import Edit
from lineshaft.judge.rulebook import Rulebook
from lineshaft.repair.draft import Draft
from lineshaft.repair.prices import Prices, prices_of
from lineshaft.solve.solved_rig import SolvedRig

_STRUCTURAL = ("side-by-side", "break", "detour", "add", "take-out")
_PLAIN: tuple[set[str], ...] = (
    {"grade"},
    {"order"},
    {"direction"},
    {"break"},
    {"break", "grade"},
    {"share"},
    {"list"},
    {"fill"},
    {"set"},
    {"connect"},
    {"promise"},
)
Trait = tuple[str, object]


class Proposal(NamedTuple):
    """What a repair adds in worth and parts, its title, what it changes and where (traits), and how: draft or edits."""

    worth: float
    added: int
    title: str
    traits: frozenset[Trait]
    how: "Draft | tuple[Edit, ...]"

    def edits(self) -> tuple[Edit, ...] | None:
        """The edits; none where they cannot be written."""
        return self.how.edits() if isinstance(self.how, Draft) else self.how

    @property
    def plain(self) -> bool:
        """Whether it is one of the ways that a person chooses between, even where another costs no more."""
        kinds = {kind for kind, _ in self.traits}
        return kinds in _PLAIN or ("side-by-side" in kinds and not kinds & {"share", "detour"})

    @property
    def words(self) -> int:
        """How much of the file changes: settings, drivers, new and removed parts."""
        if not isinstance(self.how, Draft):
            return len(self.how)
        draft = self.how
        return len(draft.settings) + len(draft.inlets) + 4 * len(draft.fresh) + 2 * len(draft.gone)


def varies(traits: frozenset[Trait], others: Iterable[frozenset[Trait]]) -> bool:
    """Whether a way is a variant of one that is there: it changes all that one does and more, or rebuilds alike."""
    built = {trait for trait in traits if trait[0] in _STRUCTURAL}
    return any(other <= traits or bool(other & built) for other in others)


def in_order(streams: Iterable[Iterator[Proposal]]) -> Iterator[Proposal]:
    """Proposals of several streams, each in order, by worth and parts added; of equals the smallest change first."""
    merged = heapq.merge(*streams, key=lambda p: (p.worth, p.added))
    for _, equals in groupby(merged, key=lambda p: (round(p.worth, 9), p.added)):
        yield from _smallest_first(equals)


def _smallest_first(equals: Iterator[Proposal], at_once: int = 64) -> Iterator[Proposal]:
    """A stretch of equals at a time: there may be very many of them."""
    waiting: list[Proposal] = []
    for proposal in equals:
        waiting.append(proposal)
        if len(waiting) == at_once:
            yield from sorted(waiting, key=lambda p: (p.words, p.title))
            waiting = []
    yield from sorted(waiting, key=lambda p: (p.words, p.title))


@dataclass(frozen=True, slots=True)
class Ground:
    """What proposals are made from: the rig, the rules that will judge them, and prices.

    ``used``: of a blueprint, whether rigs will say what else it may hand on.
    """

    rig: SolvedRig
    book: Rulebook
    prices: Prices
    used: bool = False

    def judged(self, rule: str) -> bool:
        """Whether a rule is on, so that what breaks it need not be proved."""
        return self.book.rule(rule) is not None


def ground_of(rig: SolvedRig, book: Rulebook, *, used: bool = False) -> Ground:
    """The ground for a rig, or for a blueprint that others use or do not."""
    return Ground(rig, book, prices_of(rig.parts, rig.catalogue), used)
