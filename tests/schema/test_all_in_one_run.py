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
