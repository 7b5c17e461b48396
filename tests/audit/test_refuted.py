"""What an audit claims, tried by code that shares nothing with it: two prime movers, misread digits, and "nothing"."""

import random
from collections.abc import Iterator
from typing import Any

import pytest
import yaml
from audit.made_rigs import is_misread, keys, solved
from independent.brute_diagnosis import Case, misread, pieces, smallest
from independent.linear_solver import solve
from rig_maker import make_rig
from rig_maker.as_built import Pairs, Seeded, built, places_of, written
from rig_maker.plan import GeneratedRig, PlannedPart
from shares import a_few

from lineshaft.audit.diagnosis import Diagnosis, diagnose
from lineshaft.solve.solved_rig import SolvedRig

SURE = 0.98  # of a tolerance: sets with a larger least error may be in or out by a hair


def _rigs(most: int) -> Iterator[tuple[int, GeneratedRig, dict[str, Any]]]:
    for seed in range(most):
        generated = make_rig(seed, 6 + seed % 6)
        yield seed, generated, yaml.safe_load(generated.catalogue_text)["items"]


def _taken(generated: GeneratedRig, items: dict[str, Any], where: list[Any], read: Pairs) -> tuple[SolvedRig, Case]:
    rig = solved(generated.text + written(where, read), generated.catalogue_text, generated.catalogue)
    return rig, Case(generated.plan, items, tuple(where), tuple(read))


def _movers(generated: GeneratedRig) -> list[PlannedPart]:
    return [part for part in generated.plan if part.output is not None]


def _in_common(generated: GeneratedRig, items: dict[str, Any], rng: random.Random) -> list[Seeded]:
    """All prime movers of a rig slower in proportion, or with as much less head; empty where that does not fit it."""
    together = max(pieces(generated.plan), key=lambda piece: sum(part.name in piece for part in _movers(generated)))
    movers = [part for part in _movers(generated) if part.name in together]
    if len(movers) < 2 or len({part.item for part in movers}) > 1:
        return []
    if "head" not in movers[0].settings:
        value = rng.uniform(0.4, 0.9)
        return [Seeded("lower-speed", part.name, value=value) for part in movers]
    heads = [float(part.settings["head"].split()[0]) for part in movers]
    least = 2.0 if "table" in items[movers[0].item] else 0.3 * min(heads)
    drop = rng.uniform(0.3, 0.9) * (min(heads) - least)
    if drop < 0.1 * min(heads):
        return []
    return [Seeded("lower-head", part.name, value=head - drop) for part, head in zip(movers, heads, strict=True)]


@pytest.mark.parametrize("rigs", a_few([5, 25], 1))
def test_prime_movers_that_are_weaker_together_are_found(rigs: int) -> None:
    """In generated rigs whose prime movers meet at a combiner: all heads lower, or all slower; read at four places.

    The true cause is among the explanations, and no explanation of as few deviations is missing or made up.
    """
    found = 0
    for seed, generated, items in _rigs(400):
        rng = random.Random(f"{seed}/common")
        seeded = _in_common(generated, items, rng)
        if not seeded:
            continue
        where = places_of(generated.plan, rng, 4)
        values = built(where, generated.plan, items, seeded, solve)
        if values is None:
            continue
        read = [(t * (1 + rng.uniform(-0.008, 0.008)), w * (1 + rng.uniform(-0.008, 0.008))) for t, w in values]
        rig, case = _taken(generated, items, where, read)
        diagnosis = diagnose(rig)
        if not diagnosis.wrong:
            continue  # read at none of them
        truth = frozenset((one.kind, one.part, None) for one in seeded)
        mine = {keys(rig, one) for one in diagnosis.explanations if not is_misread(one)}
        tried = smallest(case, most=1)
        assert {one for one, error in tried.items() if error < SURE} <= mine <= tried.keys(), seed
        assert truth in mine, (seed, truth, mine)
        assert (diagnosis.unexplained, diagnosis.complete) == ((), True)
        found += 1
        if found == rigs:
            return
    raise AssertionError(f"only {found} rigs fit")


def _misread_digit(value: float, rng: random.Random) -> float:
    """A number to four figures with one of its first two digits another."""
    digits = list(f"{value:.3e}")
    at = rng.choice((0, 2))
    digits[at] = rng.choice([d for d in "123456789" if d != digits[at]])
    return float("".join(digits))


def test_one_misread_digit_is_among_the_explanations() -> None:
    """In 30 generated rigs read at five places, one digit of one number is another, so that it disagrees."""
    found = 0
    for seed, generated, items in _rigs(100):
        rng = random.Random(f"{seed}/digit")
        where = places_of(generated.plan, rng, 5)
        values = built(where, generated.plan, items, [], solve)
        if values is None or not all(t and w for t, w in values):
            continue
        at = rng.randrange(len(values))
        torque, speed = values[at]
        wrong = (_misread_digit(torque, rng), speed) if rng.random() < 0.5 else (torque, _misread_digit(speed, rng))
        read = [*values[:at], wrong, *values[at + 1 :]]
        rig, case = _taken(generated, items, where, read)
        if misread(case) != [at]:
            continue  # within the tolerance, or the one number of its train
        diagnosis = diagnose(rig)
        named = [one.deviations[0].reading for one in diagnosis.explanations if is_misread(one)]
        assert named == [at], seed
        weights = [one.weight for one in diagnosis.explanations]
        assert weights == sorted(weights)
        found += 1
        if found == 30:
            return
    raise AssertionError(f"only {found} rigs fit")


def _claims_nothing(diagnosis: Diagnosis) -> bool:
    return diagnosis.wrong and not diagnosis.explanations and diagnosis.complete


@pytest.mark.parametrize("least", a_few([2, 6], 1))
def test_nothing_explains_is_refuted_by_no_set_of_two(least: int) -> None:
    """Two numbers of a small rig are spoilt at random: where the audit says that nothing explains, brute force agrees.

    It tries every set of one and two, a wrong reading and what prime movers have in common; no set of three.
    """
    claims = 0
    for seed, generated, items in _rigs(200):
        if len(generated.plan) > 8:
            continue
        rng = random.Random(f"{seed}/spoilt")
        where = places_of(generated.plan, rng, 3)
        values = built(where, generated.plan, items, [], solve)
        if values is None or not all(t and w for t, w in values):
            continue
        read = list(values)
        for at in rng.sample(range(len(read)), 2):
            torque, speed = read[at]
            factor = rng.choice((0.31, 0.77, 1.3, 2.9))
            read[at] = (torque * factor, speed) if rng.random() < 0.5 else (torque, speed * factor)
        rig, case = _taken(generated, items, where, read)
        diagnosis = diagnose(rig)
        if not _claims_nothing(diagnosis):
            continue
        assert misread(case) == [], seed
        refuted = {one: error for one, error in smallest(case, most=2).items() if error < SURE}
        assert refuted == {}, (seed, refuted)
        claims += 1
        if claims == least:
            return
    raise AssertionError(f"only {claims} claims")
