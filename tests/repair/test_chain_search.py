"""The search for chains against trying everything, and against a choice by hand."""

import random
from collections.abc import Iterator
from fractions import Fraction
from itertools import product

import pytest

from lineshaft.repair.chain import Branching, Chain, Pole, Stage, Supply, Wanted
from lineshaft.repair.chain_search import chains, gains_within
from lineshaft.schema.quantities.ratio import Ratio


def _stage(item: str, ratio: int | Fraction, direction: str = "increase", **more: float) -> Stage:
    exact = Fraction(ratio)
    way = "increase" if direction == "increase" else "reduce"
    return Stage(item, "", Ratio(exact, str(exact), float(exact)), way, **more)  # type: ignore[arg-type]


def _choice(cheap: float, strong: float, ends: float = 0.0) -> list[Chain]:
    """6,300 N·m at 6 rad/s; 300 N·m wanted at 126 rad/s; a cheap grade to 4,500 N·m and a strong one to 13,000."""
    ratios = (Fraction(5, 2), 3, 6, 7)
    stages = [_stage("cheap", ratio, torque_limit=4500.0, worth=cheap) for ratio in ratios]
    stages += [_stage("strong", ratio, torque_limit=13000.0, worth=strong) for ratio in ratios]
    two = Branching(2, Pole("divide", "", worth=ends / 2), Pole("gather", "", worth=ends / 2))
    return list(chains(stages, Supply(6300, 6), Wanted(torque=300, speed=126), [two], most=2))


def test_the_choice_has_both_ways() -> None:
    """A strong 3, then a cheap 7; or two lines of a cheap 3 or 7 each, then the other. Common practice, no source."""
    found = {chain.words for chain in _choice(cheap=10, strong=25)}
    assert "strong 3 : 1 increasing, then cheap 7 : 1 increasing" in found
    words = "2 lines side by side (each cheap {} : 1 increasing), then cheap {} : 1 increasing"
    beside = {words.format(3, 7), words.format(7, 3)}
    assert not found.isdisjoint(beside)


def test_the_catalogue_decides_which_is_cheaper() -> None:
    """Strong 25 and cheap 10: 35 in line against 3 · 10 = 30; with 8 for dividing and gathering, 38. By hand."""
    first = _choice(cheap=10, strong=25)[0]
    assert (first.ways, first.worth, first.parts) == (2, 30, 5)
    first = _choice(cheap=10, strong=25, ends=8)[0]
    assert (first.ways, first.worth, first.parts) == (1, 35, 2)


def test_no_stage_stands_in_front_that_breaks() -> None:
    """Whatever is found, a cheap stage never gets more than 4,500 N·m: none stands first in a single line."""
    for chain in _choice(cheap=10, strong=25):
        assert chain.share <= 1
        assert chain.ways == 2 or chain.stages[0].item == "strong"


def test_splitting_never_helps_against_speed() -> None:
    """A stage good to 100 rad/s that would turn at 120 is not taken, in one line or in two. Common practice."""
    stages = [_stage("slow", 3, speed_limit=100.0)]
    two = Branching(2, Pole("divide", ""), Pole("gather", ""))
    assert list(chains(stages, Supply(100, 40), Wanted(speed=120), [two])) == []


def test_weak_ends_take_a_longer_run() -> None:
    """A gatherer good to 700 N·m cannot stand 1,800 behind the first stage, but 600 behind the second. By hand.

    5,400 N·m in two lines, 2,700 each; / 3 = 900 each, / 3 = 300 each, together 600.
    """
    stages = [_stage("cheap", 3, torque_limit=3000.0)]
    two = Branching(2, Pole("divide", ""), Pole("gather", "", torque_limit=700.0))
    (found,) = chains(stages, Supply(5400, 5), Wanted(torque=600, speed=45), [two], most=2)
    assert (found.first, found.last, found.torque, found.speed) == (0, 2, 600, 45)


def test_losses_count() -> None:
    """900 N·m through 5/2 at 0.96 leaves 345.6 N·m: enough for 345, not for 346. By hand."""
    stages = [_stage("open", Fraction(5, 2), efficiency=0.96)]
    assert len(list(chains(stages, Supply(900, 8), Wanted(torque=345, speed=20), most=1))) == 1
    assert list(chains(stages, Supply(900, 8), Wanted(torque=346, speed=20), most=1)) == []


