"""Which machines hang on which free outlets, one alone or several combined: whole plans, lightest first."""

import heapq
from collections.abc import Iterator, Sequence
from itertools import combinations, count, product
from typing import NamedTuple

from lineshaft.design.laying import Layer
from lineshaft.design.options import Laid, Option
from lineshaft.design.streams import Branch, Stream, merged, products
from lineshaft.design.supply import Supply
from lineshaft.design.wish import Source, Wish
from lineshaft.repair.line.gains import NEVER
from lineshaft.repair.line.segment import End
from lineshaft.solve.application_factor import CLASSES
from lineshaft.solve.limits import over, short


class Gathered(NamedTuple):
    """Lines from several outlets (numbers of the wish's sources) that turn at one speed, gathered one after the other.

    ``ends`` are the combiners: the first takes as many lines as it has inlets, each further one what came so far too.
    """

    weight: int
    sources: tuple[int, ...]
    lines: tuple[Laid, ...]
    ends: tuple[End, ...]
    torque: float
    speed: float


class Fed(NamedTuple):
    """What leads from one or several outlets on; ``gathered`` is none where it is one alone."""

    source: int
    gathered: Gathered | None
    torque: float
    speed: float
    option: Option


class Plan(NamedTuple):
    """A design as it is searched for: what every outlet that is used leads to."""

    weight: int
    feeds: tuple[Fed, ...]


class Feeding:
    """The plans of a wish. Every free outlet is used, as what drives nothing is a loose end, unless it may be idle."""

    def __init__(self, supply: Supply, wish: Wish, *, idle: bool = False) -> None:
        self._supply, self._wish, self._idle = supply, wish, idle
        self._layers: dict[tuple[int, float], Layer] = {}
        self._plans: dict[tuple[frozenset[int], frozenset[int]], Stream[Plan]] = {}
        self._fed_by: dict[tuple[frozenset[int], tuple[int, ...]], Stream[Plan]] = {}
        self._needs = {machine.part: supply.need(machine.part) for machine in wish.machines}
        parts = supply.rig.parts
        self._alike = [
            (parts[s.part].item.name, round(s.torque, 9), round(s.speed, 9)) if parts[s.part].item.kind == "prime-mover"
            else (number,)
            for number, s in enumerate(wish.sources)
        ]  # fmt: skip

    def plans(self) -> Stream[Plan]:
        """Every plan that serves all machines, lightest first."""
        machines = frozenset(machine.part for machine in self._wish.machines)
        return self._serving(machines, frozenset(range(len(self._wish.sources))))

    def _serving(self, machines: frozenset[int], sources: frozenset[int]) -> Stream[Plan]:
        key = (machines, sources)
        known = self._plans.get(key)
        if known is None:
            nothing: Iterator[Plan | int] = iter((Plan(0, ()),) if self._idle or not sources else ())
            found = merged(self._first_fed(machines, sources), self._supply.effort) if machines else nothing
            known = self._plans[key] = Stream(found)
        return known

    def _first_fed(self, machines: frozenset[int], sources: frozenset[int]) -> Iterator[Branch[Plan, Plan]]:
        """The first machine with some of the others on one feed, the rest on what is left."""
        first, *rest = sorted(machines)
        for feed in self._feeds(sources):
            power = sum(self._wish.sources[number].power for number in feed)
            left = sum(self._wish.sources[number].power for number in sources - feed)
            for size in range(len(rest) + 1):
                for others in combinations(rest, size):
                    group = frozenset((first, *others))
                    needs = sum(self._needs[number] for number in group)
                    remaining = sum(self._needs[number] for number in machines - group)
                    if short(power, needs) or short(left, remaining):
                        continue
                    if len(group) == len(machines) and len(feed) < len(sources) and not self._idle:
                        continue
                    own = self._own(group, tuple(sorted(feed)))
                    more = self._serving(machines - group, sources - feed)
                    yield Branch(Stream(products((own, more), 0, _joined, self._supply.effort)), 0, _itself)

    def _feeds(self, sources: frozenset[int]) -> Iterator[frozenset[int]]:
        """The sets of outlets that may be led together; of outlets all alike the first ones."""
        ordered = sorted(sources)
        for size in range(1, len(ordered) + 1):
            for chosen in combinations(ordered, size):
                skipped = [number for number in ordered if number not in chosen]
                if not any(s < c and self._alike[s] == self._alike[c] for s in skipped for c in chosen):
                    yield frozenset(chosen)

    def _layer(self, sources: Sequence[int]) -> Layer:
        """What is laid behind some outlets: by the worst shock above them and the power that they give."""
        parts, train = self._supply.rig.parts, self._supply.rig.train
        chosen = [self._wish.sources[number] for number in sources]
        above = train.above(*(source.part for source in chosen))
        driver = max(CLASSES.index(parts[n].item.shock or "uniform") for n in above)
        key = (driver, round(sum(source.power for source in chosen), 6))
        if key not in self._layers:
            alone = len(self._wish.sources) == 1
            self._layers[key] = Layer(self._supply, *key, frozenset(self._needs), alone=alone)
        return self._layers[key]

    def _own(self, machines: frozenset[int], sources: tuple[int, ...]) -> Stream[Plan]:
        """What some outlets together lead to."""
        key = (machines, sources)
        if key not in self._fed_by:
            least = 0
            if len(sources) == 1:
                least = self._layer(sources).least(machines, self._wish.sources[sources[0]].speed)
            self._fed_by[key] = Stream(self._fed(machines, sources), least)
        return self._fed_by[key]

    def _fed(self, machines: frozenset[int], sources: tuple[int, ...]) -> Iterator[Plan | int]:
        layer = self._layer(sources)
        if len(sources) == 1:
            source = self._wish.sources[sources[0]]
            made = _Fitting(sources[0], None, source.torque, source.speed)
            return merged((Branch(layer.tree(machines, source.speed), 0, made),), self._supply.effort)
        return merged((), self._supply.effort, self._behind_combiners(layer, machines, sources))

    def _behind_combiners(
        self, layer: Layer, machines: frozenset[int], sources: tuple[int, ...]
    ) -> Iterator[Branch[Option, Plan] | int]:
        dividing = layer.dividing(machines) if len(machines) > 1 else 0
        for found in self._gathered(layer, machines, sources):
            if isinstance(found, int):
                yield min(found + dividing, NEVER)
            else:
                made = _Fitting(found.sources[0], found, found.torque, found.speed)
                yield Branch(layer.tree(machines, found.speed), found.weight, made)

    def _gathered(self, layer: Layer, machines: frozenset[int], sources: tuple[int, ...]) -> Iterator[Gathered | int]:
        """Lines from each outlet that turn alike, gathered; lightest first."""
        combiners = self._supply.offers(self._supply.strength(0, machines)).stock.combiners
        cheapest = min((end.weight for end in combiners), default=None)
        if cheapest is None:
            return
        given = [self._wish.sources[number] for number in sources]
        heads = [Stream(layer.from_source(machines, source.torque, source.speed)) for source in given]
        at_speed: list[dict[str, list[Laid]]] = [{} for _ in sources]
        taken = [0] * len(sources)
        waiting: list[tuple[int, int, Gathered]] = []
        numbers = count()
        while True:
            least = min(head.least(at) for head, at in zip(heads, taken, strict=True))
            while waiting and waiting[0][0] <= least + cheapest:
                yield heapq.heappop(waiting)[2]
            if all(head.ended and at >= len(head.items) for head, at in zip(heads, taken, strict=True)):
                return
            yield min(least + cheapest, waiting[0][0] if waiting else least + cheapest)
            place = min(range(len(heads)), key=lambda k: heads[k].least(taken[k]))
            if taken[place] >= len(heads[place].items):
                heads[place].step()
                continue
            new = heads[place].items[taken[place]]
            taken[place] += 1
            speed = f"{new.found.speed:.9g}"
            at_speed[place].setdefault(speed, []).append(new)
            others = [[new] if k == place else found.get(speed, []) for k, found in enumerate(at_speed)]
            for lines in product(*others):
                for made in _together(sources, given, lines, combiners):
                    heapq.heappush(waiting, (made.weight, next(numbers), made))


