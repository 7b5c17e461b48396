"""Every fault of a file is told in one run, whatever its phase, and none that only follows from another."""

from pathlib import Path

import pytest

from lineshaft.check.checker import Checker
from lineshaft.check.rulebook import open_rulebook
from lineshaft.schema.loading import kind_of

# A first catalogue by somebody who never wrote YAML, with fifteen mistakes; each is marked with what must be told.
CATALOGUE = """\
catalogue: 1
name: Mill: north                                               #! second colon
edition: 3                                                      #! put it in quotes
lubricants: [flax-oil]
grades:
  cast-iron:   {torque-limit: 1,2 kN*m, speed-limit: 250 rad/s}  #! write `torque-limit: 1.2 kN*m`
  elm:         {torque-limit: 90}                               #! has no unit
items:
  creek-wheel:
    kind: prime-mover
    output: {torque: 900 N*m, speed: 8 rad}                     #! no unit of speed
  tide-wheel: {kind: prime-movr, output: {torque: 18 kN*m, speed: 3 rad/s}}  #! did you mean prime-mover
   iron-shaft:  {kind: shaft, grade: cast-iron}                 #! does not line up with `creek-wheel` on line 9
  elm-shaft:{kind: shaft, grade: elm}                           #! no space stands after the colon
  steel-shaft:  {kind: shaft, grade: forged-steel}              #! no grade forged-steel
  iron-stage:
    kind: gear-stage
    grade: cast-iron
    ratios: [2.5, 3:1, 7]                                       #! 3:1 is not how a ratio is written
  fork: {kind: splitter, outlets: 2, shares: any, made-of: {bar: 2}  #! is not closed
  press: {kind: driven-machine, needs: {torque: 120 N*m, speed 5 rad/s}}  #! a colon is missing after `speed`
  saw:
    kind: driven-machine
    needs: {torque: “150 N*m”, speed: 10 rad/s}                 #! is not a torque
  oiled:
    kind: gear-stage
    grade: cast-iron
    ratios: [3]
    lubricant: {kind: flaxoil, holds: 6 L, uses: 1 mL/s}        #! flax-oil?
raw:
  bar: {worth: 0,5}                                             #! write `worth: 0.5`
"""

RIG = """\
rig: 1
catalogue: yard.catalogue.yaml
parts:
  wheel: {item: creek-wheel}
  lay:   {item: iron-shaft, drivn-by: wheel}
  fork:  {item: fork, shares: {left: 1, right: 1}, driven-by: lay}
  step:  {item: iron-stage, ratio: 5/2, set: reduce, driven-by: fork.left}
  cross: {item: iron-shaft, driven-by: stp}
  saw:   {item: sew, driven-by: cross}
"""


def told_of(folder: Path, name: str) -> list[tuple[str, int, str]]:
    """File, line and words of each finding on one file of a folder."""
    path = (folder / name).resolve()
    kind = kind_of(path)
    assert kind is not None
    report = Checker(folder.resolve(), open_rulebook()).report(path, kind)
    return [(f.file, f.span.start.line, "".join(map(str, f.message))) for f in report.findings]


def put(folder: Path) -> None:
    """Catalogue and rig, without the marks."""
    unmarked = "\n".join(line.split("#!")[0].rstrip() for line in CATALOGUE.split("\n"))
    (folder / "yard.catalogue.yaml").write_text(unmarked, "utf-8")
    (folder / "a.rig.yaml").write_text(RIG, "utf-8")


def test_fifteen_mistakes_in_one_catalogue_are_told_in_one_run(tmp_path: Path) -> None:
    """Each on its line and in its words, and nothing else."""
    put(tmp_path)
    told = told_of(tmp_path, "yard.catalogue.yaml")
    marked = {n: line.split("#! ")[1] for n, line in enumerate(CATALOGUE.split("\n"), 1) if "#!" in line}
    assert len(marked) == 15
    assert [line for _, line, _ in told] == list(marked)
    for (_, line, message), words in zip(told, marked.values(), strict=True):
        assert words in message, f"line {line}: {message}"


def test_a_rig_of_a_faulty_catalogue_is_read_for_its_own_mistakes(tmp_path: Path) -> None:
    """An item that is faulty is there all the same, and so is a part whose key is; other names are not."""
    put(tmp_path)
    own = [(line, words) for file, line, words in told_of(tmp_path, "a.rig.yaml") if file == "a.rig.yaml"]
    assert [line for line, _ in own] == [5, 8, 9]
    assert "unknown key `drivn-by`; did you mean `driven-by`?" in own[0][1]
    assert "there is no part stp" in own[1][1]
    assert "there is no item sew" in own[2][1]


