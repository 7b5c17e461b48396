"""Every way in which each part of a survey may differ, with the numbers read that it can move."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise, permutations, product
from typing import NamedTuple

from lineshaft.audit.deviations import RANK, Deviation
from lineshaft.audit.survey import Survey
from lineshaft.schema.model.catalogue import HeadTable, Hydraulic, Output
from lineshaft.schema.model.rig import Part

LEAST_LEFT = 0.05
"""The least part of torque or speed that is still a weak part and not one at rest."""
_ALIKE = 1e-9
_MOST_ORDERS = 24  # orders of one row of shares that are looked at


class Span(NamedTuple):
    """Where a free value may lie. Values between are straight in it: a head table has a span for each line."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class PossibleDeviation:
    """Deviations with one and the same effect on all that was read.

    ``members`` are the ways in which it may stand, each one deviation, or two at one part. ``spans`` are its free
    values; with ``outlets`` these are the parts of the torque that go to those outlets of a splitter.
    ``aspect`` is what it decides (no two of one aspect go together), ``mask`` the numbers it can move, as bits.
    """

    members: tuple[tuple[Deviation, ...], ...]
    mask: int
    aspect: tuple[str, int]
    spans: tuple[Span, ...] = ()
    outlets: tuple[int, ...] = ()

    @property
    def count(self) -> int:
        """How many deviations it stands for."""
        return len(self.members[0])

    @property
    def rank(self) -> tuple[int, ...]:
        """How ordinary its most ordinary member is: ranks of its kinds, the least ordinary first."""
        return min(ordinariness(member) for member in self.members)

    def at(self, member: tuple[Deviation, ...], values: tuple[float, ...], part: Part) -> tuple[Deviation, ...]:
        """A member with its free values given; ``part`` is the part it is at."""
        if not self.spans:
            return member
        (only,) = member
        if self.outlets:
            return (only._replace(shares=_divided(part.shares, self.outlets, values)),)
        return (only._replace(value=values[0]),)


def ordinariness(deviations: tuple[Deviation, ...]) -> tuple[int, ...]:
    """A set is as ordinary as its least ordinary deviation, then as the next."""
    return tuple(sorted((RANK[deviation.kind] for deviation in deviations), reverse=True))


def candidates(survey: Survey) -> tuple[PossibleDeviation, ...]:
    """All candidates of a survey that can move a number that was read, the more ordinary first."""
    found = [*_at_rest(survey), *_torque_lost(survey)]
    for number, part in enumerate(survey.train.parts):
        found += _of_part(survey, number, part)
    useful = [candidate for candidate in found if candidate.mask]
    return tuple(sorted(useful, key=lambda c: (c.count, c.rank, c.members[0][0].part)))


def _torque(survey: Survey) -> int:
    return sum(1 << k for k, m in enumerate(survey.measured) if m.quantity == "torque")


def _at_rest(survey: Survey) -> Iterator[PossibleDeviation]:
    """Nothing passes somewhere on a stretch: an open clutch, a part that is not coupled, a prime mover that stands.

    A combiner stands for itself: where it is not coupled its inlets may turn as they like; below it that is no help.
    """
    members: dict[int, list[tuple[Deviation, ...]]] = {}
    coupled = {step.part for step in survey.train.rig.steps if step.kind == "couple"}
    for number, part in enumerate(survey.train.parts):
        apart = part.item.kind == "combiner"
        here = members.setdefault(number if apart else survey.stretch[number], [])
        if part.item.kind == "prime-mover":
            here.append((Deviation("stopped", number),))
        elif part.item.kind == "clutch" and part.engaged:
            here.append((Deviation("clutch-open", number),))
        elif part.inlets and (part.item.kind != "clutch" or part.engaged):
            here.append((Deviation("not-coupled", number),))
    for end, ways in members.items():
        ordered = sorted(ways, key=lambda way: (ordinariness(way), way[0].part not in coupled, way[0].part))
        if ordered:
            yield PossibleDeviation(tuple(ordered), survey.reach[end], ("rest", end))


def _torque_lost(survey: Survey) -> Iterator[PossibleDeviation]:
    """A worn or dry stage or right-angle drive somewhere on a stretch; those that want lubricant first."""
    members: dict[int, list[tuple[Deviation, ...]]] = {}
    parts = survey.train.parts
    for number, part in enumerate(parts):
        if part.item.kind in ("gear-stage", "right-angle"):
            members.setdefault(survey.stretch[number], []).append((Deviation("torque-lost", number),))
    torque = _torque(survey)
    for end, ways in members.items():
        ordered = sorted(ways, key=lambda way: (parts[way[0].part].item.lubricant is None, way[0].part))
        yield PossibleDeviation(tuple(ordered), survey.reach[end] & torque, ("lost", end), (Span(LEAST_LEFT, 1.0),))


