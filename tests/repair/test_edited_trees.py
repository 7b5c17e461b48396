"""The tree of an edited file, read again only where edits touch it, has the places of the file read anew."""

from pathlib import Path

import pytest

from lineshaft.repair.edits.splice import Splice, spliced
from lineshaft.repair.proof.edited_tree import edited_tree, sections_of
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.text import SourceText
from lineshaft.schema.text.tree import Tree
from lineshaft.schema.text.yaml_pass import Bounds
from lineshaft.schema.text.yaml_reader import read_yaml

BLOCK = """rig: 1
parts:
  wheel: {item: wheel}
  lay: {item: shaft, driven-by: wheel}
  pole: {item: shaft, driven-by: lay}
commissioning:
  - start: wheel
  - stop: wheel
name: Quay
"""
BRACES = """parts: { # all of it
  wheel: {item: wheel},
  lay: {item: shaft, driven-by: wheel}, # the last
}
"""


def _read(text: str) -> Tree:
    tree = read_yaml(SourceText(Path("a.rig.yaml"), "a.rig.yaml", text), Bounds())
    assert isinstance(tree, Tree)
    return tree


def _splice(text: str, old: str, new: str) -> Splice:
    assert text.count(old) == 1
    start = text.index(old)
    return Splice(start, start + len(old), new)


@pytest.mark.parametrize("route", [
    ("parts", "lay"), ("parts", "pole"), ("parts", "pole", "item"), ("parts", "yard", "driven-by"), ("parts", "wheel"),
    ("commissioning", 0), ("commissioning", 1, "stop"), ("commissioning", 7), ("readings", 0), ("name",), ("parts",),
    ("parts", "lay", "grade"),
])  # fmt: skip
def test_every_place_is_that_of_the_text_read_anew(route: Route) -> None:
    """Of entries that were changed, moved or added; of one that is not there it is that of what would hold it."""
    splices = (
        _splice(BLOCK, "lay: {item: shaft, driven-by: wheel}", "yard: {item: rod, driven-by: wheel}"),
        _splice(BLOCK, "driven-by: lay", "driven-by: yard"),
        _splice(BLOCK, "- start: wheel", "- fill: {part: yard, with: 3 L}\n  - start: wheel"),
    )
    tree = _read(BLOCK)
    edited = edited_tree(tree, sections_of(tree), splices, Bounds())
    assert edited is not None
    anew = _read(spliced(BLOCK, splices))
    assert (edited.slice(route), edited.key_slice(route)) == (anew.slice(route), anew.key_slice(route))
    assert edited.data == anew.data
    for section in ("parts", "commissioning"):
        assert edited.entry_slices((section,)) == anew.entry_slices((section,))


@pytest.mark.parametrize(("text", "old", "new"), [
    (BRACES, " # all of it", " post: {item: rod}, # all of it"),
    (BRACES, "# the last\n", "# the last\n  post: {item: rod},\n"),
    (BLOCK, "name: Quay", "name: Pier"),
    (BLOCK, "item: shaft, driven-by: lay", "item: &a shaft, driven-by: lay"),
])  # fmt: skip
def test_what_is_put_beside_all_entries_is_read_whole(text: str, old: str, new: str) -> None:
    """In front of the first entry between braces, behind the last one's comma, outside all sections, with an anchor."""
    tree = _read(text)
    assert edited_tree(tree, sections_of(tree), (_splice(text, old, new),), Bounds()) is None
