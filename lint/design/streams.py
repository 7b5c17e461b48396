"""Answers in the order of their weight, each worked out when it is asked for: one stream, several, products of some.

A stream tells at any time what its next answer weighs at least. So whoever wants the lightest of many combinations
takes a step where the least is still possible, and none elsewhere. A step ends once that is known to be more, or with
an answer; all that is done on the way is counted as effort, and where that is spent up a stream ends.
"""

import heapq
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import count
from typing import Generic, NamedTuple, Protocol, TypeVar

from lineshaft.repair.line.effort import Effort
from lineshaft.repair.line.gains import NEVER


class Weighed(Protocol):
    """Anything with a weight."""

    @property
    def weight(self) -> int:
        """Its weight, as one integer."""


T = TypeVar("T", bound=Weighed)
U = TypeVar("U", bound=Weighed)


class Stream(Generic[T]):
    """The answers so far, lightest first, and what any further one weighs at least."""

    __slots__ = ("_source", "bound", "items")

    def __init__(self, source: "Iterator[T | int]", bound: int = 0) -> None:
        """``source`` yields answers by rising weight, and between them, as integers, bounds of what is to come."""
        self.items: list[T] = []
        self.bound = bound
        self._source = source

    def step(self) -> None:
        """One step on: an answer more, a better bound, or the end."""
        found = next(self._source, None)
        if found is None:
            self.bound = NEVER
        elif isinstance(found, int):
            self.bound = max(self.bound, found)
        else:
            self.items.append(found)
            self.bound = max(self.bound, found.weight)

    def least(self, number: int) -> int:
        """What the answer of a number weighs at least; ``NEVER`` where there is none."""
        return self.items[number].weight if number < len(self.items) else self.bound

    @property
    def ended(self) -> bool:
        """Whether there is no further answer."""
        return self.bound >= NEVER


class Branch(NamedTuple, Generic[T, U]):
    """A stream among several: what its answers weigh more here, and what is made of one of them."""

    stream: Stream[T]
    more: int
    made: Callable[[T], Iterable[U]]


def merged(
    branches: Iterable[Branch[T, U]], effort: Effort, further: "Iterator[Branch[T, U] | int] | None" = None
) -> Iterator[U | int]:
    """The answers of several streams in one order. ``further`` yields more of them by rising least weight."""
    numbers = count()
    heap = [(branch.more + branch.stream.least(0), next(numbers), 0, branch) for branch in branches]
    heapq.heapify(heap)
    to_come, told = 0 if further is not None else NEVER, -1
    while (heap or to_come < NEVER) and effort.spend():
        if further is not None and (not heap or to_come <= heap[0][0]):
            found = next(further, None)
            if found is None:
                to_come = NEVER
            elif isinstance(found, int):
                to_come = max(to_come, found)
            else:
                to_come = max(to_come, found.more)
                heapq.heappush(heap, (found.more + found.stream.least(0), next(numbers), 0, found))
        else:
            key, _, at, branch = heapq.heappop(heap)
            stream = branch.stream
            if at < len(stream.items):
                yield from branch.made(stream.items[at])
                at += 1
            elif stream.ended:
                continue
            else:
                stream.step()
            least = branch.more + stream.least(at)
            if least < NEVER:
                heapq.heappush(heap, (max(key, least), next(numbers), at, branch))
        low = min(to_come, heap[0][0] if heap else NEVER)
        if low > told:
            told = low
            yield low


def products(
    streams: Sequence[Stream[T]], more: int, joined: Callable[[Sequence[T]], Iterable[U]], effort: Effort
) -> Iterator[U | int]:
    """What is made of one answer of each stream, in the order of their weight together and ``more``."""
    numbers = count()
    start = (0,) * len(streams)
    heap = [(_together(streams, start, more), next(numbers), 0, start)]
    told = -1
    while heap and effort.spend():
        key, _, last, places = heapq.heappop(heap)
        if key >= NEVER:
            return
        waits = next((k for k, s in enumerate(streams) if places[k] >= len(s.items)), None)
        if waits is not None:
            if not streams[waits].ended:
                streams[waits].step()
                heapq.heappush(heap, (max(key, _together(streams, places, more)), next(numbers), last, places))
            elif places[waits] == 0:
                return
        else:
            yield from joined([s.items[k] for s, k in zip(streams, places, strict=True)])
            for at in range(last, len(streams)):
                following = (*places[:at], places[at] + 1, *places[at + 1 :])
                heapq.heappush(heap, (_together(streams, following, more), next(numbers), at, following))
        if heap and heap[0][0] > told:
            told = heap[0][0]
            yield told


def _together(streams: Sequence[Stream[T]], places: Sequence[int], more: int) -> int:
    for stream, at in zip(streams, places, strict=True):
        items = stream.items
        more += items[at].weight if at < len(items) else stream.bound
    return more
