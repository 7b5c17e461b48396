"""Random edits of files as people write them: they load, comments stay with their parts, all other bytes stay.

A file is made as rows, each with the part that owns it, so what an edit should leave is known without the program.
"""

import random
from pathlib import Path
from types import SimpleNamespace
from typing import Any, NamedTuple, cast

import pytest

from lineshaft.check.finding import Edit
from lineshaft.repair.edits.commissioning_block import added_list
from lineshaft.repair.edits.entries import without_entries
from lineshaft.repair.edits.parts import add_parts, add_steps, set_key
from lineshaft.repair.edits.splice import spliced, splices_of
from lineshaft.schema.model.rig import Part
from lineshaft.schema.text.text import SourceText
from lineshaft.schema.text.tree import Tree
from lineshaft.schema.text.yaml_pass import Bounds
from lineshaft.schema.text.yaml_reader import read_yaml


class Row(NamedTuple):
    """A line and the part that owns it; empty for what is nobody's."""

    owner: str
    text: str


class Made(NamedTuple):
    """A file: rows of the parts, and what stands before and behind them."""

    style: str
    before: list[Row]
    parts: list[Row]
    behind: list[Row]
    names: list[str]
    line_end: str
    ended: bool

    def text(self, before: list[Row], parts: list[Row]) -> str:
        """The file with other rows before and in the parts."""
        whole = self.line_end.join(row.text for row in (*before, *parts, *self.behind))
        return whole + (self.line_end if self.ended else "")


def _part(name: str, style: str, last: bool, rng: random.Random) -> list[Row]:
    """A part with comments above, on its line and below it."""
    rows = [f"  # above {name}: {k}" for k in range(rng.choice((0, 0, 1, 2)))]
    beside = rng.choice(("", f" # beside {name}"))
    anchored = rng.choice(("shaft", f"&{name} shaft", '"shaft"'))
    if style == "braces":
        rows.append(f"  {name}: {{item: {anchored}, driven-by: x}}{'' if last else ','}{beside}")
    elif style == "flow":
        rows.append(f"  {name}: {{item: {anchored}, driven-by: x}}{beside}")
        rows += [f"    # below {name}"] if rng.random() < 0.3 else []
    else:
        rows += [f"  {name}:{beside}", f"    item: {anchored}", f"    driven-by: x{beside}"]
        scalar = rng.choice(("", "", "|+", "|-", ">-", "|"))
        if scalar:
            rows += [f"    label: {scalar}", f"      # no comment but text of {name}", "      more", ""]
        elif rng.random() < 0.4:
            rows.append(f"    # below {name}")
    return [Row(name, text) for text in rows]


def _made(rng: random.Random) -> Made:
    style = rng.choice(("flow", "block", "braces"))
    names = [f"p{k}" for k in range(rng.randint(2, 6))]
    before = [Row("", "rig: 1  # head")]
    if rng.random() < 0.6:
        above = rng.choice(([], [Row("", "  # above the first step")]))
        before += [Row("", "commissioning:"), *above, Row("", "  - start: p0  # go"), Row("", "  - couple: p1")]
    before.append(Row("", "parts: {" if style == "braces" else "parts:"))
    rows: list[Row] = []
    for number, name in enumerate(names):
        if rng.random() < 0.25 and not (rows and rows[-1].text == ""):
            rows += [Row("", ""), Row("", f"  # nobody's {number}"), Row("", "")]
        rows += _part(name, style, number == len(names) - 1 and rng.random() < 0.5, rng)
    behind = [Row("", "}  # end")] if style == "braces" else []
    if rng.random() < 0.5:
        behind += [Row("", "# about the site"), Row("", "name: Works")]
    ended = rng.random() < 0.6 or (not behind and rows[-1].text == "")
    if not behind and rows[-1].text == "":
        rows.pop()  # the last line end is written by `ended`
    return Made(style, before, rows, behind, names, rng.choice(("\n", "\r\n")), ended)


def _tree(text: str) -> Tree:
    read = read_yaml(SourceText(Path("made.rig.yaml"), "made.rig.yaml", text), Bounds())
    assert isinstance(read, Tree), (text, read)
    return read


