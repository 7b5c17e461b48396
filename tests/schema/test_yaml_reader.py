"""Bytes to text to located tree: where things stand, counted by hand, and what is refused.

YAML's own rules are those of YAML 1.2.2 (chapter and section beside the check).
"""

from pathlib import Path

import pytest

from lineshaft.schema.text.fault import Fault
from lineshaft.schema.text.span import Position, Route, Span
from lineshaft.schema.text.text import SourceText, read_text
from lineshaft.schema.text.tree import Tree
from lineshaft.schema.text.undecodable import Undecodable
from lineshaft.schema.text.yaml_reader import Bounds, read_yaml

HERE = Path("a.rig.yaml")


def text_of(raw: bytes) -> SourceText:
    source = read_text(HERE, "a.rig.yaml", raw)
    assert isinstance(source, SourceText)
    return source


def tree_of(text: str | bytes) -> Tree:
    raw = text.encode() if isinstance(text, str) else text
    tree = read_yaml(text_of(raw), Bounds())
    assert isinstance(tree, Tree), tree
    return tree


def faults_of(text: str, bounds: Bounds | None = None) -> tuple[Fault, ...]:
    found = read_yaml(text_of(text.encode()), bounds or Bounds())
    assert isinstance(found, tuple), found
    assert {fault.rule for fault in found} == {"not-yaml"}
    return found


def fault_of(text: str, bounds: Bounds | None = None) -> Fault:
    (fault,) = faults_of(text, bounds)
    return fault


def ends(span: Span) -> tuple[int, int, int, int]:
    return (*span.start, *span.end)


PLAIN = "rig: 1\nparts:\n  wheel: {item: tide-wheel, at: [1, -2.5, 300]}\n  'b b': \"x\"\n"


@pytest.mark.parametrize(
    ("route", "value", "key"),
    [
        (("rig",), (1, 6, 1, 7), (1, 1, 1, 4)),
        (("parts", "wheel"), (3, 10, 3, 48), (3, 3, 3, 8)),
        (("parts", "wheel", "item"), (3, 17, 3, 27), (3, 11, 3, 15)),
        (("parts", "wheel", "at"), (3, 33, 3, 47), (3, 29, 3, 31)),
        (("parts", "wheel", "at", 1), (3, 37, 3, 41), (3, 37, 3, 41)),
        (("parts", "wheel", "at", 2), (3, 43, 3, 46), (3, 43, 3, 46)),
        (("parts", "b b"), (4, 10, 4, 13), (4, 3, 4, 8)),
        (("parts",), (3, 3, 4, 13), (2, 1, 2, 6)),
        (("parts", "wheel", "gone"), (3, 10, 3, 48), (3, 3, 3, 8)),
    ],
)
def test_places_of_keys_and_values(route: Route, value: tuple[int, ...], key: tuple[int, ...]) -> None:
    """Lines and columns count from 1, ends are exclusive; numbers have places too; what is missing has its holder's."""
    tree = tree_of(PLAIN)
    assert ends(tree.span(route)) == value
    assert ends(tree.key_span(route)) == key


@pytest.mark.parametrize("raw", [PLAIN.encode().replace(b"\n", b"\r\n"), b"\xef\xbb\xbf" + PLAIN.encode()])
def test_line_ends_and_a_byte_order_mark_move_nothing(raw: bytes) -> None:
    """CRLF counts as one line end, and columns start behind a byte order mark."""
    tree, plain = tree_of(raw), tree_of(PLAIN)
    assert tree.data == plain.data
    for route in (("rig",), ("parts", "wheel", "at", 2), ("parts", "b b")):
        assert tree.span(route) == plain.span(route)


@pytest.mark.parametrize("odd", ["\u2028", "\u2029", "\x85"])
def test_foreign_breaks_are_no_line_ends(odd: str) -> None:
    """LS, PS and NEL are plain characters in YAML 1.2 (5.4), as for editors: a label keeps them, lines do not move."""
    tree = tree_of(f"label: 'a{odd}b'\nplain: a{odd}b\nrig: 1\n")
    assert tree.data == {"label": f"a{odd}b", "plain": f"a{odd}b", "rig": 1}
    assert ends(tree.span(("plain",))) == (2, 8, 2, 11)
    assert ends(tree.span(("rig",))) == (3, 6, 3, 7)


def test_an_escape_of_a_private_character_stays_itself() -> None:
    """An escape in the text means what it says, whatever stands in for a foreign break."""
    assert tree_of('a: "\\uE000"\nb: x\u2028y\n').data == {"a": "\ue000", "b": "x\u2028y"}


def test_columns_count_code_points() -> None:
    """A character outside the basic plane is one column: `{a: ` takes 4, its quotes 3, `, b: ` 5, so 7 is the 13th."""
    tree = tree_of("{a: '\U0001f980', b: 7}\n")
    assert ends(tree.span(("b",))) == (1, 13, 1, 14)