def test_what_arrives_may_be_enough() -> None:
    """Where nothing needs to change, no stage is the cheapest chain."""
    first = next(chains([_stage("any", 3, worth=1.0)], Supply(10, 10), Wanted(torque=5, speed=5)))
    assert (first.stages, first.worth, first.words) == ((), 0, "no stage")


def test_gains_within_against_trying_all() -> None:
    """The same choices as trying every one of up to three, for rising, falling and mixed gains."""
    gains = [Fraction(9, 5), Fraction(5, 2), Fraction(6), Fraction(1, 3), Fraction(2, 7)]
    for low, high in ((Fraction(1, 20), Fraction(30)), (Fraction(5), Fraction(5)), (Fraction(3, 2), Fraction(2))):
        tried = {
            tuple(sorted(choice))
            for length in range(4)
            for choice in product(gains, repeat=length)
            if low <= _product(choice) <= high
        }
        found = list(gains_within(gains, low, high, 3))
        assert len(found) == len(set(found))
        assert set(found) == tried


def _product(gains: tuple[Fraction, ...]) -> Fraction:
    made = Fraction(1)
    for gain in gains:
        made *= gain
    return made


def _brute_force(stages: list[Stage], two: list[Branching], supply: Supply, wanted: Wanted) -> Iterator[float]:
    """The worth of each sequence of up to three stages that holds, each run of it in one or two lines."""
    for length in range(4):
        for chosen in product(stages, repeat=length):
            yield from _worths(chosen, None, (0, 0), supply, wanted)
            runs = [(a, b) for a in range(length) for b in range(a + 1, length + 1)]
            for branching, run in product(two, runs):
                yield from _worths(chosen, branching, run, supply, wanted)


def _worths(
    chosen: tuple[Stage, ...], two: Branching | None, run: tuple[int, int], supply: Supply, wanted: Wanted
) -> Iterator[float]:
    torque, speed = supply
    worth = 0.0 if two is None else two.splitter.worth + two.combiner.worth
    for at, stage in enumerate(chosen):
        if two is not None and at == run[0] and torque > (two.splitter.torque_limit or 1e99) * 1.0000001:
            return
        lines = 1 if two is None or not run[0] <= at < run[1] else two.ways
        i = stage.ratio.factor
        gives = torque * stage.efficiency * (1 / i if stage.direction == "increase" else i)
        turns = speed * (i if stage.direction == "increase" else 1 / i)
        if max(torque, gives) / lines > (stage.torque_limit or 1e99) * 1.0000001:
            return
        if max(speed, turns) > (stage.speed_limit or 1e99) * 1.0000001:
            return
        torque, speed, worth = gives, turns, worth + lines * stage.worth
        if two is not None and at == run[1] - 1 and torque > (two.combiner.torque_limit or 1e99) * 1.0000001:
            return
    if torque >= wanted.torque * 0.9999999 and speed >= wanted.speed * 0.9999999:
        yield worth


@pytest.mark.parametrize("seed", range(100))
def test_the_cheapest_is_the_cheapest(seed: int) -> None:
    """On random catalogues the first chain is worth what trying every sequence finds, or both find nothing."""
    chance = random.Random(seed)
    stages = [
        _stage(
            f"s{number}",
            chance.choice([Fraction(9, 5), Fraction(5, 2), Fraction(3), Fraction(7, 2), Fraction(6)]),
            chance.choice(["increase", "increase", "reduce"]),
            efficiency=chance.choice([1.0, 1.0, 0.9]),
            torque_limit=float(chance.choice([350, 600, 1100, 5000])),
            speed_limit=float(chance.choice([40, 90, 250])),
            worth=float(chance.randint(1, 20)),
        )
        for number in range(chance.randint(2, 6))
    ]
    ends = [chance.randint(0, 6), chance.randint(0, 6)]
    two = [
        Branching(
            ways,
            Pole("divide", "", torque_limit=float(chance.choice([900, 9000])), worth=float(ends[0])),
            Pole("gather", "", torque_limit=float(chance.choice([400, 9000])), worth=float(ends[1])),
        )
        for ways in (2, 3)
    ]
    supply = Supply(float(chance.choice([800, 1500, 3000])), 8.0)
    wanted = Wanted(torque=float(chance.choice([60, 150, 400])), speed=float(chance.choice([3, 15, 45])))
    tried = min(_brute_force(stages, two, supply, wanted), default=None)
    found = next(chains(stages, supply, wanted, two, most=3), None)
    assert (None if found is None else found.worth) == (None if tried is None else pytest.approx(tried))