def _as_part(tree: Tree, name: str) -> Part:
    return cast(Part, SimpleNamespace(tree=tree, route=("parts", name), name=name))


def _after(tree: Tree, edits: list[Edit]) -> str:
    return spliced(tree.source.text, splices_of(tree.source, edits))


def _driven_by_z(row: Row) -> Row:
    return row._replace(text=row.text.replace("driven-by: x", "driven-by: z"))


def _new(made: Made, name: str) -> list[Row]:
    if made.style == "block":
        return [Row(name, f"  {name}:"), Row(name, "    item: clutch"), Row(name, "    driven-by: w")]
    return [Row(name, f"  {name}: {{item: clutch, driven-by: w}}")]


def _with_new(made: Made, rows: list[Row], after: str, name: str) -> list[Row]:
    """The rows with a new part behind another one; between braces with the comma that is due."""
    at = max(k for k, row in enumerate(rows) if row.owner == after)
    new = _new(made, name)
    if made.style != "braces":
        return [*rows[: at + 1], *new, *rows[at + 1 :]]
    line = rows[at].text
    body, hash_mark, comment = line.partition(" #")
    comma = body.endswith(",")
    if not hash_mark:  # on the same line, since no comment is in the way
        inline = f", {name}: {{item: clutch, driven-by: w}}"
        return [*rows[:at], Row(after, body.removesuffix(",") + inline + ("," if comma else "")), *rows[at + 1 :]]
    behind = Row(name, new[0].text + ("," if comma else ""))
    return [*rows[:at], Row(after, f"{body}{'' if comma else ','}{hash_mark}{comment}"), behind, *rows[at + 1 :]]


@pytest.mark.parametrize("seed", range(400))
def test_comments_and_bytes_after_random_edits(seed: int) -> None:
    """Parts removed, changed and added at once: every row that no edit is about is there as it was, in its place."""
    rng = random.Random(seed)
    made = _made(rng)
    tree = _tree(made.text(made.before, made.parts))
    gone = set(rng.sample(made.names, rng.randint(0, len(made.names) - 1)))
    kept = [name for name in made.names if name not in gone]
    edits: list[Edit] = []
    removed = without_entries(tree, ("parts",), sorted(gone))
    assert removed is not None
    edits += removed
    rows = [row for row in made.parts if row.owner not in gone]
    changed: dict[str, Any] = dict.fromkeys(kept, "shaft")
    for name in kept:
        if rng.random() < 0.4:
            edits.append(set_key(_as_part(tree, name), "driven-by", "z"))
            rows = [_driven_by_z(row) if row.owner == name else row for row in rows]
            changed[name] = "changed"
    before = made.before
    if any(row.text == "commissioning:" for row in before) and rng.random() < 0.6:
        added = add_steps(tree, 0, ["fill: q"])
        assert added is not None
        edits.append(added)
        at = next(k for k, row in enumerate(before) if row.text == "commissioning:")
        before = [*before[: at + 1], Row("", "  - fill: q"), *before[at + 1 :]]
    new = rng.choice(kept) if rng.random() < 0.5 else None
    if new is not None:
        edits += add_parts(tree, _as_part(tree, new).route, [("n0", {"item": "clutch", "driven-by": "w"})])
        rows = _with_new(made, rows, new, "n0")
    text = _after(tree, edits)
    wanted_text = made.text(before, rows)
    assert text == wanted_text or (not made.behind and text.rstrip("\r\n") == wanted_text.rstrip("\r\n"))
    data = _tree(text).data
    assert isinstance(data, dict)
    parts = data["parts"]
    assert isinstance(parts, dict)
    wanted = [*kept]
    if new is not None:
        wanted.insert(kept.index(new) + 1, "n0")
    assert list(parts) == wanted
    for name in kept:
        part = parts[name]
        assert isinstance(part, dict)
        assert part["driven-by"] == ("z" if changed[name] == "changed" else "x")
        old = cast(Any, tree.data)["parts"][name].get("label")
        assert part.get("label") == old or not made.ended or name == made.names[-1] or name == kept[-1]


