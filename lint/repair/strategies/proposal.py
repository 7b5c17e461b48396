"""A repair that is priced and not proved yet; the order in which they are proved."""

import heapq
import math
from collections.abc import Iterable, Iterator
from itertools import count
from typing import NamedTuple

from lineshaft.check.finding import Edit
from lineshaft.check.rulebook import Rulebook
from lineshaft.repair.strategies.draft import Draft
from lineshaft.repair.strategies.prices import Prices, prices_of
from lineshaft.solve.solved_rig import SolvedRig

_STRUCTURAL = ("side-by-side", "break", "detour", "add", "take-out")
MOST_EQUALS = 64
"""Proposals of one worth and as many parts that are put in order before the first of them is proved."""
SLOWER = "slower"
"""The trait of slowing a machine."""
Trait = tuple[str, object]


class Proposal(NamedTuple):
    """What a repair adds in worth and parts, its title, what it changes and where (traits), and how: draft or edits.

    ``only_name``: it sets a misspelt name to the only one that it can mean.
    """

    worth: float
    added: int
    title: str
    traits: frozenset[Trait]
    how: "Draft | tuple[Edit, ...]"
    only_name: bool = False

    def edits(self) -> tuple[Edit, ...] | None:
        """The edits; none where they cannot be written."""
        return self.how.edits() if isinstance(self.how, Draft) else self.how

    @property
    def words(self) -> int:
        """How much of the file changes: settings, drivers, new and removed parts."""
        if not isinstance(self.how, Draft):
            lines = (edit.span.end.line - edit.span.start.line + edit.text.count("\n") for edit in self.how)
            return len(self.how) + sum(lines)
        draft = self.how
        return len(draft.settings) + len(draft.inlets) + 4 * len(draft.fresh) + 2 * len(draft.gone)


def varies(traits: frozenset[Trait], others: Iterable[frozenset[Trait]]) -> bool:
    """Whether a way is a variant of one that is there: it changes all that one does and more, or rebuilds alike.

    One that leaves a machine as fast as it is, where the other slows it, is no variant.
    """
    built = {trait for trait in traits if trait[0] in _STRUCTURAL}
    slower = {trait for trait in traits if trait[0] == SLOWER}
    return any(
        other <= traits or (bool(other & built) and {trait for trait in other if trait[0] == SLOWER} <= slower)
        for other in others
    )


class Pending(NamedTuple):
    """Nothing yet, and nothing to come from a stream that adds less than this in worth, then parts, then words.

    ``late``: what other streams have that adds as much goes first, however many words it changes.
    """

    worth: float
    added: int
    words: int = 0
    late: bool = False


Stream = Iterator["Proposal | Pending"]


def in_order(streams: Iterable[Stream]) -> Iterator[Proposal]:
    """Proposals of several streams, each in order, by worth and parts added; of equals the smallest change first.

    Streams take turns where they are level, so that none keeps the others waiting while it finds nothing. A stream
    that says how much it has to change at least is not asked before what changes no more.
    """
    turns = count()
    queue: list[tuple[tuple[float, int, float], int, Proposal | Pending, Stream]] = []

    def take(stream: Stream) -> None:
        found = next(stream, None)
        if found is not None:
            words = 0.0  # streams have no order by words of their own
            if isinstance(found, Pending):
                words = math.inf if found.late else found.words
            heapq.heappush(queue, ((round(found.worth, 6), found.added, words), next(turns), found, stream))

    for stream in streams:
        take(stream)
    equals: list[tuple[tuple[float, int, float], int, Proposal]] = []
    while queue:
        key, _, found, stream = heapq.heappop(queue)
        while equals and (key >= equals[0][0] or len(equals) == MOST_EQUALS):
            yield heapq.heappop(equals)[2]
        if isinstance(found, Proposal):
            heapq.heappush(equals, ((key[0], key[1], found.words), next(turns), found))
        take(stream)
    while equals:
        yield heapq.heappop(equals)[2]


class StrategyContext(NamedTuple):
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


def strategy_context_of(rig: SolvedRig, book: Rulebook, *, used: bool = False) -> StrategyContext:
    """What proposals are made from, for a rig, or for a blueprint that others use or do not."""
    return StrategyContext(rig, book, rig.once(_prices), used)


def _prices(rig: SolvedRig) -> Prices:
    return prices_of(rig.parts, rig.catalogue)
