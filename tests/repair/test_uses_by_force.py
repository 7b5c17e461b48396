"""What stands in a placed blueprint, repaired and sized in the rig's own file, against every edit of that file.

The long form, pairs of edits too, is tests/trust/uses_by_force.py.
"""

from pathlib import Path

import pytest
from independent.placed_by_force import PlacedRig, placed_rig
from trust.uses_by_force import outcomes

SEEDS = [7, 11, 13, 35, 38, 52, 55, 68, 82, 88, 96, 114, 123, 124, 129, 145, 153, 160, 175, 195, 220, 236, 311, 396]


def _placed(seed: int) -> PlacedRig:
    placed = placed_rig(seed)
    assert placed is not None
    return placed


@pytest.mark.parametrize("seed", SEEDS)
def test_no_edit_is_cheaper_than_the_first_repair_or_chain_and_none_mends_where_none_is_found(
    tmp_path: Path, seed: int
) -> None:
    """What an edit does is worked out by hand-written arithmetic on the flat rig, and confirmed by a check."""
    found = outcomes(tmp_path.resolve(), _placed(seed), two=False)
    assert [outcome for outcome in found if outcome.why] == []


def test_the_seeds_are_of_all_kinds(tmp_path: Path) -> None:
    """Faults in the blueprint that the rig mends and that it does not, machines that can be sized and that cannot."""
    found = {
        outcome.what for seed in (7, 38, 145, 220) for outcome in outcomes(tmp_path.resolve(), _placed(seed), two=False)
    }
    assert {"cheapest inside", "none inside", "sized", "not sized"} <= found
