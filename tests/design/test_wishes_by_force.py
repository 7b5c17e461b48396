"""Designs of little wishes against brute force, a few of each kind. The long form is tests/trust/wishes_by_force.py."""

from pathlib import Path

import pytest
from shares import a_few
from trust.wishes_by_force import compared

from lineshaft.check.rulebook import Rulebook, open_rulebook

SEEDS = range(1000, 1024)


@pytest.fixture(scope="module")
def book() -> Rulebook:
    return open_rulebook()


@pytest.mark.parametrize("seed", a_few(SEEDS, 10))
def test_the_cheapest_is_that_of_brute_force_and_nothing_shown_is_beaten(
    seed: int, tmp_path: Path, book: Rulebook
) -> None:
    """And where there is none, none is shown; what is shown holds when it is reckoned by hand."""
    assert compared(seed, tmp_path, book)
