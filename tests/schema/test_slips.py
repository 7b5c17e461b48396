"""Slips of the hand that make a file no YAML: each told at its own place, in words that say what to write."""

from pathlib import Path

import pytest

from lineshaft.schema.text import yaml_reader
from lineshaft.schema.text.fault import Fault
from lineshaft.schema.text.text import SourceText
from lineshaft.schema.text.tree import Tree
from lineshaft.schema.text.yaml_pass import Bounds
from lineshaft.schema.text.yaml_reader import read_yaml
from lineshaft.schema.validation.conformity import misfits

GOOD = """\
rig: 1
name: North mill
catalogue: yard.catalogue.yaml
parts:
  wheel: {item: creek-wheel}
  lay:   {item: iron-shaft, driven-by: wheel}
  step:  {item: iron-stage, ratio: 5/2, set: reduce, driven-by: lay}
commissioning:
  - couple: lay
  - start: wheel
"""

# What is put in place of what, the line and column of the slip counted by hand, and words that must be there.
SLIPS = {
    "one space too many": ("  lay:", "   lay:", 6, 4, "`lay` does not line up with `wheel` on line 5"),
    "one space too few": ("  lay:", " lay:", 6, 2, "put in 1 space before `lay`"),
    "the first entry is the one that is out": ("  wheel: {", "   wheel: {", 5, 4, "with `lay` on line 6"),
    "a key at the top that is indented": ("catalogue:", " catalogue:", 3, 2, "with `rig` on line 1"),
    "a dash without its space among others": ("  - start", "  -start", 10, 3, "write `- start: wheel`"),
    "an entry without its dash": ("  - start", "  start", 10, 3, "`start` does not; write `- start: wheel`"),
    "a step out of line": ("  - start", "   - start", 10, 4, "take out 1 space before the dash"),
    "a second colon": ("North mill", "Mill: north", 2, 11, '`name: "Mill: north"`'),
    "no braces": ("{item: creek-wheel}", "item: creek-wheel", 5, 14, "`wheel: {item: creek-wheel}`"),
    "no opening brace": ("{item: creek-wheel}", "item: creek-wheel}", 5, 10, "the opening brace is missing"),
    "no closing brace": ("creek-wheel}", "creek-wheel", 5, 10, "the brace that opens here is not closed"),
    "no closing brace in the last part": ("driven-by: lay}", "driven-by: lay", 7, 10, "is not closed"),
    "one closing brace too many": ("creek-wheel}", "creek-wheel}}", 5, 29, "closes nothing"),
    "a closing brace in place of a value": ("North mill", "}", 2, 7, "this `}` closes nothing"),
    "the wrong closing bracket": ("driven-by: lay}", "driven-by: lay]", 7, 68, "write `}`"),
    "a list left open": ("driven-by: lay}", "driven-by: [lay}", 7, 69, "the square bracket at column 65"),
    "no closing brace before a comment": ("lay}", "lay # a wheel} {", 7, 10, "the brace that opens here is not closed"),
    "a quote left open": ("North mill", '"North mill', 2, 7, 'as in `"North mill"`'),
    "a quote left open in braces": ("item: creek-wheel", 'item: "creek-wheel', 5, 17, "not closed"),
    "a tab before a key": ("  lay:", "\tlay:", 6, 1, "a tab stands before"),
    "no-break spaces before a key": ("  lay:", "\u00a0\u00a0lay:", 6, 1, "a no-break space (U+00A0)"),
    "no comma": ("iron-shaft, ", "iron-shaft ", 6, 28, "a comma is missing before `driven-by`"),
    "a semicolon": ("iron-shaft,", "iron-shaft;", 6, 27, "a `;` stands here"),
    "no space after a colon": ("catalogue: ", "catalogue:", 3, 10, "`catalogue: yard.catalogue.yaml`"),
    "no colon": ("parts:", "parts", 4, 1, "write `parts:`"),
    "text that begins with a sign": ("North mill", "@north", 2, 7, '`name: "@north"`'),
    "a backslash in double quotes": ("North mill", '"north\\mill"', 2, 13, "put the text in single quotes"),
}


def faults_of(text: str) -> tuple[Fault, ...]:
    """What reading a text finds; at least one fault."""
    found = read_yaml(SourceText(Path("a.rig.yaml"), "a.rig.yaml", text), Bounds())
    assert isinstance(found, tuple)
    return found