def test_positions_and_indices_are_inverses() -> None:
    """In `ab CRLF c`: index 0 is (1, 1), the line feed is (1, 4), `c` is (2, 1)."""
    source = text_of(b"ab\r\nc")
    assert [source.position(i) for i in (0, 3, 4, 5)] == [(1, 1), (1, 4), (2, 1), (2, 2)]
    assert all(source.index(source.position(i)) == i for i in range(6))


def test_an_alias_has_its_own_place() -> None:
    """What an alias stands for is shown where the alias is written, down to every value in it."""
    tree = tree_of("a: &w {x: 1}\nb: *w\n")
    assert tree.data == {"a": {"x": 1}, "b": {"x": 1}}
    assert ends(tree.span(("a", "x"))) == (1, 11, 1, 12)
    assert ends(tree.span(("b",))) == ends(tree.span(("b", "x"))) == (2, 4, 2, 6)


# What stands at a character of the text below: the route, and whether the character is in its key.
AT = [
    ("na", 0, ("name",), True),
    ("No", 0, ("name",), False),
    ("parts", 5, ("parts",), True),
    ("it", 0, ("parts", "a", "item"), True),
    ("wh", 3, ("parts", "a", "item"), False),
    ("on", 0, ("readings", 1), False),
    ("}", 0, ("parts", "a", "item"), False),
    ("}", 1, ("parts", "a"), False),
    ("# ", 0, (), False),
]


@pytest.mark.parametrize(("mark", "further", "route", "in_key"), AT)
def test_what_is_written_around_a_character(mark: str, further: int, route: Route, in_key: bool) -> None:
    """The innermost value; a character right behind one counts as in it."""
    text = "# yard\nname: North\nparts:\n  a: {item: wheel}\nreadings:\n- 7\n- one\n"
    assert tree_of(text).route_at(text.index(mark) + further) == (route, in_key)


def test_an_anchor_may_be_used_again() -> None:
    """The latest node of a name counts (YAML 1.2.2, 7.1), also where one lies inside the other."""
    assert tree_of("a: &w 1\nb: &w 2\nc: *w\n").data == {"a": 1, "b": 2, "c": 2}
    assert tree_of("a: &w {b: &w {c: 1}, d: *w}\n").data == {"a": {"b": {"c": 1}, "d": {"c": 1}}}


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("1", 1), ("-0", 0), ("+12", 12), ("0o17", 15), ("0x1F", 31), ("017", 17), ("1.", 1.0), (".5", 0.5),
        ("1e3", 1000.0), ("-2.5E-1", -0.25), ("true", True), ("FALSE", False), ("null", None), ("~", None), ("", None),
        ("yes", "yes"), ("on", "on"), ("1_000", "1_000"), ("12:30", "12:30"), ("0b1", "0b1"), (".inf", ".inf"),
        (".nan", ".nan"), ("1e400", "1e400"), ("75/15", "75/15"), ("2026-01-01", "2026-01-01"), ("tRue", "tRue"),
        ("'1'", "1"), ('"true"', "true"), ("!!str 5", "5"), ("!!int '5'", 5), ("!!float 5", 5.0), ("!!null ''", None),
        ("!!bool true", True), ("!!seq [1]", [1]), ("!!map {a: 1}", {"a": 1}),
    ],
)  # fmt: skip
def test_scalars_by_the_core_schema(written: str, value: object) -> None:
    """The core schema of YAML 1.2.2 (10.3.2); what is not finite stays text, for whoever needs a number to refuse."""
    data = tree_of(f"a: {written}\n").data
    assert isinstance(data, dict)
    assert data["a"] == value
    assert type(data["a"]) is type(value)


@pytest.mark.parametrize(
    ("text", "second", "first"),
    [
        ("a: 1\nb: 2\na: 3\n", (3, 1, 3, 2), (1, 1, 1, 2)),
        ("1: a\n'1': b\n", (2, 1, 2, 4), (1, 1, 1, 2)),
        ("x:\n  k: {a: 1}\n  m: [1, 2]\n  m: 3\n", (4, 3, 4, 4), (3, 3, 3, 4)),
        ("{a: 1, 'a': 2}\n", (1, 8, 1, 11), (1, 2, 1, 3)),
    ],
)
def test_a_repeated_key_names_both_lines(text: str, second: tuple[int, ...], first: tuple[int, ...]) -> None:
    """The fault stands at the second key, and leads to the first; `1` and `"1"` are one key."""
    fault = fault_of(text)
    assert ends(fault.span) == second
    assert [ends(other.span) for other in fault.related] == [first]
    assert f"the first is on line {first[0]}" in fault.message


def test_each_of_several_repeated_keys_finds_its_own_first() -> None:
    """Keys repeated earlier in the same mapping do not shift the place of the first one."""
    found = faults_of("a: 1\nb: 2\na: 3\nc: 4\nc: 5\nb: 6\na: 7\n")
    places = [(fault.span.start.line, fault.related[0].span.start.line) for fault in found]
    assert places == [(3, 1), (5, 4), (6, 2), (7, 1)]


