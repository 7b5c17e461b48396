"""Changes on paper: two joined, and what they ask of the start-up, of circuits and of a blueprint's parameters."""

from pathlib import Path

import pytest

from lineshaft.check.finding import Edit
from lineshaft.repair.edits.parameters import at_defaults
from lineshaft.repair.edits.splice import spliced, splices_of
from lineshaft.repair.edits.start_up_steps import Turned, start_edits
from lineshaft.repair.strategies.draft import Draft, Fresh
from lineshaft.schema.text.text import SourceText
from lineshaft.schema.text.tree import Tree
from lineshaft.schema.text.yaml_pass import Bounds
from lineshaft.schema.text.yaml_reader import read_yaml
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.testing import CATALOGUE, rig_from_text

WET = (
    CATALOGUE.replace("grades:", "lubricants: [flax-oil, tar]\ngrades:", 1)
    + """  wet-stage: {kind: gear-stage, ratios: [5/2, 3], lubricant: {kind: flax-oil, holds: 5 L, uses: 0.2 mL/s}}
  sparing: {kind: gear-stage, ratios: [5/2, 3], lubricant: {kind: flax-oil, holds: 2 L, uses: 0.1 mL/s}}
  tarred: {kind: gear-stage, ratios: [5/2, 3], lubricant: {kind: tar, holds: 2 L, uses: 0.1 mL/s}}
"""
)
HEAD = "rig: 1\ncatalogue: works.catalogue.yaml\nparts:\n  wheel: {item: wheel}\n"
LINE = (
    "  step: {item: wet-stage, ratio: 3, set: reduce, driven-by: wheel}\n"
    "  press: {item: press, driven-by: step}\n"
)
CIRCUIT = "lubrication:\n  flax: {lubricant: flax-oil, tank: {holds: 9 L, charge: 9 L}, feeds: [step]}\n"
FILLED = "commissioning:\n  - fill: {part: step, with: 3 L}\n  - fill: {part: step, with: 1.5 L}\n  - start: wheel\n"
BLUEPRINT = """blueprint: 1
takes: {gear: {kind: ratio, default: 3}, bare: {kind: ratio}}
parts:
  one: {item: stage, ratio: $gear, set: reduce, driven-by: in}
  two: {item: stage, ratio: $gear, set: reduce, driven-by: one}
  six: {item: stage, ratio: $bare, set: reduce, driven-by: two}
"""


def _rig(rest: str) -> SolvedRig:
    return rig_from_text(HEAD + LINE + rest, files={"works.catalogue.yaml": WET})


def _after(rig: SolvedRig, edits: list[Edit | None]) -> str:
    source = rig.rig.tree.source
    return spliced(source.text, splices_of(source, [edit for edit in edits if edit is not None]))


def _fresh(rig: SolvedRig, name: str) -> Fresh:
    return Fresh((name, {"item": "shaft"}), 0, rig.parts[1].item)


def test_changes_that_say_different_things_of_one_place_are_not_joined() -> None:
    """One setting, one inlet or one outlet given two ways; a part that goes and is changed; one name for two parts."""
    rig = _rig("")
    pairs = (
        (Draft(rig, settings={(1, "ratio"): "3"}), Draft(rig, settings={(1, "ratio"): "5/2"})),
        (Draft(rig, inlets={(1, 0): "wheel"}), Draft(rig, inlets={(1, 0): "other"})),
        (Draft(rig, leads={"out": "step"}), Draft(rig, leads={"out": "wheel"})),
        (Draft(rig, gone={1}), Draft(rig, settings={(1, "ratio"): "5/2"})),
        (Draft(rig, fresh=[_fresh(rig, "lay")]), Draft(rig, fresh=[_fresh(rig, "lay")])),
    )
    for one, other in pairs:
        assert one.joined(other) is None
        assert other.joined(one) is None


