"""What can be wrong with blueprints and with the lines that place them: each fault once, at its place by hand."""

from pathlib import Path

import pytest

from lineshaft.schema.blueprint import expansion
from lineshaft.schema.blueprint.blueprint import nodes_of
from lineshaft.schema.loading import Loaded, Loader
from lineshaft.schema.text.repository import Repository
from lineshaft.schema.text.text import SourceText
from lineshaft.schema.text.tree import Tree
from lineshaft.schema.text.yaml_pass import Bounds
from lineshaft.schema.text.yaml_reader import read_yaml
from tests.schema.test_blueprints import LEG, LEG_A, load, only, place, rig_of

HEAD = "blueprint: 1\ncatalogue: c.catalogue.yaml\n"
PROMISE = "{torque-up-to: 900 N*m, speed-up-to: 9 rad/s}"
PAIR = HEAD + f"inlets: {{left: {PROMISE}, right: {PROMISE}}}\n"
PAIR += "parts: {a: {item: rod, driven-by: left}, b: {item: rod, driven-by: right}}\n"


def alone(folder: Path, text: str) -> Loaded:
    """A blueprint by itself, beside the catalogue."""
    load(folder, x=text)
    root = folder.resolve()
    return Loader(Repository(root, root)).blueprint_alone(root / "x.blueprint.yaml")


def test_the_path_of_a_blueprint_is_no_parameter(tmp_path: Path) -> None:
    """Else nobody could say which files a rig is made of; told once, where the parameter stands."""
    outer = HEAD + f"takes: {{which: {{kind: text}}}}\ninlets: {{d: {PROMISE}}}\n"
    outer += "parts:\n  in: {blueprint: $which, driven-by: d}\n"
    line = "far: {blueprint: outer.blueprint.yaml, driven-by: wheel, with: {which: leg.blueprint.yaml}}"
    fault = only(load(tmp_path, line, outer=outer))
    assert place(fault) == ("not-schema", "outer.blueprint.yaml", 6, 19)
    assert "cannot be a parameter" in fault.message


def test_an_alias_counts_as_often_as_it_is_written() -> None:
    """By hand: one mapping, its two keys, and twice a list of two values, which is three nodes."""
    source = SourceText(Path("a"), "a", "one: &pair [5, 7]\ntwo: *pair\n")
    tree = read_yaml(source, Bounds())
    assert isinstance(tree, Tree)
    assert nodes_of(tree.data) == 1 + 2 + 3 + 3


def test_a_blueprint_inside_that_is_not_there_is_told_in_its_file(tmp_path: Path) -> None:
    """Counting how large a rig becomes passes over it."""
    outer = HEAD + f"inlets: {{d: {PROMISE}}}\nparts:\n  in: {{blueprint: gone.blueprint.yaml, driven-by: d}}\n"
    fault = only(load(tmp_path, "far: {blueprint: outer.blueprint.yaml, driven-by: wheel}", outer=outer))
    assert place(fault) == ("unknown-reference", "outer.blueprint.yaml", 5, 19)