@pytest.mark.parametrize("seed", range(60))
def test_a_start_up_list_goes_behind_everything_that_is_the_last_key_s(seed: int) -> None:
    """A list where there was none: the file loads, says the same besides, and every row is there, the list behind."""
    rng = random.Random(f"{seed}/list")
    made = _made(rng)
    before = [Row("", "rig: 1"), made.before[-1]]
    text = made.text(before, made.parts)
    if not made.ended and "label" in text:
        pytest.skip("a block scalar that the end of the file ends has a line end more once something follows it")
    tree = _tree(text)
    after = spliced(text, [added_list(tree, ["start: p0"])])
    assert after.startswith(text.rstrip("\r\n"))
    data, old = cast(Any, _tree(after).data), cast(Any, tree.data)
    assert data.pop("commissioning") == [{"start": "p0"}]
    assert data == old


def test_what_a_removed_entry_in_a_row_takes_with_it() -> None:
    """Several to a line between braces: a comma each, and the comment behind the line's last entry is that one's."""
    text = "rig: 1\nparts: {a: {item: x}, b: {item: x}, # of b\n  c: {item: x}, d: {item: x}}\n"
    tree = _tree(text)
    left = {
        ("a",): "{b: {item: x}, # of b\n  c: {item: x}, d: {item: x}}",
        ("b",): "{a: {item: x}, \n  c: {item: x}, d: {item: x}}",
        ("c",): "{a: {item: x}, b: {item: x}, # of b\n  d: {item: x}}",
        ("d",): "{a: {item: x}, b: {item: x}, # of b\n  c: {item: x}}",
        ("a", "b"): "{\n  c: {item: x}, d: {item: x}}",
        ("c", "d"): "{a: {item: x}, b: {item: x}, # of b\n  }",
    }
    for gone, parts in left.items():
        edits = without_entries(tree, ("parts",), gone)
        assert edits is not None
        after = _after(tree, edits)
        assert after == f"rig: 1\nparts: {parts}\n", gone
        assert list(cast(Any, _tree(after).data)["parts"]) == [name for name in "abcd" if name not in gone]


@pytest.mark.parametrize(
    ("end", "added"),
    [
        ("}, # the parts\n}\n", "commissioning: [{start: wheel}]"),
        ("} # the parts\n}\n", ", commissioning: [{start: wheel}]"),
        ("}\n  # no, really, the end\n}\n", ", commissioning: [{start: wheel}]"),
        ("}}\n", ", commissioning: [{start: wheel}]"),
    ],
)
def test_a_list_put_into_braces_has_one_comma_before_it(end: str, added: str) -> None:
    """Whether one trails already is told past comments: a comma in a comment is none, one before a comment is."""
    text = "{rig: 1, parts: {wheel: {item: x}" + end
    after = spliced(text, [added_list(_tree(text), ["start: wheel"])])
    close = text.rindex("}")
    assert after == text[:close] + added + text[close:]
    assert cast(Any, _tree(after).data)["commissioning"] == [{"start": "wheel"}]


@pytest.mark.parametrize("scalar", ["|+\n  By the\n  creek\n\n", "|\n  By the\n  creek\n", ">-\n  By the creek\n\n\n"])
def test_a_list_behind_a_block_scalar_leaves_that_as_it_is(scalar: str) -> None:
    """The scalar ends where the next line begins: nothing is put between, which it would take for its own."""
    text = f"rig: 1\nparts: {{wheel: {{item: x}}}}\nname: {scalar}"
    after = spliced(text, [added_list(_tree(text), ["start: wheel"])])
    assert after == f"{text}commissioning:\n  - start: wheel\n"
    assert cast(Any, _tree(after).data)["name"] == cast(Any, _tree(text).data)["name"]


def test_a_value_that_is_a_block_scalar_keeps_its_line_end() -> None:
    """Another item for one that is written in a block: what follows stays on its own line."""
    text = "rig: 1\nparts:\n  wheel:\n    item: |-\n      x\n    head: 3 m\n"
    after = _after(_tree(text), [set_key(_as_part(_tree(text), "wheel"), "item", "weir")])
    assert after == "rig: 1\nparts:\n  wheel:\n    item: weir\n    head: 3 m\n"
