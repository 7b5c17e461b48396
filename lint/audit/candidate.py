"""One way in which parts may differ from what is written: its deviations, its free values, the numbers it can move."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from math import inf
from typing import NamedTuple

from lineshaft.audit.deviations import RANK, Deviation
from lineshaft.schema.model.rig import Part

LEAST_LEFT = 0.05
"""The least part of torque or speed that is still a weak part and not one at rest."""
LEAST_SHARE = 0.001
"""The least of a torque that is still a share: estimated ones are never under it, and add up to 1."""


class Span(NamedTuple):
    """Where a free value may lie. Values between are straight in it: a head table has a span for each line."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class PossibleDeviation:
    """Deviations with one and the same effect on all that was read.

    ``members`` are the ways in which it may stand, each one deviation, or two at one part. ``spans`` are its free
    values; with ``outlets`` these are the parts of the torque that go to those outlets of a splitter. A ``common``
    cause is one that stands for a deviation at each of several parts, which have its one free value in common.
    ``aspect`` is what it decides (no two of one aspect go together), ``mask`` the numbers it can move, as bits.
    """

    members: tuple[tuple[Deviation, ...], ...]
    mask: int
    aspect: tuple[str, int]
    spans: tuple[Span, ...] = ()
    outlets: tuple[int, ...] = ()
    common: bool = False

    @property
    def count(self) -> int:
        """How many deviations it counts as: a common cause is one."""
        return 1 if self.common else len(self.members[0])

    @property
    def rank(self) -> tuple[int, ...]:
        """How ordinary its most ordinary member is: ranks of its kinds, the least ordinary first."""
        return min(ordinariness(member) for member in self.members)

    @property
    def aspects(self) -> frozenset[tuple[str, int]]:
        """What it decides: no two of one aspect go together; a common cause has that of each of its parts."""
        kind, part = self.aspect
        return frozenset((kind, one.part) for one in self.members[0]) if self.common else frozenset(((kind, part),))

    @property
    def most(self) -> float:
        """What its free values may come to together: of the shares of a splitter something is left for the others."""
        return 1 - LEAST_SHARE if self.outlets else inf

    def at(
        self, member: tuple[Deviation, ...], values: tuple[float, ...], parts: Sequence[Part]
    ) -> tuple[Deviation, ...]:
        """A member with its free values given; ``parts`` are those of the survey."""
        if not self.spans:
            return member
        if self.common:
            return tuple(_in_common(deviation, values[0], parts[deviation.part]) for deviation in member)
        (only,) = member
        part = parts[only.part]
        if self.outlets:
            return (only._replace(shares=_divided(part.shares, self.outlets, values)),)
        return (only._replace(value=values[0]),)


def ordinariness(deviations: tuple[Deviation, ...]) -> tuple[int, ...]:
    """A set is as ordinary as its least ordinary deviation, then as the next."""
    return tuple(sorted((RANK[deviation.kind] for deviation in deviations), reverse=True))


def _in_common(deviation: Deviation, value: float, part: Part) -> Deviation:
    """A deviation of a common cause: heads lower by so many metres, or speeds at so large a part of what they were."""
    if deviation.kind == "lower-head":
        return deviation._replace(value=(part.head or 0.0) - value)
    return deviation._replace(value=value)


def _divided(shares: tuple[float, ...], outlets: tuple[int, ...], parts: tuple[float, ...]) -> tuple[float, ...]:
    """Shares of 1 in which ``outlets`` get ``parts`` and the others what is left, in their old proportion."""
    others = sum(share for k, share in enumerate(shares) if k not in outlets)
    left = 1 - sum(parts)
    given = dict(zip(outlets, parts, strict=True))
    return tuple(given[k] if k in given else left * share / others for k, share in enumerate(shares))


def together(chosen: tuple[PossibleDeviation, ...]) -> Iterator[tuple[tuple[tuple[Deviation, ...], ...], int]]:
    """One member of each candidate, in every combination; and how far they stand behind the first ones."""
    for picked in product(*(enumerate(candidate.members) for candidate in chosen)):
        yield tuple(member for _, member in picked), sum(place for place, _ in picked)
