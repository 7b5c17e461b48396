"""Little segments by brute force: every row of elements there is, worked through one by one.

It shares nothing with the program: its own plain data, its own laws, its own trees. Figures are our own.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import product
from random import Random

HOLDS = 1 + 1e-9


@dataclass(frozen=True)
class Gear:
    """A stage that can be had: speed out for speed in, efficiency, limits [N*m, rad/s], cost."""

    gain: Fraction
    efficiency: float
    torque: float
    speed: float
    cost: int


@dataclass(frozen=True)
class Shaft:
    """A make of a part that stays; ``cost`` is beyond that of the part as it is, ``copy`` that of one more."""

    efficiency: float
    torque: float
    speed: float
    cost: int
    copy: int | None


@dataclass(frozen=True)
class Fork:
    """A splitter or combiner with so many ends, which shares evenly, or as one likes (``any_share``)."""

    ends: int
    efficiency: float
    torque: float
    speed: float
    cost: int
    any_share: bool = False


@dataclass(frozen=True)
class Problem:
    """A segment with what can be had for it, and what its end needs: least and most torque, speed; least power."""

    supply: tuple[float, float]
    kept: tuple[tuple[Shaft, ...], ...]
    gears: tuple[Gear, ...]
    splitters: tuple[Fork, ...]
    combiners: tuple[Fork, ...]
    torque: tuple[float, float]
    speed: tuple[float, float]
    power: float
    stages: int
    lines: int


Outcome = tuple[int, int, float]
"""Cost, parts put in, speed at the end [rad/s]."""


def little_problem(seed: int) -> Problem:
    """A problem for a seed: losses, grades, lines side by side, parts that stay and limits at the end, all small."""
    dice = Random(f"segment/{seed}")
    all_ratios = [Fraction(5, 2), Fraction(3), Fraction(7), Fraction(3, 2), Fraction(9, 5)]
    ratios = dice.sample(all_ratios, dice.choice((1, 2)))
    supply = (float(dice.choice((70, 130, 310, 900))), float(dice.choice((3, 8, 11))))
    gears = []
    for ratio in ratios:
        for _ in range(dice.choice((1, 1, 2))):
            efficiency = dice.choice((1.0, 1.0, 0.97, 0.9))
            costs = [dice.randint(0, 9)]
            for grade in range(dice.choice((1, 2))):
                torque, speed = supply[0] * dice.choice((0.3, 0.6, 1.3, 3.1)), supply[1] * dice.choice((2.2, 7.5, 40))
                cost = costs[0] + dice.choice((0, 3)) * grade
                gears += [Gear(gain, efficiency, torque, speed, cost) for gain in (ratio, 1 / ratio)]
    kept = []
    for _ in range(dice.choice((0, 1, 1, 2))):
        own = Shaft(1.0, supply[0] * dice.choice((0.4, 1.2, 3.0)), supply[1] * 30, 0, dice.choice((None, 2)))
        other = Shaft(
            dice.choice((1.0, 0.95)), supply[0] * dice.choice((1.1, 2.9)), supply[1] * 30, dice.randint(-1, 5), None
        )
        kept.append((own, other)[: dice.choice((1, 2))])
    splitters, combiners = [], []
    lines = dice.choice((1, 2, 3, 4))
    for ends in (2, 3)[: dice.choice((1, 2))]:
        loss = dice.choice((1.0, 1.0, 0.96))
        limit = supply[0] * dice.choice((1.1, 5.0))
        splitters.append(Fork(ends, loss, limit, supply[1] * 25, dice.randint(0, 4), dice.choice((True, False))))
        combiners.append(Fork(ends, loss, supply[0] * dice.choice((0.5, 6.0)), supply[1] * 25, dice.randint(0, 4)))
    gain = float(dice.choice(ratios)) ** dice.choice((-2, -1, 0, 1, 1, 2))
    torque, speed = supply[0] / gain, supply[1] * gain
    needs = (torque * dice.choice((0.0, 0.3, 0.8)), torque * dice.choice((1.05, 1.9, 50)))
    speeds = (speed * dice.choice((0.0, 0.7, 0.98)), speed * dice.choice((1.02, 3.3, 50)))
    power = supply[0] * supply[1] * dice.choice((0.0, 0.0, 0.93))
    return Problem(
        supply, tuple(kept), tuple(gears), tuple(splitters), tuple(combiners), needs, speeds, power,
        dice.choice((1, 2, 3)) if lines == 1 else 2, lines,
    )  # fmt: skip


def outcomes(problem: Problem) -> list[Outcome]:
    """Every way to lay the segment that holds and does: what it costs, how many parts it puts in, how fast its end."""
    return [outcome for outcome, _ in _ways(problem, _Way(problem.supply[0], problem.supply[1]))]


def straight_outcomes(problem: Problem) -> list[Outcome] | None:
    """The same but for what gears up and down again where another costs no more and has no more parts.

    None where two such are equally dear and have as many parts: either may stay then.
    """
    every = list(_ways(problem, _Way(problem.supply[0], problem.supply[1])))
    found: list[Outcome] = []
    for at, ((cost, parts, speed), straight) in enumerate(every):
        others = [(c, p, one) for k, ((c, p, _), one) in enumerate(every) if k != at and c <= cost and p <= parts]
        if not straight and others and all((c, p) == (cost, parts) and not one for c, p, one in others):
            return None
        if straight or not others:
            found.append((cost, parts, speed))
    return found


@dataclass(frozen=True)
class _Way:
    """A segment as far as it is laid; ``sides`` are torques of lines side by side, ``whole`` what one would carry."""

    whole: float
    speed: float
    sides: tuple[float, ...] | None = None
    passed: int = 0
    stages: int = 0
    cost: int = 0
    parts: int = 0
    needed: bool = False
    closed: bool = False
    before: Fraction | None = None
    ups: bool = False
    downs: bool = False


def _ways(problem: Problem, way: _Way) -> Iterator[tuple[Outcome, bool]]:
    """Each with whether it gears one way only."""
    if way.passed == len(problem.kept) and way.sides is None and _does(problem, way):
        yield (way.cost, way.parts, way.speed), not (way.ups and way.downs)
    for following in (*_gears(problem, way), *_shafts(problem, way), *_forks(problem, way)):
        yield from _ways(problem, following)


def _does(problem: Problem, way: _Way) -> bool:
    (least, most), (slowest, fastest) = problem.torque, problem.speed
    enough = way.whole * HOLDS >= least and way.speed * HOLDS >= slowest
    return (
        enough
        and way.whole <= most * HOLDS
        and way.speed <= fastest * HOLDS
        and way.whole * way.speed * HOLDS >= problem.power
    )


def _stands(torque: float, speed: float, limits: Gear | Shaft | Fork) -> bool:
    return torque <= limits.torque * HOLDS and speed <= limits.speed * HOLDS


def _gears(problem: Problem, way: _Way) -> Iterator[_Way]:
    if way.stages == problem.stages:
        return
    for gear in problem.gears:
        if way.before is not None and way.before * gear.gain == 1:
            continue
        factor = gear.efficiency / float(gear.gain)
        turned = way.speed * float(gear.gain)
        each = way.sides or (way.whole,)
        if not _stands(max(max(t, t * factor) for t in each), max(way.speed, turned), gear):
            continue
        needed = way.needed or not _stands(max(way.whole, way.whole * factor), 0.0, gear)
        yield _Way(
            way.whole * factor, turned, None if way.sides is None else tuple(t * factor for t in way.sides),
            way.passed, way.stages + 1, way.cost + gear.cost * len(each), way.parts + len(each),
            needed and way.sides is not None, way.closed, gear.gain, way.ups or gear.gain > 1,
            way.downs or gear.gain < 1,
        )  # fmt: skip


def _shafts(problem: Problem, way: _Way) -> Iterator[_Way]:
    """The next part that stays: as it is, if that stands; else in each other make that does."""
    if way.passed == len(problem.kept):
        return
    each = way.sides or (way.whole,)
    makes = problem.kept[way.passed]
    held = [make for make in makes if _stands(max(each), way.speed, make)]
    for make in held[:1] if makes[0] in held else held:
        if way.sides is not None and make.copy is None:
            continue
        needed = way.needed or not _stands(way.whole, 0.0, make)
        more = len(each) - 1
        yield _Way(
            way.whole * make.efficiency, way.speed,
            None if way.sides is None else tuple(t * make.efficiency for t in way.sides),
            way.passed + 1, way.stages, way.cost + make.cost + more * (make.copy or 0), way.parts + more,
            needed and way.sides is not None, way.closed, way.before, way.ups, way.downs,
        )  # fmt: skip


def _forks(problem: Problem, way: _Way) -> Iterator[_Way]:
    if way.sides is not None:
        if way.needed:
            for torque, cost, parts in _gathered(problem, way.sides, way.speed):
                yield _Way(
                    torque, way.speed, None, way.passed, way.stages, way.cost + cost, way.parts + parts, False, True,
                    None, way.ups, way.downs,
                )  # fmt: skip
        return
    if not way.closed:
        for lines in range(2, problem.lines + 1):
            for sides, cost, parts in _divided(problem, lines, way.whole, way.speed):
                yield _Way(
                    way.whole, way.speed, sides, way.passed, way.stages, way.cost + cost, way.parts + parts,
                    ups=way.ups, downs=way.downs,
                )  # fmt: skip


def _rows(lines: int, ends: int, most: int) -> Iterator[tuple[int, ...]]:
    if ends == 0:
        if lines == 0:
            yield ()
        return
    for first in range(min(lines, most), 0, -1):
        yield from ((first, *rest) for rest in _rows(lines - first, ends - 1, first))


def _divided(
    problem: Problem, lines: int, torque: float, speed: float
) -> Iterator[tuple[tuple[float, ...], int, int]]:
    """The torques of lines behind each tree of splitters, its cost and parts."""
    if lines == 1:
        yield (torque,), 0, 0
        return
    for fork in problem.splitters:
        if not _stands(torque, speed, fork):
            continue
        for row in _rows(lines, fork.ends, lines):
            if not fork.any_share and len(set(row)) > 1:
                continue
            out = torque * fork.efficiency
            branches = [list(_divided(problem, n, out * n / lines, speed)) for n in row]
            for chosen in product(*branches):
                sides = tuple(t for branch, _, _ in chosen for t in branch)
                yield sides, fork.cost + sum(c for _, c, _ in chosen), 1 + sum(p for _, _, p in chosen)


def _gathered(problem: Problem, sides: tuple[float, ...], speed: float) -> Iterator[tuple[float, int, int]]:
    """What leaves each tree of combiners, its cost and parts."""
    if len(sides) == 1:
        yield sides[0], 0, 0
        return
    for fork in problem.combiners:
        for row in _rows(len(sides), fork.ends, len(sides)):
            at, branches = 0, []
            for count in row:
                branches.append(list(_gathered(problem, sides[at : at + count], speed)))
                at += count
            for chosen in product(*branches):
                enters = [t for t, _, _ in chosen]
                out = sum(enters) * fork.efficiency
                if _stands(max(*enters, out), speed, fork):
                    yield out, fork.cost + sum(c for _, c, _ in chosen), 1 + sum(p for _, _, p in chosen)


def front(found: list[Outcome]) -> set[tuple[int, int, float]]:
    """The outcomes that no other beats: none costs no more, has no more parts and is as fast."""
    kept: list[Outcome] = []
    for cost, parts, speed in sorted(set(found), key=lambda o: (o[0], o[1], -o[2])):
        if not any(c <= cost and p <= parts and s >= speed * (1 - 1e-9) for c, p, s in kept):
            kept.append((cost, parts, speed))
    return {(cost, parts, float(f"{speed:.9g}")) for cost, parts, speed in kept}
