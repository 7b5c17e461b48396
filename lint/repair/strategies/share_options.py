"""Options of the outlets of a splitter: intervals of torque, what they add, and the whole shares that meet them."""

import heapq
import math
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple, Protocol

from lineshaft.repair.strategies.draft import Draft
from lineshaft.repair.strategies.proposal import Trait
from lineshaft.repair.strategies.strength import ENDLESS

MOST_WHOLE = 400
"""The largest sum of whole shares."""
Row = tuple[float, ...]


class Interval(Protocol):
    """Torque [N*m] from a least to a most."""

    @property
    def least(self) -> float:
        """The least."""

    @property
    def most(self) -> float:
        """The most."""


class Laid(NamedTuple):
    """Changes for one torque: the draft, what it does in words, and what it changes where."""

    draft: Draft
    words: tuple[str, ...]
    traits: frozenset[Trait]


class Option(NamedTuple):
    """Torque [N*m] at an outlet from a least to a most with which all below it holds and does, and what that adds."""

    least: float
    most: float
    worth: float
    added: int
    changes: int
    lay: Callable[[float], Laid | None]

    @property
    def price(self) -> tuple[float, int, int]:
        """What decides between options."""
        return round(self.worth, 6), self.added, self.changes


def cheapest(each: Sequence[Sequence[Option]]) -> Iterator[tuple[Option, ...]]:
    """Every choice of one option an outlet, in the order of what they add together."""
    ordered = [sorted(options, key=lambda option: option.price) for options in each]

    def price(places: tuple[int, ...]) -> tuple[float, int, int]:
        chosen = [options[k] for options, k in zip(ordered, places, strict=True)]
        return (
            round(math.fsum(o.worth for o in chosen), 6), sum(o.added for o in chosen), sum(o.changes for o in chosen)
        )  # fmt: skip

    start = (0,) * len(ordered)
    waiting, seen = [(price(start), start)], {start}
    while waiting:
        _, places = heapq.heappop(waiting)
        yield tuple(options[k] for options, k in zip(ordered, places, strict=True))
        for outlet, options in enumerate(ordered):
            following = (*places[:outlet], places[outlet] + 1, *places[outlet + 1 :])
            if places[outlet] + 1 < len(options) and following not in seen:
                seen.add(following)
                heapq.heappush(waiting, (price(following), following))


def bounds_of(chosen: Sequence[Option], row: Row | None) -> tuple[float, float]:
    """The least and most torque in all with which every outlet gets what its option takes."""
    if row is None:
        return math.fsum(option.least for option in chosen), math.fsum(option.most for option in chosen)
    total = sum(row)
    least = max(option.least * total / weight for option, weight in zip(chosen, row, strict=True))
    return least, min(option.most * total / weight for option, weight in zip(chosen, row, strict=True))


def whole_shares(chosen: Sequence[Interval], passed: float, now: Row) -> Row | None:
    """The smallest whole shares of a torque that give every outlet what its option takes; nearest to those of now.

    The least sum N for which the least shares, rounded up to N-ths, come to no more than N, and the most, rounded
    down, to no less; the rest goes where it is furthest from what it is now.
    """
    slack = 1e-12
    low = [max(option.least / passed, 0.0) for option in chosen]
    high = [min(option.most / passed, 1.0) for option in chosen]
    for total in range(len(chosen), MOST_WHOLE + 1):
        least = [max(1, math.ceil(total * share - slack * total)) for share in low]
        most = [math.floor(total * share + slack * total) for share in high]
        if sum(least) > total or sum(most) < total or any(a > b for a, b in zip(least, most, strict=True)):
            continue
        given = list(least)
        for _ in range(total - sum(least)):
            behind = [n * sum(now) / total / w if n < m else ENDLESS for n, m, w in zip(given, most, now, strict=True)]
            given[behind.index(min(behind))] += 1
        return tuple(float(n) for n in given)
    return None