def test_a_name_written_twice_is_told_once(tmp_path: Path) -> None:
    """And the rest of the file is read: here a quantity without a unit."""
    (tmp_path / "yard.catalogue.yaml").write_text(
        "catalogue: 1\nedition: '3'\ngrades:\n  elm: {torque-limit: 90 N*m}\n  elm: {torque-limit: 60 N*m}\n"
        "items:\n  shaft: {kind: shaft, grade: elm, speed-limit: 70}\n",
        "utf-8",
    )
    told = told_of(tmp_path, "yard.catalogue.yaml")
    assert [line for _, line, _ in told] == [5, 7]


LISTS = """\
rig: 1
catalogue: yard.catalogue.yaml
parts:
  wheel: {item: creek-wheel}
  step:  {item: iron-stage, ratio: 3, set: reduce, driven-by: wheel}
commissioning:
  - couple: step
  - set: {part: step}                                           #! `to` is missing
  - couple: stp                                                 #! there is no part stp
  - start wheel                                                 #! write `start: wheel`
  - fill: {part: step, with: 6}                                 #! has no unit
readings:
  - {torque: 900 N*m}                                           #! `at` is missing
  - {at: wheel, torque: 900 N*m}
  - {at: wheel, torque: 900}                                    #! has no unit
  - {at: whel, speed: 8 rad/s}                                  #! there is no part whel
waivers:
  - {rule: loose-end, part: step, until: 2027-03-31}            #! `reason` is missing
  - {rule: loose-end, part: step, until: 2027-03-31, reason: for the flood}
  - {rule: loose-end, part: stp, until: 2027-03-31, reason: for the flood}  #! there is no part stp
"""
"""One entry of each list does not fit its schema, others are wrong in what they say."""


def test_a_faulty_entry_of_a_list_leaves_the_others_to_be_read(tmp_path: Path) -> None:
    """Each mistake on its line; nothing is told of the sound entries, nor of what stands where a faulty one was."""
    (tmp_path / "yard.catalogue.yaml").write_text(
        'catalogue: 1\nedition: "3"\nitems:\n'
        "  creek-wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}\n"
        "  iron-stage: {kind: gear-stage, torque-limit: 1.3 kN*m, ratios: [3]}\n",
        "utf-8",
    )
    lines = LISTS.split("\n")
    (tmp_path / "a.rig.yaml").write_text("\n".join(line.split("#!")[0].rstrip() for line in lines), "utf-8")
    marked = {n: line.split("#! ")[1] for n, line in enumerate(lines, 1) if "#!" in line}
    told = [(line, words) for _, line, words in told_of(tmp_path, "a.rig.yaml")]
    assert [line for line, _ in told] == list(marked), told
    for (line, message), words in zip(told, marked.values(), strict=True):
        assert words in message, f"line {line}: {message}"


@pytest.mark.parametrize(
    ("was", "made", "line"),
    [("  wheel: {", "  wheel:{", 4), ("  wheel: {", "  wheel:\u00a0{", 4), ("parts:", "Parts:", 3)],
)
def test_a_slip_in_a_name_is_not_told_again_by_what_names_it(tmp_path: Path, was: str, made: str, line: int) -> None:
    """The part is there, and a step that starts it is right; so are all parts behind a key that is misspelt."""
    (tmp_path / "yard.catalogue.yaml").write_text(
        'catalogue: 1\nedition: "3"\nitems:\n'
        "  creek-wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}\n"
        "  stone: {kind: driven-machine, needs: {torque: 40 N*m}}\n",
        "utf-8",
    )
    text = (
        "rig: 1\ncatalogue: yard.catalogue.yaml\nparts:\n  wheel: {item: creek-wheel}\n"
        "  mill: {item: stone, driven-by: wheel}\ncommissioning:\n  - start: wheel\n"
    )
    assert text.count(was) == 1
    (tmp_path / "a.rig.yaml").write_text(text.replace(was, made), "utf-8")
    assert [told for _, told, _ in told_of(tmp_path, "a.rig.yaml")] == [line]


HEAD = "rig: 1\ncatalogue: yard.catalogue.yaml\n"
YARD = """\
catalogue: 1
edition: "3"
lubricants: [flax-oil]
items:
  creek-wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  iron-stage: {kind: gear-stage, torque-limit: 1.3 kN*m, ratios: [3]}
  stone: {kind: driven-machine, needs: {torque: 40 N*m}}
"""


def told_of_rig(folder: Path, marked: str) -> tuple[list[tuple[int, str]], list[tuple[int, str]]]:
    """What is told of a rig below its head, line and words, and what is marked."""
    lines = (HEAD + marked).split("\n")
    (folder / "yard.catalogue.yaml").write_text(YARD, "utf-8")
    (folder / "a.rig.yaml").write_text("\n".join(line.split("#!")[0].rstrip() for line in lines), "utf-8")
    wanted = [(n, words.strip()) for n, line in enumerate(lines, 1) for words in line.split("#! ")[1:]]
    return [(line, words) for _, line, words in told_of(folder, "a.rig.yaml")], wanted