def test_no_more_than_so_many_blueprints_are_read_for_a_rig(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With room for two different ones the third is refused where it is placed; a second use of one counts nothing."""
    monkeypatch.setattr(expansion, "MOST_BLUEPRINTS", 2)
    lines = [f"l{n}: {{blueprint: {name}.blueprint.yaml, driven-by: wheel}}" for n, name in enumerate("aab")]
    assert load(tmp_path, *lines, a=LEG, b=LEG).faults == ()
    fault = only(load(tmp_path, *lines, "l3: {blueprint: c.blueprint.yaml, driven-by: wheel}", a=LEG, b=LEG, c=LEG))
    assert place(fault) == ("not-yaml", "a.rig.yaml", 9, 19)
    assert "more than 2 different blueprints" in fault.message


NO_INLET = HEAD + "parts: {w: {item: wheel}}\n"


@pytest.mark.parametrize(("text", "words"), [(PAIR, "write `driven-by: {left: …}`"), (NO_INLET, "it has no inlet")])
def test_a_plain_name_drives_a_blueprint_with_one_inlet_only(tmp_path: Path, text: str, words: str) -> None:
    """With two nobody knows which is meant, without one there is nothing to drive: at the name, column 49."""
    fault = only(load(tmp_path, "far: {blueprint: x.blueprint.yaml, driven-by: wheel}", x=text))
    assert place(fault) == ("not-offered", "a.rig.yaml", 6, 49)
    assert words in fault.message


def test_an_inlet_with_the_name_of_a_part_is_told_once(tmp_path: Path) -> None:
    """Also where the blueprint is judged alone, and a prime mover would stand in the inlet's place."""
    fault = only(alone(tmp_path, HEAD + f"inlets:\n  rod: {PROMISE}\nparts: {{rod: {{item: rod}}}}\n"))
    assert place(fault) == ("not-schema", "x.blueprint.yaml", 4, 3)
    assert "the inlet rod has the name of a part" in fault.message


def test_an_inlet_has_no_outlets(tmp_path: Path) -> None:
    """`drive.a` is told to be `drive`, at its place in the leg."""
    fault = only(load(tmp_path, LEG_A, leg=LEG.replace("driven-by: drive}", "driven-by: drive.a}")))
    assert place(fault) == ("unknown-reference", "leg.blueprint.yaml", 7, 60)
    assert fault.message == "drive is an inlet: write drive"


SETTINGS = f"""{HEAD}takes:
  why: {{kind: text, default: distribute}}
  from: {{kind: text, default: d}}
  left: {{kind: number, default: 2}}
  closed: {{kind: switch, default: true}}
  east: {{kind: number, default: 12}}
inlets: {{d: {PROMISE}}}
parts:
  dog: {{item: dog, engaged: $closed, driven-by: $from}}
  fork: {{item: divider, shares: {{a: $left, b: 3}}, purpose: $why, at: [$east, 64, -3], driven-by: dog}}
"""
LINE = "x: {blueprint: x.blueprint.yaml, driven-by: wheel, with: {%s}}"


def test_a_parameter_of_each_kind_stands_for_its_setting(tmp_path: Path) -> None:
    """A number in quotes is that number; a place takes it in its list."""
    given = 'why: relieve-torque, left: "4.5", closed: false, east: 7'
    rig = rig_of(tmp_path, LINE % given, x=SETTINGS)
    dog, fork = rig.parts[1:]
    assert (dog.engaged, dog.inlets) == (False, ((0, 0),))
    assert (fork.shares, fork.purpose, fork.at) == ((4.5, 3), "relieve-torque", (7, 64, -3))


# Before what stands in `with` come 60 characters.
WRONG_KINDS = [
    ("why: raise", "not-schema", 66, "write distribute, relieve-torque or raise-speed"),
    ("left: 2 m", "bad-quantity", 67, "2 m"),
    ("closed: shut", "not-schema", 69, "shut: write true or false"),
    ("from: 7", "not-schema", 67, "7 is not text: put it in quotes"),
]


@pytest.mark.parametrize(("given", "rule", "column", "words"), WRONG_KINDS)
def test_a_value_of_another_kind_is_told_where_it_is_given(
    tmp_path: Path, given: str, rule: str, column: int, words: str
) -> None:
    """At the value in the rig's line, with what may stand there."""
    fault = only(load(tmp_path, LINE % given, x=SETTINGS))
    assert place(fault) == (rule, "a.rig.yaml", 6, column)
    assert words in fault.message


def test_a_place_with_a_coordinate_that_nobody_gave_is_left_out(tmp_path: Path) -> None:
    """It is shown only: the part is judged all the same, and the other coordinate changes nothing."""
    text = SETTINGS.replace(
        "east: {kind: number, default: 12}", "east: {kind: number}\n  up: {kind: number, default: 5}"
    )
    loaded = alone(tmp_path, text.replace("[$east, 64, -3]", "[$east, $up, -3]"))
    assert loaded.faults == ()
    assert loaded.rig is not None
    fork = loaded.rig.parts[-1]
    assert (fork.name, fork.at, fork.faulty, fork.shares) == ("fork", None, False, (2, 3))


def test_only_names_inside_an_unread_blueprint_are_taken_on_trust(tmp_path: Path) -> None:
    """`leg/rod` may be there; `lag/rod` and `lag/deep/rod` lie in nothing, each told where it stands."""
    loaded = load(
        tmp_path,
        "leg: {blueprint: gone.blueprint.yaml, driven-by: wheel}",
        "one: {item: rod, driven-by: leg/rod}",
        "two: {item: rod, driven-by: lag/rod}",
        "three: {item: rod, driven-by: lag/deep/rod}",
    )
    assert [place(fault)[2:] for fault in loaded.faults] == [(6, 20), (8, 31), (9, 33)]


def test_each_of_two_wrong_names_gets_its_nearest(tmp_path: Path) -> None:
    """Beside a placed blueprint, whose name is among those that are near."""
    loaded = load(tmp_path, LEG_A, "one: {item: rod, driven-by: whel}", "two: {item: rod, driven-by: leg-b}")
    assert [fault.message.partition("; ")[2] for fault in loaded.faults] == [
        "did you mean wheel?",
        "did you mean leg-a?",
    ]
