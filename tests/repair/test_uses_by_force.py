"""What stands in a placed blueprint, repaired and sized in the rig's own file, against every edit of that file.

The long form, pairs of edits too, is tests/trust/uses_by_force.py.
"""

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from independent.placed_by_force import PlacedRig, placed_rig
from shares import a_few
from trust.uses_by_force import Outcome, outcomes

OF_ALL_KINDS = (7, 38, 145, 220)
SEEDS = [*OF_ALL_KINDS, 13, 35, 52, 55, 11, 68, 82, 88, 96, 114, 123, 124, 129, 153, 160, 175, 195, 236, 311, 396]


def _placed(seed: int) -> PlacedRig:
    placed = placed_rig(seed)
    assert placed is not None
    return placed


@cache
def _by_single_edits(seed: int) -> list[Outcome]:
    with TemporaryDirectory() as name:
        return outcomes(Path(name).resolve(), _placed(seed), two=False)


@pytest.mark.parametrize("seed", a_few(SEEDS, 8))
def test_no_edit_is_cheaper_than_the_first_repair_or_chain_and_none_mends_where_none_is_found(seed: int) -> None:
    """What an edit does is worked out by hand-written arithmetic on the flat rig, and confirmed by a check."""
    assert [outcome for outcome in _by_single_edits(seed) if outcome.why] == []


def test_the_seeds_are_of_all_kinds() -> None:
    """Faults in the blueprint that the rig mends and that it does not, machines that can be sized and that cannot."""
    found = {outcome.what for seed in OF_ALL_KINDS for outcome in _by_single_edits(seed)}
    assert {"cheapest inside", "none inside", "sized", "not sized"} <= found
