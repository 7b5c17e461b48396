"""Blueprints put in place: the same rig as written out by hand; each fault at its place, counted by hand."""

from pathlib import Path

import pytest

from lineshaft.schema.loading import Loaded, Loader
from lineshaft.schema.model.rig import Part, Rig
from lineshaft.schema.text.fault import Fault
from lineshaft.schema.text.repository import Repository
from lineshaft.schema.text.yaml_pass import Bounds

CATALOGUE = """catalogue: 1
edition: "1"
lubricants: [flax-oil]
grades:
  iron: {torque-limit: 1200 N*m, speed-limit: 250 rad/s}
  elm: {torque-limit: 90 N*m, speed-limit: 60 rad/s}
items:
  wheel: {kind: prime-mover, output: {torque: 1 kN*m, speed: 8 rad/s}}
  sluice: {kind: prime-mover, table: {by: head, points: [[2 m, 900 N*m, 6 rad/s], [6 m, 1.9 kN*m, 7 rad/s]]}}
  shaft: {kind: shaft, grades: [iron, elm]}
  rod: {kind: shaft, grade: iron}
  stage: {kind: gear-stage, grade: iron, ratios: [5/2, 3, 75/15], lubricant: {kind: flax-oil, holds: 6 L, uses: 1 mL/s}}
  divider: {kind: splitter, outlets: 2, shares: any}
  gatherer: {kind: combiner, inlets: 2}
  dog: {kind: clutch}
  mill: {kind: driven-machine, work: {unit: sack, times: [[1 rad/s, 60 s], [9 rad/s, 6 s]], between: linear}}
"""
RIG = 'rig: 1\nname: Yard\ncatalogue: c.catalogue.yaml\nparts:\n  wheel: {item: wheel}\n'
# Its parts begin on line 7; `drive` stands on line 5.
LEG = """blueprint: 1
name: Leg
catalogue: c.catalogue.yaml
inlets:
  drive: {torque-up-to: 1 kN*m, speed-up-to: 20 rad/s}
parts:
  step: {item: stage, ratio: $ratio, set: $way, driven-by: drive}
  rod: {item: shaft, grade: $grade, driven-by: step}
outlets: {out: rod}
takes:
  ratio: {kind: ratio, default: 3}
  way: {kind: direction, default: increase}
  grade: {kind: text, default: iron}
"""


