"""Every way in which each part of a survey may differ, with the numbers read that it can move."""

from collections import Counter
from collections.abc import Iterator
from itertools import chain, combinations, islice, pairwise
from math import factorial, prod

from lineshaft.audit.candidate import LEAST_LEFT, LEAST_SHARE, PossibleDeviation, Span, ordinariness
from lineshaft.audit.common_causes import common_causes
from lineshaft.audit.deviations import Deviation
from lineshaft.audit.survey import Survey
from lineshaft.schema.model.catalogue import HeadTable, Hydraulic, Output
from lineshaft.schema.model.rig import Part

_ALIKE = 1e-9
_MOST_ORDERS = 120
"""So many orders of one row of shares are looked at, those with two outlets exchanged first: all of five outlets."""


def candidates(survey: Survey) -> tuple[PossibleDeviation, ...]:
    """All candidates of a survey that can move a number that was read, the more ordinary first."""
    found = [*_at_rest(survey), *_torque_lost(survey)]
    for number, part in enumerate(survey.train.parts):
        found += _of_part(survey, number, part)
    found += common_causes(survey)
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
    if part.ratio.changes:
        yield PossibleDeviation(((turned,),), reach, aspect)
    for offer in part.item.ratios:
        if offer.ratio.terms != part.ratio.terms:
            other = Deviation("other-ratio", number, offer.ratio)
            yield PossibleDeviation(((other,),), reach, aspect)
            if offer.ratio.changes:
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
        spans = tuple(Span(LEAST_SHARE, 1 - LEAST_SHARE) for _ in free)
        yield PossibleDeviation(((Deviation("estimated-shares", number),),), mask, aspect, spans, free)


def _orders(part: Part, offered: tuple[tuple[float, ...], ...]) -> Iterator[tuple[float, ...]]:
    """Each order of each offered row that divides otherwise than the part does; none twice."""
    seen = [_parts_of(part.shares)]
    for row in offered:
        if len(row) != len(part.shares):
            continue
        for shares in islice(chain(_exchanged(part.shares, row), _arranged(row)), _MOST_ORDERS):
            divided = _parts_of(shares)
            if not any(all(abs(a - b) <= _ALIKE for a, b in zip(divided, old, strict=True)) for old in seen):
                seen.append(divided)
                yield shares


def left_out(survey: Survey) -> bool:
    """Whether a splitter's item offers more orders of its shares than are looked at."""
    parts = (part for part in survey.train.parts if part.item.kind == "splitter")
    rows = (row for part in parts for row in part.item.shares or () if len(row) == len(part.shares))
    return any(_count_of_orders(row) > _MOST_ORDERS for row in rows)


def _count_of_orders(row: tuple[float, ...]) -> int:
    alike = Counter(row).values()
    return factorial(len(row)) // prod(factorial(count) for count in alike)


def _exchanged(written: tuple[float, ...], row: tuple[float, ...]) -> Iterator[tuple[float, ...]]:
    """The written shares with two outlets exchanged, where the row offers them at all."""
    total, whole = sum(written), sum(row)
    if any(abs(a / total - b / whole) > _ALIKE for a, b in zip(sorted(written), sorted(row), strict=True)):
        return
    for one, other in combinations(range(len(written)), 2):
        shares = list(written)
        shares[one], shares[other] = shares[other], shares[one]
        yield tuple(shares)


def _arranged(row: tuple[float, ...]) -> Iterator[tuple[float, ...]]:
    """The orders of a row, none twice, from the ascending one on: each is made from the one before, none is kept."""
    order = sorted(row)
    while True:
        yield tuple(order)
        falls = next((k for k in range(len(order) - 2, -1, -1) if order[k] < order[k + 1]), None)
        if falls is None:
            return
        larger = next(k for k in range(len(order) - 1, falls, -1) if order[k] > order[falls])
        order[falls], order[larger] = order[larger], order[falls]
        order[falls + 1 :] = reversed(order[falls + 1 :])


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