def _of_part(survey: Survey, number: int, part: Part) -> Iterator[PossibleDeviation]:
    kind = part.item.kind
    if kind == "prime-mover":
        yield from _weaker(survey, number, part)
    elif kind == "splitter":
        yield from _shares(survey, number, part)
    elif kind == "clutch" and not part.engaged:
        yield PossibleDeviation(((Deviation("clutch-engaged", number),),), survey.reach[number], ("clutch", number))
    elif part.ratio is not None:
        yield from _geared(survey, number, part)


def _geared(survey: Survey, number: int, part: Part) -> Iterator[PossibleDeviation]:
    """The other way round, another ratio of the item, or both: two deviations at one part."""
    assert part.ratio is not None
    reach, aspect = survey.reach[number], ("gear", number)
    turned = Deviation("other-way", number)
    if part.ratio.value != 1:
        yield PossibleDeviation(((turned,),), reach, aspect)
    for offer in part.item.ratios:
        if offer.ratio.value != part.ratio.value:
            other = Deviation("other-ratio", number, offer.ratio)
            yield PossibleDeviation(((other,),), reach, aspect)
            if offer.ratio.value != 1:
                yield PossibleDeviation(((turned, other),), reach, aspect)


def _weaker(survey: Survey, number: int, part: Part) -> Iterator[PossibleDeviation]:
    """Less than the full output: a lower head where the item goes by head, else less torque or less speed."""
    source, reach = part.item.source, survey.reach[number]
    torque = reach & _torque(survey)
    if isinstance(source, Output):
        left = (Span(LEAST_LEFT, 1.0),)
        yield PossibleDeviation(((Deviation("lower-torque", number),),), torque, ("torque", number), left)
        # Other inlets of a combiner below would no longer agree with it, so torque is moved too.
        yield PossibleDeviation(((Deviation("lower-speed", number),),), reach, ("speed", number), left)
    elif part.head is not None:
        lower = ((Deviation("lower-head", number),),)
        if isinstance(source, Hydraulic):
            yield PossibleDeviation(lower, torque, ("head", number), (Span(LEAST_LEFT * part.head, part.head),))
        elif isinstance(source, HeadTable):
            heads = [head for head, _, _ in source.points if head < part.head] + [part.head]
            for low, high in pairwise(heads):
                yield PossibleDeviation(lower, reach, ("head", number), (Span(low, high),))


def _shares(survey: Survey, number: int, part: Part) -> Iterator[PossibleDeviation]:
    """Other shares that the item offers, in each order; where it takes any, shares to be estimated."""
    mask, aspect = survey.reach[number] & _torque(survey), ("shares", number)
    offered = part.item.shares
    if offered is not None:
        for shares in _orders(part, offered):
            yield PossibleDeviation(((Deviation("other-shares", number, shares=shares),),), mask, aspect)
        return
    read = _read_outlets(survey, number)
    if read:
        free = read[:-1] if len(read) == len(part.shares) else read
        spans = tuple(Span(0.005, 0.995) for _ in free)
        yield PossibleDeviation(((Deviation("estimated-shares", number),),), mask, aspect, spans, free)


def _orders(part: Part, offered: tuple[tuple[float, ...], ...]) -> Iterator[tuple[float, ...]]:
    """Each order of each offered row that divides otherwise than the part does; none twice."""
    seen = [_parts_of(part.shares)]
    for row in offered:
        if len(row) != len(part.shares):
            continue
        for shares in sorted(set(permutations(row)))[:_MOST_ORDERS]:
            divided = _parts_of(shares)
            if not any(all(abs(a - b) <= _ALIKE for a, b in zip(divided, old, strict=True)) for old in seen):
                seen.append(divided)
                yield shares


def _parts_of(shares: tuple[float, ...]) -> tuple[float, ...]:
    total = sum(shares)
    return tuple(share / total for share in shares)


def _read_outlets(survey: Survey, number: int) -> tuple[int, ...]:
    """The outlets of a splitter at or below which a torque was read."""
    torque, found = _torque(survey), []
    for outlet in range(len(survey.train.parts[number].shares)):
        below = survey.train.driven.get((number, outlet))
        own = any(m.part == number and m.outlet == outlet and m.quantity == "torque" for m in survey.measured)
        if own or (below is not None and survey.reach[below] & torque):
            found.append(outlet)
    return tuple(found)


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
