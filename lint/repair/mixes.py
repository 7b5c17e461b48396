"""Which ratios may stand in a line together: every mix of so many stages whose product the line's end can take.

Only ratios and directions count here; which items, in what order and whether they hold, is looked at for the mixes
that turn out cheap.
"""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain, combinations_with_replacement, groupby, product
from typing import NamedTuple

from lineshaft.repair.goal import Demand
from lineshaft.repair.prices import Prices
from lineshaft.repair.segments import Line
from lineshaft.repair.strength import Strength
from lineshaft.schema.model.catalogue import Direction, Item, OfferedRatio


class Version(NamedTuple):
    """A stage that can be had: item and ratio, and the least it is worth."""

    item: Item
    offer: OfferedRatio
    least: float


class Gear(NamedTuple):
    """A ratio set one way: what it makes of a speed, as a logarithm, and the least a stage of it is worth."""

    log: float
    ratio: Fraction
    direction: Direction
    least: float
    factor: float


@dataclass(frozen=True, slots=True, eq=False)
class Choice:
    """A gear in one of the versions it can be had in. There is one object for each, so that they compare at once."""

    gear: Gear
    version: Version


def choices_of(gears: Sequence[Gear], stock: dict[Fraction, tuple[Version, ...]]) -> dict[Gear, tuple[Choice, ...]]:
    """The versions of each gear."""
    return {gear: tuple(Choice(gear, version) for version in stock[gear.ratio]) for gear in gears}


def versions_of(mix: tuple[Gear, ...], choices: dict[Gear, tuple[Choice, ...]]) -> Iterator[tuple[Choice, ...]]:
    """Every choice of versions for a mix; equal gears in one order only."""
    each = [combinations_with_replacement(choices[gear], len(list(same))) for gear, same in groupby(mix)]
    for chosen in product(*each):
        yield tuple(chain.from_iterable(chosen))


def gears_of(stock: dict[Fraction, tuple[Version, ...]]) -> tuple[Gear, ...]:
    """Every ratio of a stock both ways, from the most reducing to the most increasing."""
    both: tuple[Direction, ...] = ("reduce", "increase")
    found = []
    for ratio, versions in stock.items():
        least = min(version.least for version in versions)
        for direction in both:
            log = math.log(ratio)
            found.append(Gear(log if direction == "increase" else -log, ratio, direction, least, float(ratio)))
    return tuple(sorted(found))


def window(line: Line, demand: Demand, fixed: float, efficiency: tuple[float, float]) -> tuple[float, float]:
    """The least and greatest logarithm of speed out over speed in that the line's stages may make.

    ``fixed`` is what the parts that stay make of the speed; ``efficiency`` the worst and best of the line as a whole.
    """
    (least, most), (slowest, fastest) = demand.torque, demand.speed
    worst, best = efficiency
    speed = line.speed * fixed
    low, high = _log(slowest / speed), _log(fastest / speed)
    power = line.torque * line.speed
    # Torque at the end is power through efficiency over speed, so bounds of one are bounds of the other.
    if most < math.inf:
        low = max(low, _log(power * worst / most / speed) if most > 0 else math.inf)
    if least > 0:
        high = min(high, _log(power * best / least / speed))
    slack = 1e-6
    return low - slack, high + slack


def _log(value: float) -> float:
    return -math.inf if value <= 0 else math.inf if math.isinf(value) else math.log(value)


def mixes(gears: Sequence[Gear], count: int, bounds: tuple[float, float]) -> Iterator[tuple[Gear, ...]]:
    """Every choice of ``count`` gears, in any number of each, whose product lies within bounds of its logarithm."""
    low, high = bounds
    if count == 0:
        if low <= 0 <= high:
            yield ()
        return
    logs = [gear.log for gear in gears]
    if logs:
        yield from _choices(gears, logs, count, low, high, 0)


def _choices(
    gears: Sequence[Gear], logs: list[float], count: int, low: float, high: float, first: int
) -> Iterator[tuple[Gear, ...]]:
    if count == 1:
        start, stop = max(first, bisect_left(logs, low)), bisect_right(logs, high)
        yield from ((gears[k],) for k in range(start, stop))
        return
    for k in range(first, len(gears)):
        # What is still to come is at least this gear each time, and at most the last one.
        if logs[k] * count > high or logs[k] + logs[-1] * (count - 1) < low:
            if logs[k] * count > high:
                return
            continue
        for rest in _choices(gears, logs, count - 1, low - logs[k], high - logs[k], k):
            yield (gears[k], *rest)


def stock_of(strength: Strength, prices: Prices, line: Line) -> dict[Fraction, tuple[Version, ...]]:
    """The gear stages of the catalogue by ratio, the least worth first; 1 : 1 changes nothing and is left out.

    Left out, too, is what another stands as much as, out of no more goods of any kind and with the same efficiency;
    but never what the line has.
    """
    rig = strength.rig
    has = {(rig.parts[n].item.name, rig.parts[n].ratio) for n in line.stages}
    used = {(item, ratio.value) for item, ratio in has if ratio is not None}
    found: dict[Fraction, list[Version]] = {}
    for item in rig.catalogue.items.values():
        if item.kind == "gear-stage" and strength.makes(item):
            for offer in item.ratios:
                if offer.ratio.value > 1:
                    version = Version(item, offer, prices.least(offer.made_of))
                    found.setdefault(offer.ratio.value, []).append(version)
    stock = {}
    for ratio, versions in sorted(found.items()):
        ranked = sorted(versions, key=lambda v: (v.least, -_strongest(strength, v.item)[0], v.item.name))
        kept: list[Version] = []
        for version in ranked:
            if (version.item.name, ratio) in used or not any(_outdoes(strength, one, version) for one in kept):
                kept.append(version)
        stock[ratio] = tuple(kept)
    return stock


def _strongest(strength: Strength, item: Item) -> tuple[float, float]:
    makes = strength.makes(item)
    return max(make.torque for make in makes), max(make.speed for make in makes)


def _outdoes(strength: Strength, one: Version, other: Version) -> bool:
    """Whether one version does all that another does for no more."""
    (torque, speed), (others_torque, others_speed) = (_strongest(strength, v.item) for v in (one, other))
    if len(strength.makes(one.item)) > 1 or torque < others_torque or speed < others_speed:
        return False
    if one.item.efficiency != other.item.efficiency or (one.item.lubricant and not other.item.lubricant):
        return False
    goods = other.offer.made_of
    return all(count <= goods.get(name, 0) for name, count in one.offer.made_of.items())
