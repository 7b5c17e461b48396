"""New parts are written the way the file is written: in blocks, between braces, with its columns and line ends."""

from pathlib import Path

import pytest
from repair_bench import checked, edited, plan_for, workshop_of

from lineshaft.repair.edits.entries import add_before
from lineshaft.repair.edits.parts import add_items
from lineshaft.repair.edits.splice import spliced, splices_of
from lineshaft.schema.text.text import SourceText
from lineshaft.schema.text.tree import Tree
from lineshaft.schema.text.yaml_pass import Bounds
from lineshaft.schema.text.yaml_reader import read_yaml

CATALOGUE = """\
catalogue: 1
name: Quay
edition: "1"
lubricants: [flax-oil]
grades:
  iron: {torque-limit: 1 kN*m}
items:
  wheel: {kind: prime-mover, output: {torque: 1500 N*m, speed: 8 rad/s}}
  stage:
    kind: gear-stage
    grade: iron
    ratios: [5]
    lubricant: {kind: flax-oil, holds: 6 L, uses: 0.2 mL/s}
  fork: {kind: splitter, outlets: 2, shares: [[1, 1]]}
  joint: {kind: combiner, inlets: 2}
  pump: {kind: driven-machine, needs: {speed: 30 rad/s}}
"""
HEAD = 'rig: 1\nname: Quay\ncatalogue: bench.catalogue.yaml\nedition: "1"\n'
BLOCK = """\
parts:
    wheel:
        item: wheel
    step:                # the only one
        item: stage
        ratio: 5
        set: increase
        driven-by: wheel
        # worn, but sound
    # the pump stands outside
    pump:
        item: pump
        driven-by: step
lubrication:
    flax:
        lubricant: flax-oil
        tank: {holds: 20 L, charge: 10 L}
        feeds:
            - step
commissioning:
    - set: {part: step, to: increase}
    - start: wheel
"""
BLOCK_AFTER = """\
parts:
    wheel:
        item: wheel
    step-split:
        item: fork
        shares: {a: 1, b: 1}
        driven-by: wheel
    step:                # the only one
        item: stage
        ratio: 5
        set: increase
        driven-by: step-split.a
        # worn, but sound
    step-b:
        item: stage
        ratio: 5
        set: increase
        driven-by: step-split.b
    step-gather:
        item: joint
        driven-by: [step, step-b]
    # the pump stands outside
    pump:
        item: pump
        driven-by: step-gather
lubrication:
    flax:
        lubricant: flax-oil
        tank: {holds: 20 L, charge: 10 L}
        feeds:
            - step
            - step-b
commissioning:
    - set: {part: step-b, to: increase}
    - set: {part: step, to: increase}
    - start: wheel
"""
BRACES = """\
parts: {wheel: {item: wheel}, step: {item: stage, ratio: 5, set: increase, driven-by: wheel},
  pump: {item: pump, driven-by: step}}
commissioning: [{fill: {part: step, with: 6 L}}, {set: {part: step, to: increase}}, {start: wheel}]
"""
BRACES_AFTER = """\
parts: {wheel: {item: wheel}, step-split: {item: fork, shares: {a: 1, b: 1}, driven-by: wheel}, \
step: {item: stage, ratio: 5, set: increase, driven-by: step-split.a}, \
step-b: {item: stage, ratio: 5, set: increase, driven-by: step-split.b}, \
step-gather: {item: joint, driven-by: [step, step-b]},
  pump: {item: pump, driven-by: step-gather}}
commissioning: [{fill: {part: step-b, with: 6 L}}, {set: {part: step-b, to: increase}}, \
{fill: {part: step, with: 6 L}}, {set: {part: step, to: increase}}, {start: wheel}]
"""
ROWS = """\
parts:
  wheel:   {item: wheel}
  step:    {item: stage, ratio: 5, set: increase, driven-by: wheel}
  pump:    {item: pump, driven-by: step}
commissioning:
  - fill: {part: step, with: 6 L}
  - set: {part: step, to: increase}
  - start: wheel"""


@pytest.mark.parametrize(("before", "after"), [(BLOCK, BLOCK_AFTER), (BRACES, BRACES_AFTER)], ids=["block", "braces"])
def test_two_lines_are_written_like_the_rest(tmp_path: Path, before: str, after: str) -> None:
    """1,500 N·m is too much for one stage of 1 kN·m and not for two; every other character stays, comments too."""
    context = workshop_of(tmp_path, CATALOGUE, HEAD + before)
    plan = plan_for(context, "torque-over-limit", "step")
    assert [repair.parts_added for repair in plan.repairs] == [3]
    text = edited(context, plan.repairs[0])
    assert text == HEAD + after
    assert checked(tmp_path, text) == set()


def test_columns_line_ends_and_a_missing_last_one_stay(tmp_path: Path) -> None:
    """Values stand in the file's column; CRLF stays CRLF once the repair is applied, and the end stays without one."""
    context = workshop_of(tmp_path, CATALOGUE, (HEAD + ROWS).replace("\n", "\r\n"))
    repair = plan_for(context, "torque-over-limit", "step").repairs[0]
    edited_rig = context.whole_edited_rig(repair.edits)
    assert edited_rig is not None
    assert "\r\n  step-b:  {item: stage," in edited_rig.text
    assert "\r\n  step-split: {item: fork," in edited_rig.text
    assert "\n" not in edited_rig.text.replace("\r\n", "")
    assert edited_rig.text.endswith("- start: wheel")


def test_a_list_is_begun_where_a_new_part_needs_one(tmp_path: Path) -> None:
    """A rig that was started as delivered gets a list once a stage has to be set: 30 rad/s of 8 takes 5 : 1 up."""
    catalogue = CATALOGUE.replace("torque-limit: 1 kN*m", "torque-limit: 2 kN*m")
    rig = HEAD + "parts:\n  wheel: {item: wheel}\n  pump: {item: pump, driven-by: wheel}\n"
    context = workshop_of(tmp_path, catalogue, rig)
    text = edited(context, plan_for(context, "machine-underdriven", "pump").repairs[0])
    assert text == HEAD + (
        "parts:\n  wheel: {item: wheel}\n"
        "  pump-step: {item: stage, ratio: 5, set: increase, driven-by: wheel}\n"
        "  pump: {item: pump, driven-by: pump-step}\n"
        "commissioning:\n  - fill: {part: pump-step, with: 6 L}\n  - set: {part: pump-step, to: increase}\n"
        "  - start: wheel\n"
    )
    assert checked(tmp_path, text) == set()


def test_a_list_that_is_another_one_by_an_alias_takes_no_more(tmp_path: Path) -> None:
    """What is put into it would be put into both; the list itself takes it, in the column of its dashes."""
    text = "first: &fed\n  - step\nsecond: *fed\n"
    tree = read_yaml(SourceText(tmp_path, "a.yaml", text), Bounds())
    assert isinstance(tree, Tree)
    assert add_items(tree, ("second",), ["saw"]) is None
    assert add_before(tree, ("second", 0), ["saw"], ["saw"]) is None
    added = add_items(tree, ("first",), ["saw"])
    assert added is not None
    assert spliced(text, splices_of(tree.source, added)) == "first: &fed\n  - step\n  - saw\nsecond: *fed\n"
