"""The cheapest line by brute force: every chain of stages, every run of it in 2, 4 or 8 lines, the shaft anywhere.

It shares nothing with the program: plain lists, its own laws and its own bill. Only for the little catalogues of
`small_stock`: stages, a shaft in two makes, splitters and combiners for two.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import product
from random import Random

LINES = (1, 2, 4, 8)  # two-way splitters in a tree
MOST_STAGES = 4
HOLDS = 1 + 1e-9


@dataclass(frozen=True, slots=True)
class Make:
    """A stage (with its ratio) or a shaft: limits [N*m, rad/s], efficiency, gears and iron it is made of."""

    name: str
    torque: float
    speed: float
    efficiency: float
    gears: int
    iron: int
    ratio: Fraction = Fraction(1)


@dataclass(frozen=True, slots=True)
class Stock:
    """What can be had; ``batch`` gears come of one making, out of 3 iron."""

    wheel: tuple[float, float]
    stages: tuple[Make, ...]
    shafts: tuple[Make, ...]
    needs: tuple[float, float]
    limits: tuple[float, float]
    batch: int
    end: int  # iron in a splitter or combiner
    first: tuple[int, ...] = field(default=())  # the stages of the rig as it is, all increasing

    def worth(self, gears: int, iron: int) -> int:
        """Iron is worth 1; gears come in whole batches."""
        return iron + 3 * math.ceil(gears / self.batch)


def small_stock(seed: int) -> Stock:
    """A stock and a rig for a seed: wheel, shaft, one or two stages up, machine."""
    dice = Random(f"line/{seed}")
    ratios = dice.sample([Fraction(2), Fraction(3), Fraction(4), Fraction(5, 2), Fraction(3, 2)], 2)
    stages = []
    for grade, torque, iron in (("weak", dice.choice((40, 60, 90)), 1), ("strong", dice.choice((150, 400)), 4)):
        efficiency, turns = dice.choice((1.0, 1.0, 0.95)), dice.choice((60, 300))
        for ratio in ratios:
            goods = (dice.randint(1, 3), iron * dice.randint(1, 4))
            stages.append(Make(f"{grade}-stage", torque, turns, efficiency, *goods, ratio))
    shafts = (Make("thin-shaft", dice.choice((60, 120)), 300, 1.0, 0, 1), Make("thick-shaft", 500, 300, 1.0, 0, 5))
    wheel = (float(dice.choice((80, 100, 120))), float(dice.choice((4, 8))))
    chosen = tuple(dice.choices(range(len(stages)), k=dice.randint(1, 2)))
    gain = math.prod((stages[k].ratio for k in chosen), start=Fraction(1))
    torque, speed = wheel[0] / float(gain), wheel[1] * float(gain)
    needs = (torque * dice.choice((0.3, 0.9, 1.5)), speed * dice.choice((0.3, 0.9, 1.5)))
    limits = (wheel[0] * dice.choice((0.5, 3)), speed * dice.choice((0.7, 1.2, 4)))
    return Stock(wheel, tuple(stages), shafts, needs, limits, dice.choice((1, 4)), dice.randint(1, 6), chosen)


def faults(stock: Stock) -> list[str]:
    """What is wrong with the rig as it is: rules, in driving order."""
    (torque, speed), found = stock.wheel, []
    for make in (stock.shafts[0], *(stock.stages[k] for k in stock.first)):
        out = torque * make.efficiency / float(make.ratio)
        turned = speed * float(make.ratio)
        found += ["torque-over-limit"] if max(torque, out) > make.torque * HOLDS else []
        found += ["speed-over-limit"] if turned > make.speed * HOLDS else []
        torque, speed = out, turned
    found += ["torque-over-limit"] if torque > stock.limits[0] * HOLDS else []
    found += ["speed-over-limit"] if speed > stock.limits[1] * HOLDS else []
    if torque < stock.needs[0] / HOLDS or speed < stock.needs[1] / HOLDS:
        found.append("machine-underdriven")
    return found


def cheapest(stock: Stock, split: bool) -> int | None:
    """The least that a line without fault adds in worth to the rig as it is; none where there is none."""
    old = [stock.shafts[0], *(stock.stages[k] for k in stock.first)]
    base = stock.worth(sum(m.gears for m in old), sum(m.iron for m in old))
    best: int | None = None
    signed = [(stage, up) for stage in stock.stages for up in (True, False)]
    for count in range(MOST_STAGES + 1):
        for chain in product(signed, repeat=count):
            for lines, first, last in _runs(count, split):
                gears = sum(m.gears * (lines if first <= k < last else 1) for k, (m, _) in enumerate(chain))
                iron = sum(m.iron * (lines if first <= k < last else 1) for k, (m, _) in enumerate(chain))
                iron += 2 * (lines - 1) * stock.end
                for shaft in stock.shafts:
                    worth = stock.worth(gears + shaft.gears, iron + shaft.iron) - base
                    if best is not None and worth >= best:
                        continue
                    if any(_holds(stock, chain, (lines, first, last), shaft, at) for at in range(count + 1)):
                        best = worth
    return best


def _runs(count: int, split: bool) -> Iterator[tuple[int, int, int]]:
    """How many lines, from which stage to before which."""
    yield 1, 0, 0
    if split:
        yield from ((n, a, b) for n in LINES[1:] for a in range(count) for b in range(a + 1, count + 1))


def _holds(
    stock: Stock, chain: tuple[tuple[Make, bool], ...], run: tuple[int, int, int], shaft: Make, at: int
) -> bool:
    """Whether a chain with its shaft before stage ``at`` stands all it carries, and the machine gets what it needs.

    A shaft does not stand inside lines side by side, and no stage undoes the one before it.
    """
    lines, first, last = run
    if first < at < last:
        return False
    torque, speed = stock.wheel
    before: tuple[Fraction, bool] | None = None
    for k in range(len(chain) + 1):
        if k == at and max(torque / shaft.torque, speed / shaft.speed) > HOLDS:
            return False
        if k == len(chain):
            break
        make, up = chain[k]
        # The ends of lines side by side stand between the stages on either side of them.
        if before == (make.ratio, not up) and not (lines > 1 and k in (first, last)):
            return False
        before = (make.ratio, up)
        side = lines if first <= k < last else 1
        factor = float(make.ratio) if up else 1 / float(make.ratio)
        out, turned = torque * make.efficiency / factor, speed * factor
        if max(torque, out) / side > make.torque * HOLDS or max(speed, turned) > make.speed * HOLDS:
            return False
        torque, speed = out, turned
    enough = torque >= stock.needs[0] / HOLDS and speed >= stock.needs[1] / HOLDS
    return enough and torque <= stock.limits[0] * HOLDS and speed <= stock.limits[1] * HOLDS