@pytest.mark.parametrize(
    ("text", "line", "column", "words"),
    [
        ("a: 1\n<<: {b: 1}\n", 2, 1, "merge keys"),
        ("a: !wheel x\n", 1, 4, "the tag !wheel"),
        ("a: !!binary x\n", 1, 4, "tag:yaml.org,2002:binary"),
        ("a: !!int x\n", 1, 4, "tag:yaml.org,2002:int"),
        ("%TAG !! tag:else,2000:\n---\na: !!str b\n", 3, 4, "tag:else,2000:str"),
        ("a: 1\n---\nb: 2\n", 2, 1, "second document"),
        ("%YAML 1.1\n---\na: 1\n", 1, 1, "YAML 1.2"),
        ("? [a]\n: 1\n", 1, 3, "a key must be plain text"),
        ("a: &x 1\n*x : 2\n", 2, 1, "a key must be plain text"),
        ("a: *w\n", 1, 4, "no anchor 'w'"),
        ("a: &w [*w]\n", 1, 4, "an alias of itself"),
        ("a: b: c\n", 1, 5, "a second colon"),
        ("a:\n\t- b\n", 2, 1, "write spaces in its place"),
        ("a: [1,\n", 1, 4, "is not closed"),
        ("a: x\x07y\n", 1, 5, "U+0007"),
        ("a: x\x00y\n", 1, 5, "U+0000"),
    ],
)
def test_what_is_refused(text: str, line: int, column: int, words: str) -> None:
    """What rig files do without is one fault at its place, with words that say what it is."""
    fault = fault_of(text)
    assert fault.span.start == Position(line, column)
    assert words in fault.message


def test_what_only_looks_refused() -> None:
    """A quoted `<<` is a key like any other; one document may be marked; YAML 1.2 may be asked for."""
    assert tree_of("'<<': 1\n").data == {"<<": 1}
    assert tree_of("%YAML 1.2\n---\na: 1\n...\n").data == {"a": 1}


@pytest.mark.parametrize("text", ["", "# only a comment\n", "---\n"])
def test_nothing_is_null(text: str) -> None:
    """An empty file is YAML; what it lacks is the schema's business."""
    assert tree_of(text).data is None


def test_bounds_on_nesting_nodes_and_aliases() -> None:
    """The bound itself is allowed, one more is not: nesting 3; 5 nodes; 2 aliases."""
    assert isinstance(read_yaml(text_of(b"[[[1]]]"), Bounds(depth=3)), Tree)
    assert "nested more than 3 deep" in fault_of("[[[[1]]]]", Bounds(depth=3)).message
    assert isinstance(read_yaml(text_of(b"[1, 2, 3, 4]"), Bounds(nodes=5)), Tree)
    assert "more than 5 nodes" in fault_of("[1, 2, 3, 4, 5]", Bounds(nodes=5)).message
    assert isinstance(read_yaml(text_of(b"[&a 1, *a, *a]"), Bounds(aliases=2)), Tree)
    assert "more than 2 aliases" in fault_of("[&a 1, *a, *a, *a]", Bounds(aliases=2)).message


def test_aliases_count_for_what_they_stand_for() -> None:
    """Ten lists of ten aliases each, four deep, stand for over 10,000 nodes: refused before they are written out."""
    rows = ["- &a0 [" + ", ".join("x" * 10) + "]"]
    rows += [f"- &a{n} [" + ", ".join([f"*a{n - 1}"] * 10) + "]" for n in range(1, 4)]
    assert "stand for more than 5,000 nodes" in fault_of("\n".join(rows) + "\n", Bounds(nodes=5_000)).message


@pytest.mark.parametrize(
    ("raw", "line", "column", "words"),
    [
        (b"a: \xff\n", 1, 4, "byte 0xff is not UTF-8"),
        (b"a: \xc3\xa9\nb: \xe9\n", 2, 4, "byte 0xe9 is not UTF-8"),
        (b"\xff\xfea\x00", 1, 1, "UTF-16"),
        (b"\xef\xbb\xbfa: \xed\xa0\x80", 1, 4, "not UTF-8"),
        (b"a: 1\rb: 2\r", 1, 5, "bare carriage return"),
    ],
)
def test_bytes_that_are_no_text(raw: bytes, line: int, column: int, words: str) -> None:
    """Other encodings and bare carriage returns are refused where they show."""
    found = read_text(HERE, "a.rig.yaml", raw)
    assert isinstance(found, Undecodable)
    assert found.span.start == Position(line, column)
    assert words in found.message


@pytest.mark.parametrize(
    ("odd", "line", "words"),
    [
        ("!odd wheel: 2", 4, "tag"),
        ("wheel: 1\n  wheel: 2", 5, "second time"),
        ("{?wheel : 2}", 4, "`?` stands right before text"),
        ("wheel: 1\n  <<: {}", 5, "merge keys"),
    ],
)
def test_a_key_that_was_sound_before_is_looked_at_again(odd: str, line: int, words: str) -> None:
    """The first `wheel` is sound; the second has a tag, is there twice, or has a `?` before it: it is told."""
    fault = fault_of(f"one:\n  wheel: 1\ntwo:\n  {odd}\n")
    assert fault.span.start.line == line
    assert words in fault.message