def load(folder: Path, *parts: str, below: str = "", bounds: Bounds | None = None, **blueprints: str) -> Loaded:
    """A rig whose own parts begin on line 6, in column 3, beside `leg` and other blueprints by their names."""
    root = folder.resolve()
    (root / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    for name, text in {"leg": LEG, **blueprints}.items():
        (root / f"{name}.blueprint.yaml").write_text(text, "utf-8")
    (root / "a.rig.yaml").write_text(RIG + "".join(f"  {part}\n" for part in parts) + below, "utf-8")
    return Loader(Repository(root, root), bounds or Bounds()).rig(root / "a.rig.yaml")


def rig_of(folder: Path, *parts: str, below: str = "", **blueprints: str) -> Rig:
    loaded = load(folder, *parts, below=below, **blueprints)
    assert loaded.faults == ()
    assert loaded.rig is not None
    return loaded.rig


def only(loaded: Loaded) -> Fault:
    (fault,) = loaded.faults
    return fault


def place(fault: Fault) -> tuple[str, str, int, int]:
    return fault.rule, fault.file, fault.span.start.line, fault.span.start.column


def bare(part: Part) -> Part:
    """A part without the file it is written in and what follows from that."""
    return part._replace(tree=None, uses=(), label=None)  # type: ignore[arg-type]


LEG_A = "leg-a: {blueprint: leg.blueprint.yaml, driven-by: {drive: wheel}, with: {ratio: 75/15, way: reduce}}"
LEG_B = "leg-b: {blueprint: leg.blueprint.yaml, driven-by: leg-a.out}"


def test_a_placed_blueprint_is_its_parts_written_out(tmp_path: Path) -> None:
    """Items, limits, ratios, directions and connections are those of the same rig by hand, in the same order."""
    placed = rig_of(tmp_path, LEG_A, LEG_B, "mill: {item: mill, driven-by: leg-b.out}")
    by_hand = rig_of(
        tmp_path,
        "s1: {item: stage, ratio: 75/15, set: reduce, driven-by: wheel}",
        "r1: {item: shaft, grade: iron, driven-by: s1}",
        "s2: {item: stage, ratio: 3, set: increase, driven-by: r1}",
        "r2: {item: shaft, grade: iron, driven-by: s2}",
        "mill: {item: mill, driven-by: r2}",
    )
    names = ["wheel", "leg-a/step", "leg-a/rod", "leg-b/step", "leg-b/rod", "mill"]
    assert [part.name for part in placed.parts] == names
    assert list(placed.index) == names
    assert [bare(part)._replace(name="") for part in placed.parts] == [
        bare(part)._replace(name="", item=other.item, grade=other.grade)
        for part, other in zip(by_hand.parts, placed.parts, strict=True)
    ]
    assert [part.item.name for part in placed.parts] == [part.item.name for part in by_hand.parts]
    assert placed.all_connected


def test_a_part_knows_the_file_it_is_written_in_and_the_lines_that_place_it(tmp_path: Path) -> None:
    """The inner part's tree is the blueprint's; its uses lead from the rig's line inwards."""
    outer = "blueprint: 1\ncatalogue: c.catalogue.yaml\ninlets: {d: {torque-up-to: 9 N*m, speed-up-to: 9 rad/s}}\n"
    outer += "parts:\n  in: {blueprint: leg.blueprint.yaml, driven-by: d}\noutlets: {out: in.out}\n"
    rig = rig_of(
        tmp_path,
        "far: {blueprint: outer.blueprint.yaml, driven-by: wheel}",
        "mill: {item: mill, driven-by: far.out}",
        outer=outer,
    )
    part = rig.parts[rig.index["far/in/step"]]
    assert (part.tree.source.shown, part.tree.key_span(part.route).start) == ("leg.blueprint.yaml", (7, 3))
    assert [(use.tree.source.shown, use.route) for use in part.uses] == [
        ("a.rig.yaml", ("parts", "far")),
        ("outer.blueprint.yaml", ("parts", "in")),
    ]
    assert rig.parts[-1].inlets == ((rig.index["far/in/rod"], 0),)


def test_names_with_a_slash_stand_wherever_a_rig_names_a_part(tmp_path: Path) -> None:
    """Feeds, steps, readings and waivers name parts inside; readings also an outlet, waivers also the blueprint."""
    below = (
        "lubrication: {flax: {lubricant: flax-oil, tank: {holds: 9 L}, feeds: [leg-a/step]}}\n"
        "commissioning: [set: {part: leg-a/step, to: reduce}, couple: leg-a/rod, start: wheel]\n"
        "readings: [{at: leg-a/step, speed: 1 rad/s}, {at: leg-a.out, speed: 1 rad/s}]\n"
        "waivers:\n"
        "  - {rule: loose-end, part: leg-a/rod, reason: soon, until: 2030-01-01}\n"
        "  - {rule: inlet-promise-broken, part: leg-a, reason: soon, until: 2030-01-01}\n"
    )
    rig = rig_of(tmp_path, LEG_A, "rod: {item: rod, driven-by: leg-a/rod}", below=below)
    step, rod = rig.index["leg-a/step"], rig.index["leg-a/rod"]
    assert rig.circuits[0].feeds == (step,)
    assert [entry.part for entry in rig.steps] == [step, rod, 0]
    assert [(reading.part, reading.outlet) for reading in rig.readings] == [(step, 0), (rod, 0)]
    assert [waiver.part for waiver in rig.waivers] == ["leg-a/rod", "leg-a"]
    assert rig.parts[-1].inlets == ((rod, 0),)


def test_a_blueprints_steps_come_before_the_rigs_own(tmp_path: Path) -> None:
    """In the order in which the blueprints stand; counted through; each with the file it is written in."""
    leg = LEG + "  amount: {kind: volume, default: 2 L}\n"
    leg += "commissioning: [set: {part: step, to: $way}, fill: {part: step, with: $amount}]\n"
    rig = rig_of(tmp_path, LEG_B.replace("leg-a.out", "wheel"), LEG_A.replace("wheel", "leg-b.out"),
                 below="commissioning: [start: wheel]\n", leg=leg)  # fmt: skip
    found = [(s.number, s.kind, rig.parts[s.part].name, s.to, s.amount, s.tree.source.shown) for s in rig.steps]
    assert found == [
        (1, "set", "leg-b/step", "increase", 0.0, "leg.blueprint.yaml"),
        (2, "fill", "leg-b/step", None, 2.0, "leg.blueprint.yaml"),
        (3, "set", "leg-a/step", "reduce", 0.0, "leg.blueprint.yaml"),
        (4, "fill", "leg-a/step", None, 2.0, "leg.blueprint.yaml"),
        (5, "start", "wheel", None, 0.0, "a.rig.yaml"),
    ]


def test_a_dollar_inside_text_is_text(tmp_path: Path) -> None:
    """Only a whole scalar is a parameter: in a blueprint's label `costs $ratio` stays, `$grade` is filled in."""
    leg = LEG.replace("driven-by: drive}", "driven-by: drive, label: costs $ratio}")
    leg = leg.replace("driven-by: step}", "driven-by: step, label: $grade}")
    rig = rig_of(tmp_path, LEG_A, leg=leg)
    assert [part.label for part in rig.parts] == [None, "costs $ratio", "iron"]


def test_a_dollar_means_nothing_in_a_rig(tmp_path: Path) -> None:
    """A rig has no parameters: its `$ratio` is no ratio, at its own place."""
    fault = only(load(tmp_path, "s: {item: stage, ratio: $ratio, set: reduce, driven-by: wheel}"))
    assert place(fault) == ("bad-quantity", "a.rig.yaml", 6, 27)


# What stands in `with`, the rule, the column on line 6. Before it stand 64 characters:
# `  leg: {blueprint: leg.blueprint.yaml, driven-by: wheel, with: {`.
BAD_VALUES = [
    ("ratio: 0.5", "bad-quantity", 72),
    ("ratio: 7", "not-offered", 72),
    ("way: up", "not-schema", 70),
    ("grade: 316", "not-schema", 72),
    ("grade: oak", "not-offered", 72),
    ("ratios: 3", "unknown-reference", 65),
]


@pytest.mark.parametrize(("given", "rule", "column"), BAD_VALUES)
def test_a_bad_value_is_noted_where_the_rig_gives_it(tmp_path: Path, given: str, rule: str, column: int) -> None:
    """Of the wrong kind, or not offered by the item inside: at the value; an unknown parameter at its key."""
    loaded = load(tmp_path, f"leg: {{blueprint: leg.blueprint.yaml, driven-by: wheel, with: {{{given}}}}}")
    assert place(only(loaded)) == (rule, "a.rig.yaml", 6, column)


def test_a_value_handed_on_is_noted_where_it_is_first_written(tmp_path: Path) -> None:
    """Through two blueprints the bad ratio is still the rig's."""
    outer = (
        "blueprint: 1\ncatalogue: c.catalogue.yaml\ntakes: {r: {kind: ratio}}\n"
        "inlets: {d: {torque-up-to: 9 N*m, speed-up-to: 9 rad/s}}\n"
        "parts: {in: {blueprint: leg.blueprint.yaml, driven-by: d, with: {ratio: $r}}}\n"
    )
    loaded = load(
        tmp_path, "far: {blueprint: outer.blueprint.yaml, driven-by: wheel, with: {r: 7}}", outer=outer
    )
    assert place(only(loaded)) == ("not-offered", "a.rig.yaml", 6, 70)


PLACES = [
    ("leg: {blueprint: log.blueprint.yaml, driven-by: wheel}", "unknown-reference", 20, "leg.blueprint.yaml"),
    ("leg: {blueprint: leg.blueprint.yaml, driven-by: {driv: wheel}}", "unknown-reference", 52, "drive"),
    ("leg: {blueprint: leg.blueprint.yaml, driven-by: whel}", "unknown-reference", 51, "wheel"),
    ("leg: {blueprint: leg.blueprint.yaml}", "not-offered", 3, "driven-by"),
]


@pytest.mark.parametrize(("line", "rule", "column", "named"), PLACES)
def test_a_wrong_line_is_noted_at_its_word(tmp_path: Path, line: str, rule: str, column: int, named: str) -> None:
    """A file, an inlet's key, a driver; an inlet that nothing drives at the line's key; with the nearest name."""
    loaded = load(tmp_path, line)
    fault = loaded.faults[0]
    assert place(fault) == (rule, "a.rig.yaml", 6, column)
    assert named in fault.message


def test_an_unknown_outlet_names_the_nearest(tmp_path: Path) -> None:
    """At the value of `driven-by`, column 31; a blueprint without an outlet named says which it has."""
    fault = only(load(tmp_path, LEG_A, "mill: {item: mill, driven-by: leg-a.oot}"))
    assert place(fault) == ("unknown-reference", "a.rig.yaml", 7, 33)
    assert "no outlet oot of leg-a; did you mean out?" in fault.message
    fault = only(load(tmp_path, LEG_A, "mill: {item: mill, driven-by: leg-a}"))
    assert "leg-a.out" in fault.message


BELOW = [
    "readings: [{at: leg-a, speed: 8 rad/s}]",
    "lubrication: {flax: {lubricant: flax-oil, tank: {holds: 9 L, charge: 1 L}, feeds: [leg-a]}}",
    "commissioning: [couple: leg-a]",
]


@pytest.mark.parametrize("below", BELOW)
def test_a_blueprint_named_as_a_part_is_told_of_the_parts_in_it(tmp_path: Path, below: str) -> None:
    """Not that there is nothing of its name: it stands in the rig."""
    fault = only(load(tmp_path, LEG_A, "mill: {item: mill, driven-by: leg-a.out}", below=below + "\n"))
    assert fault.rule == "unknown-reference"
    assert fault.message == "leg-a is a blueprint: name a part in it, as leg-a/step"


def test_a_fault_of_the_blueprint_is_noted_for_each_use(tmp_path: Path) -> None:
    """An item that is not there, placed ten times: at one place in the blueprint's file, each with its line."""
    leg = LEG.replace("item: shaft, grade: $grade", "item: shft, grade: $grade")
    drivers = ["wheel", *(f"l{n}.out" for n in range(9))]
    lines = [f"l{n}: {{blueprint: leg.blueprint.yaml, driven-by: {above}}}" for n, above in enumerate(drivers)]
    faults = load(tmp_path, *lines, leg=leg).faults
    assert {place(fault) for fault in faults} == {("unknown-reference", "leg.blueprint.yaml", 8, 15)}
    found = [[(use.tree.source.shown, use.route[1]) for use in fault.uses] for fault in faults]
    assert found == [[("a.rig.yaml", f"l{n}")] for n in range(10)]


def test_what_lies_in_a_blueprint_that_cannot_be_read_is_not_missed_again(tmp_path: Path) -> None:
    """One fault: names of parts and outlets inside are taken on trust."""
    loaded = load(
        tmp_path,
        "leg: {blueprint: gone.blueprint.yaml, driven-by: wheel}",
        "mill: {item: mill, driven-by: leg.out}",
        "rod: {item: rod, driven-by: leg/rod}",
        below="commissioning: [set: {part: leg/step, to: reduce}, start: wheel]\n",
    )
    assert place(only(loaded)) == ("unknown-reference", "a.rig.yaml", 6, 20)
    assert loaded.rig is not None
    assert not loaded.rig.all_connected


def test_two_catalogues_in_one_rig_are_refused(tmp_path: Path) -> None:
    """The blueprint was drawn for other ratings: at the path in the rig."""
    (tmp_path / "d.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    loaded = load(tmp_path, LEG_A, leg=LEG.replace("c.catalogue", "d.catalogue"))
    fault = only(loaded)
    assert place(fault) == ("unknown-reference", "a.rig.yaml", 6, 22)
    assert "d.catalogue.yaml" in fault.message


def test_a_sites_catalogue_holds_for_blueprints_too(tmp_path: Path) -> None:
    """Under a policy's catalogue nobody asks which one the files name."""
    load(tmp_path, LEG_A, leg=LEG.replace("c.catalogue", "gone.catalogue"))
    root = tmp_path.resolve()
    loader = Loader(Repository(root, root)).with_catalogue(root / "c.catalogue.yaml")
    assert loader.rig(root / "a.rig.yaml").faults == ()


BLUEPRINT_FAULTS = [
    (("ratio: $ratio", "ratio: $rato"), "unknown-reference", 7, 30),
    (("ratio: $ratio", "ratio: $grade"), "not-schema", 7, 30),
    (("  drive: {torque-up-to: 1 kN*m", "  drive: {torque-up-to: 1 kN"), "bad-quantity", 5, 25),
    (("  drive: {", "  rod: {"), "not-schema", 5, 3),
    (("default: 3", "default: 0.5"), "bad-quantity", 11, 33),
    (("out: rod", "out: rd"), "unknown-reference", 9, 16),
]


@pytest.mark.parametrize(("change", "rule", "line", "column"), BLUEPRINT_FAULTS)
def test_a_fault_of_a_blueprint_stands_in_its_file(
    tmp_path: Path, change: tuple[str, str], rule: str, line: int, column: int
) -> None:
    """Undeclared, of another kind, without unit, two things of one name, a bad default, an outlet of nothing."""
    leg = LEG.replace(*change)
    inlet = "rod" if change[1] == "  rod: {" else "drive"
    loaded = load(tmp_path, LEG_A.replace("drive: wheel", f"{inlet}: wheel"), leg=leg)
    assert (rule, "leg.blueprint.yaml", line, column) in [place(fault) for fault in loaded.faults]


def nested(depth: int) -> dict[str, str]:
    """Blueprints b1 to b<depth>, each with the next inside it; the last one is the leg."""
    head = "blueprint: 1\ncatalogue: c.catalogue.yaml\ninlets: {drive: {torque-up-to: 9 N*m, speed-up-to: 9 rad/s}}\n"
    inner = "parts: {in: {blueprint: %s.blueprint.yaml, driven-by: drive}}\noutlets: {out: in.out}\n"
    return {f"b{n}": head + inner % ("leg" if n == depth else f"b{n + 1}") for n in range(1, depth + 1)}


def test_blueprints_nest_to_a_depth_of_eight(tmp_path: Path) -> None:
    """Seven around the leg are eight and hold; with eight around it the ninth is refused where it is placed."""
    line = "far: {blueprint: b1.blueprint.yaml, driven-by: wheel}"
    rig = rig_of(tmp_path, line, **nested(7))
    assert rig.parts[1].name == "far/" + "in/" * 7 + "step"
    fault = only(load(tmp_path, line, **nested(8)))
    assert place(fault) == ("not-yaml", "b8.blueprint.yaml", 4, 25)
    assert len(fault.uses) == 8


def test_a_blueprint_in_itself_is_refused_with_its_ring(tmp_path: Path) -> None:
    """At the line that closes the ring, with the files of the ring."""
    ring = nested(2)
    ring["b2"] = ring["b2"].replace("leg.blueprint", "b1.blueprint")
    fault = only(load(tmp_path, "far: {blueprint: b1.blueprint.yaml, driven-by: wheel}", **ring))
    assert place(fault) == ("unknown-reference", "b2.blueprint.yaml", 4, 25)
    assert "b1.blueprint.yaml -> b2.blueprint.yaml -> b1.blueprint.yaml" in fault.message


def test_a_rig_grows_no_further_than_its_bound(tmp_path: Path) -> None:
    """Files that each place the next ten times stand for 10^8 wheels: refused at the rig's line, before building."""
    head = "blueprint: 1\ncatalogue: c.catalogue.yaml\nparts:\n"
    tens = "".join("  p%d: {blueprint: b{next}.blueprint.yaml}\n" % k for k in range(10))  # noqa: UP031
    files = {f"b{n}": head + tens.replace("{next}", str(n + 1)) for n in range(1, 8)}
    files["b8"] = head + "".join(f"  w{k}: {{item: wheel}}\n" for k in range(10))
    fault = only(load(tmp_path, "far: {blueprint: b1.blueprint.yaml}", **files))
    assert place(fault) == ("not-yaml", "a.rig.yaml", 6, 20)
    assert "2,000,000" in fault.message


def test_power_may_pass_through_a_blueprint_without_a_part(tmp_path: Path) -> None:
    """An outlet that is an inlet is whatever drives the inlet; a ring of such blueprints is named, not a hang."""
    through = (
        "blueprint: 1\ncatalogue: c.catalogue.yaml\ninlets: {d: {torque-up-to: 9 kN*m, speed-up-to: 9 rad/s}}\n"
        "outlets: {out: d}\nparts: {w: {item: wheel}}\n"
    )
    rig = rig_of(
        tmp_path,
        "t: {blueprint: through.blueprint.yaml, driven-by: wheel}",
        "mill: {item: mill, driven-by: t.out}",
        through=through,
    )
    assert rig.parts[-1].inlets == ((0, 0),)
    loaded = load(
        tmp_path,
        "t: {blueprint: through.blueprint.yaml, driven-by: u.out}",
        "u: {blueprint: through.blueprint.yaml, driven-by: t.out}",
        "mill: {item: mill, driven-by: t.out}",
        through=through,
    )
    assert [place(fault)[:3] for fault in loaded.faults] == [
        ("unknown-reference", "a.rig.yaml", 8),
        ("unknown-reference", "a.rig.yaml", 7),
    ]
    assert all("leads back to itself" in fault.message for fault in loaded.faults)


def test_a_setting_that_the_item_does_not_take_is_noted_where_it_stands(tmp_path: Path) -> None:
    """`ratio: $ratio` on a shaft: no value of the parameter mends it, so it is told in the blueprint, at column 29."""
    leg = LEG.replace("{item: shaft, grade: $grade", "{item: shaft, ratio: $ratio, grade: $grade")
    fault = only(load(tmp_path, LEG_A, leg=leg))
    assert place(fault) == ("not-offered", "leg.blueprint.yaml", 8, 29)
    assert "takes no ratio" in fault.message


def test_a_list_on_a_part_with_one_inlet_is_noted_beside_blueprints_too(tmp_path: Path) -> None:
    """At the value, columns counted by hand; and two lines into a combiner of two inlets are as many as it has."""
    fault = only(load(tmp_path, LEG_A, "rod: {item: rod, driven-by: [leg-a.out, wheel]}"))
    assert place(fault) == ("not-offered", "a.rig.yaml", 7, 31)
    fault = only(load(tmp_path, LEG_A, "g: {item: gatherer, driven-by: leg-a.out}"))
    assert place(fault) == ("not-offered", "a.rig.yaml", 7, 34)
    assert load(tmp_path, "g: {item: gatherer, driven-by: [wheel, leg-a.out]}", LEG_A).faults == ()
