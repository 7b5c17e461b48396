"""Little seeded wishes and every design of one within narrow bounds, tried by force: no lineshaft inside.

Up to two machines and two prime movers, two stages a stretch, one splitter, one combiner. Torque and speed are followed
by hand; what a design costs is its whole bill with batches rounded. Figures are our own.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from functools import cache
from itertools import permutations, product
from random import Random
from typing import NamedTuple

import yaml

EQUAL = 1 + 1e-9
MOST_WHOLE = 400
"""The largest sum of whole shares."""


class StageItem(NamedTuple):
    """A stage: limits, ratios with gears and irons that each takes, efficiency, and what lubricant it holds [L]."""

    name: str
    torque: float
    speed: float
    ratios: Mapping[Fraction, tuple[int, int]]
    efficiency: float
    holds: float | None


class End(NamedTuple):
    """A splitter or combiner of two: its torque limit, rows of shares (none: any), gears and irons."""

    torque: float
    rows: tuple[tuple[int, int], ...] | None
    goods: tuple[int, int]


class Machine(NamedTuple):
    """A machine: what it needs, its limits, and the speed up to which it works faster."""

    torque: float
    speed: float
    most_torque: float
    most_speed: float
    fastest: float


class LittleWish(NamedTuple):
    """A wish with its catalogue; irons worth 1 each, so many to a batch of gears, so many gears in a batch."""

    sources: tuple[tuple[float, float], ...]
    machines: tuple[Machine, ...]
    stages: tuple[StageItem, ...]
    splitter: End | None
    combiner: End | None
    irons: int
    batch: int


class Design(NamedTuple):
    """What a design comes to: cost, parts, and the speed that counts of each machine."""

    cost: float
    parts: int
    rates: tuple[float, ...]


def little_wish(seed: int) -> LittleWish:
    """A wish by number; of every five three share a prime mover, one or two combine two."""
    draw = Random(seed)
    kind = ("shared", "combined", "shared", "apart", "mixed")[seed % 5]
    sources = [(draw.choice([300, 500, 700, 900, 1500]), draw.choice([3, 5, 6, 7, 10]))]
    ratios = draw.sample([Fraction(5, 2), Fraction(3), Fraction(7, 2), Fraction(5), Fraction(7, 3)], 3)
    stages = []
    for number in range(draw.choice([1, 2, 2])):
        taken = ratios[: draw.choice([1, 2])] if number == 0 else ratios[1 : 1 + draw.choice([1, 2])]
        stages.append(
            StageItem(
                f"stage{number}",
                draw.choice([1100, 1900, 5000, 9000]),
                draw.choice([110, 300, 900]),
                {ratio: (draw.randint(1, 5), draw.randint(0, 3)) for ratio in taken},
                draw.choice([1.0, 1.0, 0.95, 0.9]),
                draw.choice([None, None, 0.3, 3.0]),
            )
        )
    if kind in ("combined", "apart", "mixed"):
        turn = sources[0][1] * draw.choice([1, 1, *map(float, stages[0].ratios), Fraction(7, 5)])
        sources.append((draw.choice([300, 500, 700, 900]), float(turn)))
    power = sum(torque * speed for torque, speed in sources)
    machines = []
    count = 1 if kind == "combined" else 2
    for _ in range(count):
        gain = 1.0
        for _ in range(draw.choice([0, 1, 1, 2])):
            gain *= float(draw.choice(list(draw.choice(stages).ratios))) ** draw.choice([1, 1, -1])
        # Mostly a speed that some stages reach, and sometimes any.
        near = sources[0][1] * gain * draw.choice([0.5, 0.7, 0.9])
        speed = round(near, 1) or 0.3 if draw.random() < 0.85 else draw.choice([1, 5, 9, 13, 21, 30])
        share = draw.choice([0.1, 0.2, 0.3, 0.4]) if count == 2 else draw.choice([0.3, 0.5, 0.8])
        torque = round(power * share / speed * draw.choice([0.5, 0.7, 1.0]), 1)
        limits = (round(torque * draw.choice([1.5, 5, 9, 30]), 1), speed * draw.choice([3, 5, 11]))
        machines.append(Machine(torque, speed, *limits, speed * draw.choice([1.5, 3, 5])))
    rows = draw.choice([None, None, ((1, 1), (2, 3)), ((3, 5), (1, 6))])
    splitter = End(draw.choice([900, 3000, 7000]), rows, (draw.randint(1, 3), draw.randint(0, 5)))
    combiner = End(draw.choice([900, 3000, 7000]), None, (draw.randint(1, 3), draw.randint(0, 5)))
    batch = 1 if seed % 3 else draw.choice([3, 5])
    return LittleWish(
        tuple(sources), tuple(machines), tuple(stages), splitter if draw.random() < 0.9 else None,
        combiner if draw.random() < 0.9 else None, draw.choice([1, 3]), batch,
    )  # fmt: skip


class Way(NamedTuple):
    """Stages in line from a speed: torque from 0 to a most, what is passed on of it, speed, gears, irons, parts."""

    most: float
    passes: float
    speed: float
    gears: int
    irons: int
    parts: int
    last: float = 0.0


def _ways(wish: LittleWish, speed: float) -> list[Way]:
    """Every line of up to two stages, both ways round, that keeps to the speed limits."""
    found = [Way(math.inf, 1.0, speed, 0, 0, 0)]
    options = [(s, r, up) for s in wish.stages for r in s.ratios for up in (True, False)]
    frontier = found[:]
    for _ in range(2):
        following = []
        for way in frontier:
            for stage, ratio, up in options:
                gain = float(ratio) if up else float(1 / ratio)
                if math.isclose(gain * way.last, 1.0):
                    continue  # a stage that undoes the one above it is never proposed
                after = way.speed * gain
                if max(way.speed, after) > stage.speed * EQUAL:
                    continue
                passes = way.passes * stage.efficiency / gain
                most = min(way.most, stage.torque / max(way.passes, passes))
                gears, irons = stage.ratios[ratio]
                following.append(Way(most, passes, after, way.gears + gears, way.irons + irons, way.parts + 1, gain))
        found += following
        frontier = following
    return found


class _Line(NamedTuple):
    """A line to a machine: torque at its head from a least to a most, speed that counts, gears, irons, parts."""

    least: float
    most: float
    rate: float
    gears: int
    irons: int
    parts: int


def _lines(wish: LittleWish, machine: Machine, speed: float) -> list[_Line]:
    found = []
    for way in _ways(wish, speed):
        if way.speed * EQUAL < machine.speed or way.speed > machine.most_speed * EQUAL:
            continue
        least, most = machine.torque / way.passes, min(way.most, machine.most_torque / way.passes)
        if least <= most * EQUAL:
            found.append(_Line(least, most, min(way.speed, machine.fastest), way.gears, way.irons, way.parts))
    return found


def _whole(lows: Sequence[float], highs: Sequence[float], total: float) -> bool:
    """Whether some whole shares up to a sum give each outlet what it takes."""
    for whole in range(len(lows), MOST_WHOLE + 1):
        least = [max(1, math.ceil(whole * low / total - 1e-12 * whole)) for low in lows]
        most = [math.floor(whole * min(1.0, high / total) + 1e-12 * whole) for high in highs]
        if all(a <= b for a, b in zip(least, most, strict=True)) and sum(least) <= whole <= sum(most):
            return True
    return False


def cost(wish: LittleWish, gears: int, irons: int) -> float:
    """The whole bill: gears in batches."""
    return math.ceil(gears / wish.batch) * wish.irons + irons


def _served(wish: LittleWish, machines: tuple[int, ...], torque: float, speed: float) -> Iterator[_Line]:
    """Every way to serve one machine or two from an outlet; the rates as a tuple in place of one."""
    if len(machines) == 1:
        for line in _lines(wish, wish.machines[machines[0]], speed):
            if line.least <= torque * EQUAL and torque <= line.most * EQUAL:
                yield line._replace(rate=(line.rate,))  # type: ignore[arg-type]
        return
    split = wish.splitter
    if split is None:
        return
    for head in _ways(wish, speed):
        if torque > head.most * EQUAL:
            continue
        arrives = torque * head.passes
        if arrives > split.torque * EQUAL:
            continue
        each = [_lines(wish, wish.machines[number], head.speed) for number in machines]
        for one, other in product(*each):
            if not _shared(split, one, other, arrives):
                continue
            yield _Line(
                0.0, 0.0, (one.rate, other.rate),  # type: ignore[arg-type]
                head.gears + one.gears + other.gears + split.goods[0],
                head.irons + one.irons + other.irons + split.goods[1], head.parts + one.parts + other.parts + 1,
            )  # fmt: skip


def _shared(split: End, one: _Line, other: _Line, arrives: float) -> bool:
    lows, highs = (one.least, other.least), (one.most, other.most)
    if sum(lows) > arrives * EQUAL or sum(highs) * EQUAL < arrives:
        return False
    if split.rows is None:
        return _whole(lows, highs, arrives)
    for row in split.rows:
        for order in permutations(row):
            given = [arrives * share / sum(row) for share in order]
            if all(a <= t * EQUAL and t <= b * EQUAL for a, t, b in zip(lows, given, highs, strict=True)):
                return True
    return False


def designs(wish: LittleWish) -> list[Design]:
    """The front of all designs: none beats another in cost, parts and every rate. Every prime mover is put to use."""
    found: dict[tuple[int, int, int, tuple[float, ...]], None] = {}
    count = len(wish.machines)
    every = tuple(range(count))
    if len(wish.sources) == 1:
        for line in _served(wish, every, *wish.sources[0]):
            found[line.gears, line.irons, line.parts, line.rate] = None  # type: ignore[index]
    if len(wish.sources) == 2:
        for line in _both(wish, every):
            found[line] = None
        if count == 2:
            for order in ((0, 1), (1, 0)):
                each = [[*_served(wish, (m,), *wish.sources[s])] for m, s in enumerate(order)]
                for one, other in product(*each):
                    rates = (*one.rate, *other.rate)  # type: ignore[misc]
                    found[one.gears + other.gears, one.irons + other.irons, one.parts + other.parts, rates] = None
    return _front({Design(cost(wish, g, i), parts, rates) for g, i, parts, rates in found})


def _both(wish: LittleWish, every: tuple[int, ...]) -> Iterator[tuple[int, int, int, tuple[float, ...]]]:
    """Both prime movers geared to one speed, gathered, and led on."""
    yoke = wish.combiner
    if yoke is None:
        return
    lines = [[w for w in _ways(wish, speed) if torque <= w.most * EQUAL] for torque, speed in wish.sources]
    states: set[tuple[float, float, int, int, int]] = set()
    for one, other in product(*lines):
        if abs(one.speed - other.speed) > 1e-7 * one.speed:
            continue
        torques = [t * w.passes for (t, _), w in zip(wish.sources, (one, other), strict=True)]
        if sum(torques) <= yoke.torque * EQUAL:
            states.add((
                sum(torques), one.speed, one.gears + other.gears + yoke.goods[0],
                one.irons + other.irons + yoke.goods[1], one.parts + other.parts + 1,
            ))  # fmt: skip

    @cache
    def led_on(torque: float, speed: float) -> tuple[_Line, ...]:
        return tuple(dict.fromkeys(_served(wish, every, torque, speed)))

    for torque, speed, gears, irons, parts in states:
        for line in led_on(torque, speed):
            yield gears + line.gears, irons + line.irons, parts + line.parts, line.rate  # type: ignore[misc]


def beats(one: Design, other: Design) -> bool:
    """Whether a design is as good as another in all and better in something."""
    if one.cost > other.cost + 1e-9 or one.parts > other.parts:
        return False
    pairs = list(zip(one.rates, other.rates, strict=True))
    if any(a * EQUAL < b for a, b in pairs):
        return False
    return one.cost < other.cost - 1e-9 or one.parts < other.parts or any(a > b * EQUAL for a, b in pairs)


def _front(found: set[Design]) -> list[Design]:
    kept: list[Design] = []
    for design in sorted(found, key=lambda d: (d.cost, d.parts, [-r for r in d.rates])):
        if not any(beats(other, design) for other in kept):
            kept.append(design)
    return kept


def catalogue_text(wish: LittleWish) -> str:
    """The catalogue of a wish."""
    lines = ["catalogue: 1", "name: Little works", 'edition: "1"', "lubricants: [oil]", "items:"]
    for number, (torque, speed) in enumerate(wish.sources):
        lines.append(
            f"  mover{number}: {{kind: prime-mover, output: {{torque: {torque} N*m, speed: {speed!r} rad/s}}}}"
        )
    for stage in wish.stages:
        ratios = ", ".join(f"{ratio}: {{made-of: {_goods(goods)}}}" for ratio, goods in stage.ratios.items())
        oil = "" if stage.holds is None else f", lubricant: {{kind: oil, holds: {stage.holds} L, uses: 0.1 mL/s}}"
        limits = f"torque-limit: {stage.torque} N*m, speed-limit: {stage.speed} rad/s, efficiency: {stage.efficiency}"
        lines.append(f"  {stage.name}: {{kind: gear-stage, {limits}, ratios: {{{ratios}}}{oil}}}")
    if wish.splitter is not None:
        rows = "any" if wish.splitter.rows is None else str([list(row) for row in wish.splitter.rows])
        made = f"torque-limit: {wish.splitter.torque} N*m, made-of: {_goods(wish.splitter.goods)}"
        lines.append(f"  fork: {{kind: splitter, outlets: 2, shares: {rows}, {made}}}")
    if wish.combiner is not None:
        made = f"torque-limit: {wish.combiner.torque} N*m, made-of: {_goods(wish.combiner.goods)}"
        lines.append(f"  yoke: {{kind: combiner, inlets: 2, {made}}}")
    for number, machine in enumerate(wish.machines):
        needs = f"needs: {{torque: {machine.torque} N*m, speed: {machine.speed} rad/s}}"
        limits = f"limits: {{torque: {machine.most_torque} N*m, speed: {machine.most_speed} rad/s}}"
        slow, fast = machine.speed, max(machine.fastest, machine.speed * 1.1)
        work = f"work: {{unit: piece, times: [[{slow} rad/s, 70 s], [{fast} rad/s, 30 s]], between: linear}}"
        lines.append(f"  machine{number}: {{kind: driven-machine, {needs}, {limits}, {work}}}")
    lines.append(f"components: {{gear: {{made-of: {{iron: {wish.irons}}}, yields: {wish.batch}}}}}")
    lines.append("raw: {iron: {worth: 1}}")
    return "\n".join(lines) + "\n"


def _goods(goods: tuple[int, int]) -> str:
    named = zip(("gear", "iron"), goods, strict=True)
    return "{" + ", ".join(f"{name}: {number}" for name, number in named if number) + "}"


def rig_text(wish: LittleWish) -> str:
    """The rig of a wish."""
    parts = [f"  source{n}: {{item: mover{n}}}" for n in range(len(wish.sources))]
    parts += [f"  m{n}: {{item: machine{n}}}" for n in range(len(wish.machines))]
    return "rig: 1\nname: Wish\ncatalogue: little.catalogue.yaml\nparts:\n" + "\n".join(parts) + "\n"


def evaluated(wish: LittleWish, text: str) -> Design:
    """What a written design comes to, part by part. Raises AssertionError where it does not hold."""
    parts = yaml.safe_load(text)["parts"]
    items = {stage.name: stage for stage in wish.stages}
    gears = irons = 0
    used: set[str] = set()

    def out(name: str) -> tuple[float, float]:
        nonlocal gears, irons
        name, _, outlet = name.partition(".")
        assert f"{name}.{outlet}" not in used, "an outlet drives two parts"
        used.add(f"{name}.{outlet}")
        part = parts[name]
        item = part["item"]
        if item.startswith("mover"):
            return wish.sources[int(item[5:])]
        if item == "yoke":
            assert wish.combiner is not None
            ins = [out(one) for one in part["driven-by"]]
            assert len(ins) == 2 and abs(ins[0][1] - ins[1][1]) <= 1e-6 * ins[0][1]
            total = sum(torque for torque, _ in ins)
            assert total <= wish.combiner.torque * EQUAL
            gears, irons = gears + wish.combiner.goods[0], irons + wish.combiner.goods[1]
            return total, max(speed for _, speed in ins)
        if item == "fork":
            torque, speed = arrives[name] if name in arrives else arrives.setdefault(name, out(part["driven-by"]))
            if name not in counted:
                counted.add(name)
                assert wish.splitter is not None and torque <= wish.splitter.torque * EQUAL
                gears, irons = gears + wish.splitter.goods[0], irons + wish.splitter.goods[1]
                rows = wish.splitter.rows
                weights = sorted(part["shares"].values())
                assert rows is None or any(
                    math.isclose(weights[0] * row[1], weights[1] * row[0]) for row in map(sorted, rows)
                )
            return torque * part["shares"][outlet] / sum(part["shares"].values()), speed
        stage = items[item]
        torque, speed = out(part["driven-by"])
        ratio = Fraction(str(part["ratio"]))
        gain = float(ratio) if part["set"] == "increase" else float(1 / ratio)
        after = torque / gain * stage.efficiency, speed * gain
        assert max(torque, after[0]) <= stage.torque * EQUAL and max(speed, after[1]) <= stage.speed * EQUAL
        gears, irons = gears + stage.ratios[ratio][0], irons + stage.ratios[ratio][1]
        return after

    arrives: dict[str, tuple[float, float]] = {}
    counted: set[str] = set()
    rates = []
    for number, machine in enumerate(wish.machines):
        torque, speed = out(parts[f"m{number}"]["driven-by"])
        assert torque * EQUAL >= machine.torque and speed * EQUAL >= machine.speed
        assert torque <= machine.most_torque * EQUAL and speed <= machine.most_speed * EQUAL
        rates.append(min(speed, max(machine.fastest, machine.speed * 1.1)))
    added = len(parts) - len(wish.sources) - len(wish.machines)
    return Design(cost(wish, gears, irons), added, tuple(rates))
