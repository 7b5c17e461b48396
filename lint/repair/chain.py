"""Stages in line, some of them side by side: what leaves a chain of them, what it stands, what it is worth."""

import math
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

from lineshaft.schema.model.catalogue import Direction
from lineshaft.schema.quantities.ratio import Ratio
from lineshaft.solve.limits import EQUAL, over, short


class Stage(NamedTuple):
    """A stage as it may be had: item, grade (empty where it has no choice), ratio, direction and what it stands.

    ``worth`` is that of one, with fractions of batches; limits are in N*m and rad/s, none where it has none.
    """

    item: str
    grade: str
    ratio: Ratio
    direction: Direction
    efficiency: float = 1.0
    torque_limit: float | None = None
    speed_limit: float | None = None
    worth: float = 0.0

    @property
    def gain(self) -> Fraction:
        """Speed out for speed in, exactly."""
        return self.ratio.value if self.direction == "increase" else 1 / self.ratio.value

    @property
    def turn(self) -> float:
        """Speed out for speed in."""
        return self.ratio.factor if self.direction == "increase" else 1 / self.ratio.factor

    @property
    def words(self) -> str:
        """For example `iron-stage 96/16 : 1 increasing`."""
        verb = "increasing" if self.direction == "increase" else "reducing"
        grade = f" in {self.grade}" if self.grade else ""
        return f"{self.item}{grade} {self.ratio.text} : 1 {verb}"


class Pole(NamedTuple):
    """One end of lines that run side by side: a splitter or combiner as it may be had."""

    item: str
    grade: str
    efficiency: float = 1.0
    torque_limit: float | None = None
    speed_limit: float | None = None
    worth: float = 0.0


class Branching(NamedTuple):
    """A splitter that shares evenly and a combiner for as many lines."""

    ways: int
    splitter: Pole
    combiner: Pole

    @property
    def worth(self) -> float:
        """What the two ends are worth together."""
        return self.splitter.worth + self.combiner.worth


class Supply(NamedTuple):
    """What arrives: torque [N*m] and speed [rad/s], both above 0."""

    torque: float
    speed: float


class Wanted(NamedTuple):
    """The least torque [N*m], speed [rad/s] and power [W] at the end of a chain, and the most it may give."""

    torque: float = 0.0
    speed: float = 0.0
    power: float = 0.0
    torque_limit: float | None = None
    speed_limit: float | None = None


class Chain(NamedTuple):
    """Stages in order from what arrives; those from ``first`` to before ``last`` stand in each of ``ways`` lines.

    ``torque`` [N*m] and ``speed`` [rad/s] leave its end; ``share`` is the largest share of a limit on the way.
    """

    stages: tuple[Stage, ...]
    torque: float
    speed: float
    worth: float
    share: float
    branching: Branching | None = None
    first: int = 0
    last: int = 0

    @property
    def gain(self) -> Fraction:
        """Speed out for speed in, exactly."""
        return math.prod((stage.gain for stage in self.stages), start=Fraction(1))

    @property
    def ways(self) -> int:
        """How many lines run side by side; 1 where none do."""
        return 1 if self.branching is None else self.branching.ways

    @property
    def parts(self) -> int:
        """How many parts it takes."""
        beside = 0 if self.branching is None else 2 + (self.ways - 1) * (self.last - self.first)
        return len(self.stages) + beside

    @property
    def words(self) -> str:
        """The chain in words, from what arrives."""
        if not self.stages:
            return "no stage"
        names = [stage.words for stage in self.stages]
        if self.branching is None:
            return ", then ".join(names)
        inside = ", then ".join(names[self.first : self.last])
        beside = f"{self.ways} lines side by side (each {inside})"
        return ", then ".join([*names[: self.first], beside, *names[self.last :]])


def made(stages: tuple[Stage, ...], branchings: Sequence[Branching], supply: Supply) -> Iterator[Chain]:
    """The chain in one line where it stands the torque; else in several lines, once for each splitter and combiner."""
    torque, speed, worth, share = supply.torque, supply.speed, 0.0, 0.0
    over_at: list[int] = []
    worst = 0.0
    for at, stage in enumerate(stages):
        came, turned = torque, speed
        factor = stage.turn
        torque, speed = torque * stage.efficiency / factor, speed * factor
        worth += stage.worth
        used = _share(stage.torque_limit, max(came, torque))
        share = max(share, used, _share(stage.speed_limit, max(turned, speed)))
        if used > 1 + EQUAL:
            over_at.append(at)
            worst = max(worst, used)
    if not over_at:
        yield Chain(stages, torque, speed, worth, share)
        return
    for branching in branchings:
        if worst * branching.splitter.efficiency > branching.ways * (1 + EQUAL):
            continue
        for run in _runs_around(over_at[0], over_at[-1] + 1, len(stages), branching):
            chain = _branched(stages, run, branching, supply)
            if not chain.share > 1 + EQUAL:
                yield chain
                break


def _runs_around(first: int, last: int, length: int, branching: Branching) -> list[tuple[int, int]]:
    """Runs of stages that hold ``first`` to before ``last``, short ones first: longer lines may spare their ends."""
    if not any((*branching.splitter[3:5], *branching.combiner[3:5])):
        return [(first, last)]
    runs = [(a, b) for a in range(first + 1) for b in range(last, length + 1)]
    return sorted(runs, key=lambda run: (run[1] - run[0], run[0]))


def _share(limit: float | None, value: float) -> float:
    return 0.0 if limit is None else value / limit


def _branched(stages: tuple[Stage, ...], run: tuple[int, int], branching: Branching, supply: Supply) -> Chain:
    """The chain with the stages of a run in each of several lines."""
    first, last = run
    torque, speed, worth, share = supply.torque, supply.speed, branching.worth, 0.0
    for at, stage in enumerate(stages):
        if at == first:
            share = max(share, _carried(branching.splitter, torque, speed))
            torque *= branching.splitter.efficiency
        ways = branching.ways if first <= at < last else 1
        came, turned = torque, speed
        factor = stage.turn
        torque, speed = torque * stage.efficiency / factor, speed * factor
        worth += stage.worth * ways
        share = max(
            share,
            _share(stage.torque_limit, max(came, torque) / ways),
            _share(stage.speed_limit, max(turned, speed)),
        )
        if at == last - 1:
            each = torque / ways
            torque *= branching.combiner.efficiency
            share = max(share, _carried(branching.combiner, max(each, torque), speed))
    return Chain(stages, torque, speed, worth, share, branching, first, last)


def _carried(end: Pole, torque: float, speed: float) -> float:
    return max(_share(end.torque_limit, torque), _share(end.speed_limit, speed))


def gives(chain: Chain, wanted: Wanted) -> bool:
    """Whether what leaves a chain is enough, and not too much."""
    torque, speed = chain.torque, chain.speed
    if short(torque, wanted.torque) or short(speed, wanted.speed) or short(torque * speed, wanted.power):
        return False
    too_strong = wanted.torque_limit is not None and over(torque, wanted.torque_limit)
    too_fast = wanted.speed_limit is not None and over(speed, wanted.speed_limit)
    return not too_strong and not too_fast
