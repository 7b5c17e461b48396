"""What the lines of a design may be made of, and what they cost: prepared once for each reserve of strength."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple

from lineshaft.design.batches import Batches
from lineshaft.repair.line.demand import Demand
from lineshaft.repair.line.effort import Effort
from lineshaft.repair.line.prepared import Prepared
from lineshaft.repair.line.prices import weight_of
from lineshaft.repair.line.segment import MOST_LINES, MOST_STAGES
from lineshaft.repair.proof.context import RepairContext
from lineshaft.repair.strategies.prices import Prices, prices_of
from lineshaft.repair.strategies.stock import offered
from lineshaft.repair.strategies.strength import Strength
from lineshaft.repair.strategies.wishes import Wish, demand_of
from lineshaft.schema.model.catalogue import Goods, Item
from lineshaft.schema.model.stock import Inventory, ItemKey
from lineshaft.solve.application_factor import CLASSES, TABLE
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.work_rate import speed_for_time, time_of_work


@dataclass(frozen=True, slots=True)
class Scales:
    """What goods weigh in a search: by worth, with those in stock for nothing; or by parts first and then by worth.

    Never more than what a bill says.
    """

    prices: Prices
    parts_first: bool = False
    stock: Inventory | None = None
    free: frozenset[int] = frozenset()

    def weight(self, goods: Goods, parts: int = 0, words: int = 0, fewer: Goods | None = None) -> int:
        """The weight of goods, with so many parts and changed words."""
        cost = Fraction(0) if id(goods) in self.free else self._cost(goods)
        if self.parts_first:
            cost += parts * _PART
        return weight_of(cost, self.prices.denominator, parts, words)

    def _cost(self, goods: Goods) -> Fraction:
        if self.stock is None:
            return self.prices.exactly(goods)
        return sum((self._each(name) * count for name, count in goods.items()), Fraction(0))

    def _each(self, name: str) -> Fraction:
        """What one of a good has to cost at least: nothing where some of it, or of what it is made of, is there."""
        there = self.stock.goods if self.stock is not None else {}
        if there.get(name, 0) > 0:
            return Fraction(0)
        component = self.prices.catalogue.components.get(name)
        if component is None:
            return self.prices.exact.get(name, Fraction(0))
        made_of = component.made_of.items()
        return sum((self._each(good) * count for good, count in made_of), Fraction(0)) / component.yields


_PART = Fraction(10**9)
"""A part weighs more than all that it can be made of, where parts come first."""


def scales_of(rig: SolvedRig, stock: Inventory | None, *, parts_first: bool = False) -> Scales:
    """The scales for a rig; what is in stock finished weighs nothing."""
    prices = prices_of(rig.parts, rig.catalogue)
    free = set()
    for key in stock.items if stock is not None else ():
        item = rig.catalogue.items[key.item]
        free |= {id(goods) for goods in _goods(item, key)}
    return Scales(prices, parts_first, stock, frozenset(free))


def _goods(item: Item, key: ItemKey) -> Iterable[Goods]:
    if key.ratio is None:
        yield item.made_of
    yield from (offer.made_of for offer in item.ratios if offer.ratio.value == key.ratio)


class Bounds(NamedTuple):
    """The most stages in a stretch, lines side by side, splitters one below the other; gears before splitters."""

    stages: int = MOST_STAGES
    lines: int = MOST_LINES
    deep: int = 3
    heads: bool = True


@dataclass(slots=True)
class Supply:
    """The rig that a design is for, what it may be made of and what that weighs; effort is shared by all searches.

    ``times`` are the longest times [s] for a unit of work that machines (indices) may take, beside their targets.
    """

    context: RepairContext
    scales: Scales
    effort: Effort
    prepared: "dict[float, Prepared]" = field(default_factory=dict)
    times: dict[int, float] = field(default_factory=dict)
    bounds: Bounds = field(default_factory=Bounds)
    stopped: bool = False
    batches: Batches = field(init=False)

    def __post_init__(self) -> None:
        self.batches = Batches(self.scales.prices)

    @property
    def rig(self) -> SolvedRig:
        """The rig."""
        return self.context.rig

    def strength(self, driver: int, machines: Iterable[int]) -> Strength:
        """What parts stand between a prime mover of a shock class and some machines, with the policy's margins."""
        rig = self.rig
        if self.context.book.rule("margin-thin") is None:
            return Strength(rig, 1.0, 1.0)
        policy = rig.policy
        driven = max(CLASSES.index(rig.parts[number].item.shock or "uniform") for number in machines)
        factor = TABLE[driver][driven] if policy.application_factors else 1.0
        return Strength(rig, max(1.0, policy.torque_margin * factor), max(1.0, policy.speed_margin))

    def offers(self, strength: Strength) -> Prepared:
        """What lines may be made of, with a reserve of strength."""
        known = self.prepared.get(strength.torque_reserve)
        if known is None:
            forbidden = set(self.rig.policy.forbidden_grades)
            items = [i for i in self.rig.catalogue.items.values() if not i.grades or set(i.grades) - forbidden]
            known = Prepared(offered(items, strength, self.scales), self.bounds.stages)
            self.prepared[strength.torque_reserve] = known
        return known

    def demand(self, number: int, strength: Strength) -> Demand:
        """What has to arrive at a machine, and no more than it stands."""
        part = self.rig.parts[number]
        held, needs = strength.allowed(number, must_hold=True), part.item.needs
        times = [time for time in (part.target, self.times.get(number)) if time is not None]
        time = min(times, default=None)
        wish = Wish(number, part, 1.0, 0.0, 1.0, needs.torque, needs.speed, self.need(number), time)
        return demand_of([wish], (0.0, held.torque), (0.0, held.speed))

    def need(self, number: int) -> float:
        """The least power [W] that serves a machine, at the speed that its time takes."""
        part = self.rig.parts[number]
        needs, work = part.item.needs, part.item.work
        times = [time for time in (part.target, self.times.get(number)) if time is not None]
        for_time = speed_for_time(work, min(times)) if work is not None and times else None
        return max(needs.power or 0.0, (needs.torque or 0.0) * max(needs.speed or 0.0, for_time or 0.0))

    def counts(self, number: int, speed: float) -> float:
        """What a speed [rad/s] is worth to a machine: its units of work a second; 0 where it has no table."""
        work = self.rig.parts[number].item.work
        time = None if work is None else time_of_work(work, speed)
        return 1 / time if time else 0.0
