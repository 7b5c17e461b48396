"""Trees from a free outlet down to machines, lightest first: lines by the one engine, splitters, the like below them.

For an outlet only the speed is known: each option says with which torque it holds. At a splitter the torques of its
outlets are added up, or set against the rows of shares that its item offers.
"""

import math
from collections.abc import Iterable, Iterator

from lineshaft.design.batches import Batches
from lineshaft.design.joining import Behind, Joining, partitions
from lineshaft.design.options import Laid, Option, ToMachine, outdone
from lineshaft.design.streams import Branch, Stream, merged, products
from lineshaft.design.supply import Supply
from lineshaft.repair.line.demand import Demand
from lineshaft.repair.line.design import Found, OpenSlot
from lineshaft.repair.line.gains import NEVER
from lineshaft.repair.line.search import Search
from lineshaft.repair.line.segment import ENDLESS, Segment
from lineshaft.repair.strategies.strength import Strength
from lineshaft.solve.limits import over

_NEAR = 1e-9


class Layer:
    """The options of one source of power: for each set of machines and each speed, once."""

    def __init__(self, supply: Supply, driver: int, power: float, machines: frozenset[int], *, alone: bool) -> None:
        """``driver`` is the shock class of the prime movers above, ``power`` [W] all that they give.

        ``alone``: there is no other source, so that all ``machines`` are served by this one.
        """
        self._supply, self._driver = supply, driver
        self._trees: dict[tuple[frozenset[int], float, int], Stream[Option]] = {}
        self._furthest: dict[tuple[int, float], int] = {}
        self._heads: dict[tuple[frozenset[int], float], Stream[Laid]] = {}
        self._needs = {number: supply.need(number) for number in machines}
        self._all, self._alone = power, alone

    def _power(self, machines: Iterable[int]) -> float:
        """The most power [W] that may go to a set of machines: all but what the others that it serves need at least."""
        others = set(self._needs).difference(machines) if self._alone else ()
        return self._all - sum(self._needs[number] for number in others)

    def tree(self, machines: frozenset[int], speed: float, deep: int | None = None) -> Stream[Option]:
        """The ways to serve some machines (indices) from an outlet at a speed [rad/s], lightest first."""
        deep = self._supply.bounds.deep if deep is None else deep
        key = (machines, round(speed, 9), deep if len(machines) > 1 else 0)
        known = self._trees.get(key)
        if known is None:
            if self._power(machines) * (1 + _NEAR) < sum(self._needs[number] for number in machines):
                source: Iterator[Option | int] = iter(())
            elif len(machines) == 1:
                source = self._to_machine(next(iter(machines)), speed)
            else:
                source = self._divided(machines, speed, deep)
            known = self._trees[key] = Stream(source, self.least(machines, speed))
        return known

    def least(self, machines: frozenset[int], speed: float) -> int:
        """What any tree to some machines weighs at least: its splitters, and the gears to the furthest of them.

        Gears may serve several machines at once, so no more than the most that one of them takes is sure.
        """
        furthest = max(self._least(machine, speed) for machine in machines)
        return min(self.dividing(machines) + furthest, NEVER) if len(machines) > 1 else furthest

    def _least(self, machine: int, speed: float) -> int:
        """What a line to a machine weighs at least: stages that bring it to a speed at which it gets what it needs."""
        key = (machine, round(speed, 9))
        if key not in self._furthest:
            self._furthest[key] = self._stages_to(machine, speed)
        return self._furthest[key]

    def _stages_to(self, machine: int, speed: float) -> int:
        strength = self._supply.strength(self._driver, [machine])
        demand, needs = self._supply.demand(machine, strength), self._supply.rig.parts[machine].item.needs
        low = max([demand.speed[0], *(need.speed for need in demand.needs)])
        high = min(demand.speed[1], self._power([machine]) / needs.torque if needs.torque else ENDLESS)
        if low > high * (1 + _NEAR):
            return NEVER
        reach, bounds = self._supply.offers(strength).reach, self._supply.bounds
        most = bounds.stages * (1 if len(self._needs) == 1 else 1 + bounds.deep)
        return reach.at_most(most, _log(low / speed) - _NEAR, _log(high / speed) + _NEAR)

    def dividing(self, machines: frozenset[int]) -> int:
        """What the splitters above some machines weigh at least."""
        splitters = self._supply.offers(self._supply.strength(self._driver, machines)).stock.splitters
        more = len(machines) - 1
        weights = (end.weight * -(-more // ((end.ends or len(machines)) - 1)) for end in splitters if end.ends != 1)
        return min(weights, default=NEVER)

    def _to_machine(self, machine: int, speed: float) -> Iterator[Option | int]:
        """The lines to one machine."""
        supply = self._supply
        strength = supply.strength(self._driver, [machine])
        demand = supply.demand(machine, strength)
        least = self._needs[machine] / speed * (1 - _NEAR)
        segment = Segment((least, self._power([machine]) / speed * (1 + _NEAR)), speed)
        kept: list[Option] = []
        for laid in _found(supply, segment, demand, strength):
            if isinstance(laid, int):
                yield laid
                continue
            found = laid.found
            if not demand.accepts(found.torque[1] * found.passes, found.speed):
                continue
            counts = supply.counts(machine, found.speed)
            option = Option(laid.weight, *found.torque, ToMachine(laid, machine), ((machine, counts),), laid.taken)
            if not outdone(option, kept, self._supply.batches):
                kept.append(option)
                yield option

    def _divided(self, machines: frozenset[int], speed: float, deep: int) -> Iterator[Option | int]:
        """Lines to a splitter, and what it divides into, for every speed that a line leads to."""
        if deep == 0:
            return
        kept: list[Option] = []
        direct = (Branch(self._splitting(machines, speed, deep), 0, _itself),)
        heads = self._supply.bounds.heads
        effort = self._supply.effort
        found = merged((), effort, self._behind_heads(machines, speed, deep)) if heads else merged(direct, effort)
        for option in found:
            if isinstance(option, int):
                yield option
            elif not outdone(option, kept, self._supply.batches):
                kept.append(option)
                yield option

    def _behind_heads(
        self, machines: frozenset[int], speed: float, deep: int
    ) -> Iterator[Branch[Option, Option] | int]:
        """For each line to a splitter the ways on behind it; of lines alike in speed and losses the better ones."""
        heads, dividing = self.head(machines, speed), self.dividing(machines)
        number = 0
        while True:
            if number < len(heads.items):
                head = heads.items[number]
                number += 1
                below = self._splitting(machines, head.found.speed, deep)
                yield Branch(below, head.weight, Behind(head))
            elif heads.ended:
                return
            else:
                heads.step()
            yield min(heads.least(number) + dividing, NEVER)

    def head(self, machines: frozenset[int], speed: float) -> Stream[Laid]:
        """The lines from an outlet at a speed to a splitter or combiner above some machines."""
        key = (machines, round(speed, 9))
        if key not in self._heads:
            self._heads[key] = Stream(self._lines(machines, self._heading(machines, speed), self._wanted(machines)))
        return self._heads[key]

    def from_source(self, machines: frozenset[int], torque: float, speed: float) -> Iterator[Laid | int]:
        """The lines from an outlet whose torque [N*m] is known to a combiner above some machines."""
        return self._lines(machines, Segment((torque, torque), speed), 0.0)

    def _heading(self, machines: frozenset[int], speed: float) -> Segment:
        least = sum(self._needs[number] for number in machines) / speed * (1 - _NEAR)
        return Segment((max(least, 1e-9), self._power(machines) / speed * (1 + _NEAR)), speed)

    def _wanted(self, machines: Iterable[int]) -> float:
        return sum(self._needs[number] for number in machines)

    def _lines(self, machines: frozenset[int], segment: Segment, wanted: float) -> Iterator[Laid | int]:
        """Lines that leave so much power [W] as is ``wanted`` below; of those alike in speed and losses the better."""
        supply = self._supply
        strength = supply.strength(self._driver, machines)
        power = self._power(machines) * (1 + _NEAR)
        alike: dict[tuple[float, float], list[Laid]] = {}
        for laid in _found(supply, segment, Demand(), strength):
            if isinstance(laid, int):
                yield laid
                continue
            found = laid.found
            if found.passes * found.speed / segment.speed * power < wanted:
                continue
            better = alike.setdefault((round(found.speed, 9), round(found.passes, 12)), [])
            if any(_does_for(one, laid, supply.batches) for one in better):
                continue
            better.append(laid)
            yield laid

    def _splitting(self, machines: frozenset[int], speed: float, deep: int) -> Stream[Option]:
        """A splitter right at an outlet, and what is below it."""
        key = (machines, round(speed, 9), -deep)
        if key not in self._trees:
            self._trees[key] = Stream(
                merged(self._splitters(machines, speed, deep), self._supply.effort), self.least(machines, speed)
            )
        return self._trees[key]

    def _splitters(self, machines: frozenset[int], speed: float, deep: int) -> Iterator[Branch[Option, Option]]:
        strength = self._supply.strength(self._driver, machines)
        prepared = self._supply.offers(strength)
        for end in prepared.stock.splitters:
            stands = max((make.torque for make in end.makes if not over(speed, make.speed)), default=0.0)
            if stands <= 0:
                continue
            for blocks in partitions(sorted(machines), end.ends):
                below = [self.tree(frozenset(block), speed, deep - 1) for block in blocks]
                joined = Joining(end, stands, self._supply)
                yield Branch(Stream(products(below, end.weight, joined.joined, self._supply.effort)), 0, _itself)


def _does_for(one: Laid, other: Laid, batches: Batches) -> bool:
    """Whether a line of as little weight does for another that leads to the same speed with the same losses."""
    if one.found.parts > other.found.parts or one.found.torque[1] < other.found.torque[1]:
        return False
    return one.taken == other.taken or one.weight + batches.slack(one.taken, other.taken) <= other.weight


def _itself(option: Option) -> Iterable[Option]:
    return (option,)


def _found(supply: Supply, segment: Segment, demand: Demand, strength: Strength) -> Iterator[Laid | int]:
    """What the engine finds for a segment, and between that what is still to come weighs at least.

    Lines side by side are looked for apart, once what is asked for may weigh as much as dividing and gathering does.
    """
    bounds = supply.bounds
    segment = segment._replace(stages=bounds.stages, lines=bounds.lines)
    alone = Stream(_searched(supply, segment._replace(lines=1), demand, strength))
    if bounds.lines == 1:
        return merged((Branch(alone, 0, _as_it_is),), supply.effort)
    stock = supply.offers(strength).stock
    ends = [min((end.weight for end in kind), default=NEVER) for kind in (stock.splitters, stock.combiners)]
    stages = min((stage.make.weight for stage in stock.stages), default=0)
    beside = Stream(_searched(supply, segment, demand, strength), min(sum(ends) + 2 * stages, NEVER))
    return merged((Branch(alone, 0, _as_it_is), Branch(beside, 0, _divided_alone)), supply.effort)


def _as_it_is(laid: Laid) -> Iterable[Laid]:
    return (laid,)


def _divided_alone(laid: Laid) -> Iterable[Laid]:
    """What is laid side by side: all else is found without."""
    return (laid,) if any(isinstance(slot, OpenSlot) for slot in laid.found.slots) else ()


def _searched(supply: Supply, segment: Segment, demand: Demand, strength: Strength) -> Iterator[Laid | int]:
    search = Search(segment, demand, supply.offers(strength), supply.effort)
    for found in search.designs():
        if isinstance(found, Found):
            yield Laid(found.weight, found, segment, supply.batches.of_line(found))
        else:
            yield found.weight
    supply.stopped = supply.stopped or search.outcome.endswith("within-bound")


def _log(value: float) -> float:
    return -math.inf if value <= 0 else math.inf if math.isinf(value) else math.log(value)