def test_changes_of_different_places_are_joined() -> None:
    """What both say of one setting alike is said once."""
    rig = _rig("")
    one = Draft(rig, settings={(1, "ratio"): "5/2"}, fresh=[_fresh(rig, "lay")])
    both = one.joined(Draft(rig, settings={(1, "ratio"): "5/2", (1, "set"): "increase"}, gone={2}))
    assert both is not None
    assert both.settings == {(1, "ratio"): "5/2", (1, "set"): "increase"}
    assert (both.gone, [fresh.name for fresh in both.fresh]) == ({2}, ["lay"])


def test_a_stage_on_a_circuit_that_is_turned_round_stays_on_it() -> None:
    """It asks for its direction before the start, and for no oil."""
    rig = _rig(CIRCUIT + "commissioning:\n  - start: wheel\n")
    edits = list(start_edits(rig, [Turned("step", rig.parts[1].item, "increase", 1, 1)], set()))
    step = "  - set: {part: step, to: increase}\n"
    assert _after(rig, edits) == HEAD + LINE + CIRCUIT + f"commissioning:\n{step}  - start: wheel\n"


def test_a_fill_is_no_more_than_the_new_item_still_holds() -> None:
    """3 L and 1.5 L are filled, and the other item holds 2 L: the first fill brings those, the second none."""
    rig = _rig(FILLED)
    edits = list(start_edits(rig, [Turned("step", rig.catalogue.items["sparing"], "reduce", 1, 1)], set()))
    assert _after(rig, edits) == HEAD + LINE + FILLED.replace("3 L", "2 L").replace("1.5 L", "0 L")


def test_a_part_that_takes_another_lubricant_now_leaves_its_circuit_and_is_filled() -> None:
    """The circuit carries flax oil to the stage and the press, and the other stage takes tar: 2 L before the start."""
    both = CIRCUIT.replace("[step]", "[step, press]")
    rig = _rig(both + "commissioning:\n  - start: wheel\n")
    edits = list(start_edits(rig, [Turned("step", rig.catalogue.items["tarred"], "reduce", 1, 1)], set()))
    fill = "  - fill: {part: step, with: 2 L}\n"
    assert _after(rig, edits) == HEAD + LINE + both.replace("step, ", "") + f"commissioning:\n{fill}  - start: wheel\n"


def test_a_new_part_takes_the_place_of_one_that_is_dry_now() -> None:
    """The circuit fed the stage, which gives way to a dry one; the wet one behind it is fed in its place."""
    rig = _rig(CIRCUIT)
    items = rig.catalogue.items
    turned = [Turned("step-2", items["wet-stage"], "reduce", None, 1), Turned("step", items["stage"], "reduce", 1, 1)]
    assert _after(rig, list(start_edits(rig, turned, set()))) == HEAD + LINE + CIRCUIT.replace("[step]", "[step-2]")


@pytest.mark.parametrize(("changes", "default"), [
    ({"one": "5/2"}, "5/2"),
    ({"one": "7", "two": "7"}, "7"),
    ({"one": "5/2", "two": "7"}, None),
    ({"six": "7"}, None),
])  # fmt: skip
def test_a_parameter_is_given_one_default(changes: dict[str, str], default: str | None) -> None:
    """Where it stands twice both must say the same; where it has no default there is none to change."""
    tree = read_yaml(SourceText(Path("leg.blueprint.yaml"), "leg.blueprint.yaml", BLUEPRINT), Bounds())
    assert isinstance(tree, Tree)
    name = tree.source.shown
    edits = tuple(Edit(name, tree.span(("parts", part, "ratio")), text) for part, text in changes.items())
    found = at_defaults(tree, edits)
    if default is None:
        assert found is None
        return
    assert found is not None
    assert found[1] == ("gear",)
    made = spliced(BLUEPRINT, splices_of(tree.source, dict.fromkeys(found[0])))
    assert made == BLUEPRINT.replace("default: 3", f"default: {default}")