@pytest.mark.parametrize("name", SLIPS)
@pytest.mark.parametrize("pure", [False, True])
def test_a_slip_is_told_where_it_was_made(name: str, pure: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """By either parser, though both stop at other places."""
    was, made, line, column, words = SLIPS[name]
    assert GOOD.count(was) == 1
    if pure:
        monkeypatch.setattr(yaml_reader, "CParser", None)
    fault = faults_of(GOOD.replace(was, made))[0]
    assert words in fault.message
    assert (fault.span.start.line, fault.span.start.column) == (line, column)


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_no_word_of_a_parser_is_left(end: str) -> None:
    """Nobody who builds wheels knows what a token, a scalar or a mapping is."""
    for was, made, *_ in SLIPS.values():
        message = faults_of(GOOD.replace(was, made).replace("\n", end))[0].message
        assert not any(word in message for word in ("token", "scalar", "mapping", "sequence", "context", "indicator"))


# Slips that leave YAML, but another than was meant: what is put in place of what, and words that must be there.
MEANT_OTHERWISE = {
    "a comma in a number": ("5/2", "2,5", "write `ratio: 2.5`"),
    "a comma in a quantity": ("{item: creek-wheel}", "{item: ebb, head: 1,5 m}", "write `head: 1.5 m`"),
    "no space in braces": ("item: creek-wheel", "item:creek-wheel", "write `item: creek-wheel`"),
    "no space before braces": ("wheel: {", "wheel:{", "no space stands after the colon"),
    "a no-break space behind a colon": ("item: creek-wheel", "item:\u00a0creek-wheel", "a no-break space (U+00A0)"),
    "a no-break space before braces": ("wheel: {", "wheel:\u00a0{", "a no-break space (U+00A0) stands after the colon"),
    "a comma in a label": ("{item: creek-wheel}", "{item: ebb, label: 1,5 m}", "write `label: 1.5 m`"),
    "a step without its colon": ("- start: wheel", "- start wheel", "after `start`; write `start: wheel`"),
    "an equals sign": ("item: creek-wheel", "item = creek-wheel", "write `item: creek-wheel`"),
    "no colon": ("item: creek-wheel", "item creek-wheel", "a colon is missing after `item`"),
    "a ratio as a key": ("ratio: 5/2", "3:1", "write `ratio: 3`"),
    "a ratio as a key beside a ratio": ("ratio: 5/2", "ratio: 5/2, 3:1", 'put a space after it, or `"3:1"` in quotes'),
    "a comma between thousands": ("{item: creek-wheel}", "{item: ebb, head: 1,200 mm}", "or `head: 1200 mm` where"),
    "a word behind a number": ("ratio: 5/2", "ratio: 5, heavy", "unknown key `heavy`"),
    "a list in braces without brackets": ("driven-by: lay}", "driven-by: lay, wheel}", "`driven-by: [lay, wheel]`"),
    "a list as text": ("driven-by: lay}", 'driven-by: "lay, wheel"}', "`driven-by: [lay, wheel]`"),
    "an item alone": ("{item: creek-wheel}", "creek-wheel", "write `wheel: {item: creek-wheel}`"),
    "a dash without its space": ("  - couple: lay\n  - start", "  -couple: lay\n  -start", "write `- couple`"),
}


@pytest.mark.parametrize("name", MEANT_OTHERWISE)
def test_a_slip_that_is_yaml_all_the_same_is_one_fault(name: str) -> None:
    """With what to write, and without the faults that follow from it."""
    was, made, words = MEANT_OTHERWISE[name]
    assert GOOD.count(was) == 1
    text = GOOD.replace(was, made)
    tree = read_yaml(SourceText(Path("a.rig.yaml"), "a.rig.yaml", text), Bounds())
    assert isinstance(tree, Tree)
    (misfit,) = misfits("rig", tree.data)
    assert words in misfit.message


def test_a_ratio_that_is_a_key_with_a_colon_in_it_is_told_as_a_ratio() -> None:
    """`75 : 15:` in a catalogue's ratios."""
    (fault,) = faults_of("catalogue: 1\nitems:\n  a:\n    ratios:\n      75 : 15: {made-of: {bar: 3}}\n")
    assert "write `75/15: {made-of: {bar: 3}}`" in fault.message
    assert (fault.span.start.line, fault.span.start.column) == (5, 12)


@pytest.mark.parametrize(("text", "words"), [("parts: {}", "`parts: {wheel:"), ("parts:", "`parts: {wheel:")])
def test_what_is_empty_is_told_with_what_stands_there(text: str, words: str) -> None:
    """The parts, with the example of the schema."""
    whole = f"rig: 1\ncatalogue: yard.catalogue.yaml\n{text}\n"
    tree = read_yaml(SourceText(Path("a.rig.yaml"), "a.rig.yaml", whole), Bounds())
    assert isinstance(tree, Tree)
    (misfit,) = misfits("rig", tree.data)
    assert words in misfit.message