def _together(
    sources: tuple[int, ...], given: Sequence[Source], lines: tuple[Laid, ...], combiners: tuple[End, ...]
) -> Iterator[Gathered]:
    """Lines of one speed through one combiner, or through several of two inlets, the weakest lines first."""
    torques = [source.torque * line.found.passes for source, line in zip(given, lines, strict=True)]
    order = sorted(range(len(lines)), key=lambda k: torques[k])
    speed = max(line.found.speed for line in lines)
    weight = sum(line.weight for line in lines)
    chains = [(end,) * (1 if end.ends in (None, len(lines)) else len(lines) - 1) for end in combiners
              if end.ends in (None, 2, len(lines))]  # fmt: skip
    for ends in chains:
        stands = max((make.torque for make in ends[0].makes if not over(speed, make.speed)), default=0.0)
        sums = [torques[k] for k in order]
        torque = sum(sums) * ends[0].efficiency if len(ends) == 1 else _chained(sums, ends[0].efficiency)
        if not over(max(torque, *sums), stands):
            named = tuple(sources[k] for k in order)
            whole = weight + sum(end.weight for end in ends)
            yield Gathered(whole, named, tuple(lines[k] for k in order), ends, torque, speed)


def _chained(torques: Sequence[float], efficiency: float) -> float:
    found = torques[0]
    for torque in torques[1:]:
        found = (found + torque) * efficiency
    return found


class _Fitting:
    """The plans of options that hold with the torque that there is."""

    __slots__ = ("_gathered", "_source", "_speed", "_torque")

    def __init__(self, source: int, gathered: Gathered | None, torque: float, speed: float) -> None:
        self._source, self._gathered, self._torque, self._speed = source, gathered, torque, speed

    def __call__(self, option: Option) -> Iterator[Plan]:
        if not over(option.least, self._torque) and not short(option.most, self._torque):
            weight = option.weight + (0 if self._gathered is None else self._gathered.weight)
            yield Plan(weight, (Fed(self._source, self._gathered, self._torque, self._speed, option),))


def _joined(plans: Sequence[Plan]) -> Iterator[Plan]:
    yield Plan(sum(plan.weight for plan in plans), tuple(feed for plan in plans for feed in plan.feeds))


def _itself(plan: Plan) -> Iterator[Plan]:
    yield plan