SEVERAL_IN_ONE = {
    "a part": """\
parts:
  wheel: {item: creek-wheel}
  step: {ratio: [3]}  #! `item` is missing #! found a list
  mill: {item: stoon, driven-by: wheel}  #! no item stoon
""",
    "a step of the list": """\
parts:
  wheel: {item: creek-wheel}
commissioning:
  - {fill: {part: wheel}, set: 3}  #! `with` is missing #! an entry of its own #! expected a mapping
  - start: whel  #! no part whel
""",
    "a circuit": """\
parts:
  wheel: {item: creek-wheel}
lubrication:
  north: {tank: 3}  #! `lubricant` is missing #! `feeds` is missing #! expected a mapping
  south: {lubricant: flaxoil, tank: {holds: 3 L}, feeds: [wheel]}  #! no lubricant flaxoil
""",
}


@pytest.mark.parametrize("name", SEVERAL_IN_ONE)
def test_several_mistakes_in_one_entry_hide_none_beside_it(tmp_path: Path, name: str) -> None:
    """The entry is left out once, and what stands beside it in its section is read."""
    told, wanted = told_of_rig(tmp_path, SEVERAL_IN_ONE[name])
    assert [line for line, _ in told] == [line for line, _ in wanted], told
    for (_, message), (_, words) in zip(told, wanted, strict=True):
        assert words in message


SLIPS_OF_SEVERAL_LINES = {
    "a tab before a value on a line of its own": """\
parts:
  wheel:
\t{item: creek-wheel}  #! a tab stands before
  step: {item: iron-stage, ratio: 3, driven-by: wheel}  #! a stage needs its direction
  mill: {item: stone, driven-by: step}
""",
    "a tab before a name behind another slip": """\
parts:
  wheel: {item: creek-wheel}}  #! closes nothing
\tstep: {item: iron-stage, ratio: 3, set: reduce, driven-by: wheel}  #! a tab stands before
  mill: {item: stone, driven-by: step}
""",
    "a brace on a line of its own": """\
parts:
  wheel: {item: creek-wheel}
}  #! this `}` closes nothing that is open; take it out
lubrication:
  north: {lubricant: flaxoil, tank: {holds: 3 L}, feeds: [wheel]}  #! no lubricant flaxoil
""",
    "a line out of line in an entry of several": """\
parts:
  wheel:
    item: creek-wheel
     label: by the weir  #! does not line up
  step:
    item: iron-stage
    ratio: 5  #! it offers 3
    set: reduce
    driven-by: wheel
""",
}


@pytest.mark.parametrize("name", SLIPS_OF_SEVERAL_LINES)
def test_a_slip_in_an_entry_of_several_lines_leaves_the_others_to_be_read(tmp_path: Path, name: str) -> None:
    """The entry that has it is there all the same, for what names it."""
    told, wanted = told_of_rig(tmp_path, SLIPS_OF_SEVERAL_LINES[name])
    assert [line for line, _ in told] == [line for line, _ in wanted], told
    for (_, message), (_, words) in zip(told, wanted, strict=True):
        assert words in message


def test_a_blueprints_faults_are_told_beside_those_of_form_in_the_rig(tmp_path: Path) -> None:
    """Each in its own file."""
    (tmp_path / "leg.blueprint.yaml").write_text(
        "blueprint: 1\ncatalogue: yard.catalogue.yaml\ninlets: {drive: {torque-up-to: 900 N*m, speed-up-to: 9 rad/s}}\n"
        "parts:\n  step: {item: iron-stage, ratio: 5, set: reduce, driven-by: drive}\n",
        "utf-8",
    )
    parts = "parts:\n  wheel: {item: creek-wheel, colour: red}\n"
    told_of_rig(tmp_path, f"{parts}  leg: {{blueprint: leg.blueprint.yaml, driven-by: wheel}}\n")
    told = [(file, line) for file, line, _ in told_of(tmp_path, "a.rig.yaml")]
    assert sorted(told) == [("a.rig.yaml", 4), ("leg.blueprint.yaml", 5)]


def test_a_text_full_of_slips_is_told_from_its_beginning(tmp_path: Path) -> None:
    """It is read 24 times at most, with one slip more taken out each time: so many are told, in order."""
    told, _ = told_of_rig(tmp_path, "parts:\n" + "".join(f"  p{n}: item: creek-wheel\n" for n in range(30)))
    assert [line for line, _ in told] == list(range(4, 28))
    assert all("put braces around" in words for _, words in told)


def test_a_rig_in_which_nothing_fits_is_told_for_its_form_alone(tmp_path: Path) -> None:
    """Of 900 parts with a key that means nothing the first hundred are told; what else is wrong waits."""
    parts = "parts:\n" + "".join(f"  p{n}: {{item: creek-wheel, colour: red}}\n" for n in range(900))
    told, _ = told_of_rig(tmp_path, f"{parts}readings: [{{at: p3, speed: 8}}]\n")
    assert [line for line, _ in told] == list(range(4, 104))
    assert all("unknown key `colour`" in words for _, words in told)
