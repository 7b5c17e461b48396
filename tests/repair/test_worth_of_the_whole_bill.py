"""What is paid is the whole bill: what a batch leaves over costs nothing, what takes one more batch costs all of it."""

from pathlib import Path

import pytest
from repair_bench import plan_for, workshop_of

CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 12 rad/s}}
  rod: {kind: shaft, torque-limit: 700 N*m, made-of: {plate: 1}}
  girder: {kind: shaft, torque-limit: 3 kN*m, made-of: {plate: 3}}
  step: {kind: gear-stage, torque-limit: 3 kN*m, ratios: {3/2: {made-of: {gear: 6}}}, delivered: increase}
  mill: {kind: driven-machine, needs: {torque: 90 N*m, speed: 5 rad/s}, made-of: {gear: 3}}
components: {gear: {made-of: {plate: 5}, yields: BATCH}}
raw: {plate: {worth: 1}}
"""
RIG = """rig: 1
name: Batches
catalogue: bench.catalogue.yaml
parts:
  wheel: {item: wheel}
  rod: {item: rod, driven-by: wheel}
  mill: {item: mill, driven-by: rod}
"""


@pytest.mark.parametrize(
    ("batch", "worths"),
    [
        # Nine gears come of one batch: the mill's three leave six, the stage's. Nothing more is made.
        (9, [("put step 3/2 : 1 increasing, behind wheel as mill-step", 0.0, 1), ("take girder for rod", 2.0, 0)]),
        # Seven leave four: two batches, ten plates in place of five. The girder's three plates for the rod's one are 2.
        (7, [("take girder for rod", 2.0, 0)]),
    ],
)
def test_a_stage_of_what_a_batch_leaves_over_is_free(
    tmp_path: Path, batch: int, worths: list[tuple[str, float, int]]
) -> None:
    """900 N·m on a rod of 700: 3/2 before it leaves 600, or a girder stands it. By hand."""
    made = plan_for(workshop_of(tmp_path, CATALOGUE.replace("BATCH", str(batch)), RIG), "torque-over-limit")
    assert [(repair.title, repair.worth, repair.parts_added) for repair in made.repairs] == worths
