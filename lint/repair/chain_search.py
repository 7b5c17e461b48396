"""The search for chains of catalogue stages that make what is wanted of what arrives, cheapest first.

It knows no rig and no file. Overall ratios are exact fractions, so tooth counts that make 30 : 1 are found as such.
The search is complete within its bounds (stages in line, lines side by side) and lazy: what nobody asks for is not
worked out.
"""

import heapq
import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import count, permutations, product

from lineshaft.repair.chain import Branching, Chain, Stage, Supply, Wanted, gives, made
from lineshaft.solve.limits import EQUAL, over

MOST_STAGES = 4
"""Most stages in line."""
MOST_WAYS = 8
"""Most lines side by side."""


def gains_within(
    gains: Iterable[Fraction], low: Fraction, high: Fraction, most: int = MOST_STAGES
) -> Iterator[tuple[Fraction, ...]]:
    """Every choice of at most ``most`` gains (one may come again) whose product lies within the bounds.

    Each is in rising order; the empty choice, whose product is 1, is one of them.
    """
    ordered = sorted(set(gains))
    if low <= 1 <= high:
        yield ()
    if most > 0 and ordered:
        yield from _more_gains(ordered, (low, high), (), Fraction(1), (0, most))


def _more_gains(
    ordered: Sequence[Fraction],
    bounds: tuple[Fraction, Fraction],
    chosen: tuple[Fraction, ...],
    so_far: Fraction,
    state: tuple[int, int],
) -> Iterator[tuple[Fraction, ...]]:
    """One to ``room`` more gains from place ``start`` on; the last of them is looked up, not tried."""
    start, room = state
    low, high = bounds
    first = max(start, bisect_left(ordered, low / so_far))
    for at in range(first, bisect_right(ordered, high / so_far)):
        yield (*chosen, ordered[at])
    if room == 1:
        return
    top = max(Fraction(1), ordered[-1])
    for at in range(start, len(ordered)):
        gain = ordered[at]
        if gain >= 1 and so_far * gain > high:
            return  # this one and all after it only make it larger
        if so_far * gain * top ** (room - 1) >= low:
            yield from _more_gains(ordered, bounds, (*chosen, gain), so_far * gain, (at, room - 1))


def window(
    stages: Sequence[Stage], branchings: Sequence[Branching], supply: Supply, wanted: Wanted, most: int = MOST_STAGES
) -> tuple[Fraction, Fraction]:
    """The least and the largest gain that any chain may have; the least is above the largest where none can do.

    Losses are taken into account where they can only help, so that nothing is left out.
    """
    low = wanted.speed / supply.speed
    if wanted.torque_limit is not None:
        low = max(low, supply.torque * _least_efficiency(stages, branchings, most) / wanted.torque_limit)
    high = math.inf
    if wanted.speed_limit is not None:
        high = wanted.speed_limit / supply.speed
    if wanted.torque > 0:
        high = min(high, supply.torque / wanted.torque)
    return Fraction(low) * Fraction(1 - EQUAL), Fraction(min(high, 1e60)) * Fraction(1 + EQUAL)


def _least_efficiency(stages: Sequence[Stage], branchings: Sequence[Branching], most: int) -> float:
    worst = min((stage.efficiency for stage in stages), default=1.0)
    ends = min((b.splitter.efficiency * b.combiner.efficiency for b in branchings), default=1.0)
    return float(worst**most) * ends


def chains(
    stages: Sequence[Stage],
    supply: Supply,
    wanted: Wanted,
    branchings: Sequence[Branching] = (),
    most: int = MOST_STAGES,
    still_asked: Callable[[tuple[Fraction, ...]], bool] = lambda gains: True,
) -> Iterator[Chain]:
    """Every chain of at most ``most`` stages that gives what is wanted and stands what it carries.

    Cheapest first, by worth, then parts, then words. Of the orders of the same stages the cheapest is given, of those
    that cost the same the one that stays furthest below its limits. Lines side by side come in only where the stages in
    one line do not stand the torque. ``still_asked`` is asked about gains when it is their turn; those that it says no
    to are passed over.
    """
    offers: dict[Fraction, list[Stage]] = {}
    for stage in stages:
        if stage.ratio.value != 1:
            offers.setdefault(stage.gain, []).append(stage)
    least = {gain: min(stage.worth for stage in offered) for gain, offered in offers.items()}
    low, high = window(stages, branchings, supply, wanted, most)
    number = count()
    heap: list[tuple[float, int, str, int, tuple[Fraction, ...] | Chain]] = [
        (math.fsum(least[gain] for gain in gains), len(gains), "", next(number), gains)
        for gains in gains_within(offers, low, high, most)
    ]
    heapq.heapify(heap)
    while heap:
        found = heapq.heappop(heap)[4]
        if isinstance(found, Chain):
            yield found
            continue
        if not still_asked(found):
            continue
        for chain in _in_versions(found, offers, branchings, supply, wanted):
            heapq.heappush(heap, (chain.worth, chain.parts, chain.words, next(number), chain))


def _in_versions(
    gains: tuple[Fraction, ...],
    offers: Mapping[Fraction, Sequence[Stage]],
    branchings: Sequence[Branching],
    supply: Supply,
    wanted: Wanted,
) -> Iterator[Chain]:
    """The chains with these gains: each choice of stages once, in its best order."""
    best: dict[tuple[tuple[Stage, ...], Branching | None], Chain] = {}
    ways = max((branching.ways for branching in branchings), default=1)
    for order in sorted(set(permutations(gains))):
        for stages in product(*_as_built(order, offers, supply, ways)):
            for chain in made(stages, branchings, supply):
                if not gives(chain, wanted):
                    continue
                key = (tuple(sorted(stages, key=_version)), chain.branching)
                known = best.get(key)
                if known is None or _rank(chain) < _rank(known):
                    best[key] = chain
    yield from best.values()


def _version(stage: Stage) -> tuple[str, str, Fraction, str]:
    return stage.item, stage.grade, stage.ratio.value, stage.direction


def _rank(chain: Chain) -> tuple[float, int, float, str]:
    return chain.worth, chain.parts, round(chain.share, 9), chain.words


def _as_built(
    order: tuple[Fraction, ...], offers: Mapping[Fraction, Sequence[Stage]], supply: Supply, ways: int
) -> list[list[Stage]]:
    """For each place the stages that may stand there: in speed, and in torque if that is divided as far as it goes."""
    places = []
    after = Fraction(1)
    lost = 1.0
    for gain in order:
        before, after = after, after * gain
        speed = supply.speed * float(max(before, after))
        torque = supply.torque * lost * float(1 / before) / ways
        places.append(
            [
                stage
                for stage in offers[gain]
                if not (stage.speed_limit is not None and over(speed, stage.speed_limit))
                and not (stage.torque_limit is not None and over(torque, stage.torque_limit))
            ]
        )
        lost *= min((stage.efficiency for stage in offers[gain]), default=1.0)
        if ways > 1:
            lost = 0.0  # the ends of side-by-side lines may lose torque too: no bound from below
    return places
