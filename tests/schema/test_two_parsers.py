"""libyaml and the parser written in Python give the same verdict, tree and places; what they do otherwise is a table.

What is legal is YAML 1.2.2's to say (the production or section beside the case), save a tab after `:` and `{k:}`.
"""

import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random
from types import FrameType
from typing import Any

import pytest
from shares import a_few

from lineshaft.schema.text import yaml_reader
from lineshaft.schema.text.fault import Fault
from lineshaft.schema.text.text import SourceText, read_text
from lineshaft.schema.text.tree import Tree
from lineshaft.schema.text.yaml_reader import Bounds, read_yaml

ROOT = Path(__file__).resolve().parents[2]
HERE = Path("a.rig.yaml")

LEGAL = {  # production 130: `:` in plain text that more of it follows; 126 and 127: `?` where it is no mark
    "{reason: see https://host/ticket/7, until: 2027-03-01}": {
        "reason": "see https://host/ticket/7",
        "until": "2027-03-01",
    },
    "{label: 12:30:45}": {"label": "12:30:45"},
    "{label: why?}": {"label": "why?"},
    "{label: why?, n: {m: x?y}}": {"label": "why?", "n": {"m": "x?y"}},
    "{a: :b, c: [1:3, ::d]}": {"a": ":b", "c": ["1:3", "::d"]},
    "{a:b: c}": {"a:b": "c"},
    "{a:b}": {"a:b": None},
    "parts:\n  w: {label: 5:30, at: [1, 3]}\n  s: {label: why?}\n": {
        "parts": {"w": {"label": "5:30", "at": [1, 3]}, "s": {"label": "why?"}}
    },
}
REFUSED = {  # with the place, by hand
    "{k:}": (1, 3),
    "a: [x, y:]": (1, 9),
    "[a:,b]": (1, 3),
    "a:\tb": (1, 3),
    "a: \tb": (1, 4),
    "%YAML 1.1\n---\na: 1\n": (1, 1),
    "# kept\n%YAML 1.1\n%TAG !! tag:yaml.org,2002:\n---\na: 1\n": (2, 1),
    "a:\n  b: 1\n  'c' :\t{d: 1}": (3, 8),
    "{a:\tb}": (1, 4),
    "{?x: 1}": (1, 2),
    "[a, ?b]": (1, 5),
    "{a: x:y, b: *c}": (1, 13),
    "{a: x:y, a: 1}": (1, 10),
    "{a: x:y": (1, 1),
    "a: 1\n\ufeffb: 3": (2, 1),
    'a: "\\z"': (1, 5),
}
KNOWN = {  # text: what libyaml and what the other parser make of it, and what YAML 1.2.2 says
    "a: b\t# c": ("read", "refused", "a tab may stand before a comment (6.6)"),
    "a: |#x": ("read", "refused", "a comment is parted from what it follows (8.1.1)"),
    'a: ["b":c]': ("read", "refused", "no space is due after a quoted key's `:` in flow text (7.4.2)"),
    'a: "\\ud83d\\ude00"': ("column 7", "column 4", "an escape stands for a whole character (5.7)"),
    'a: "\\UFFFFFFFF"': ("column 7", "column 2", "no such character (5.7)"),
}


def source_of(text: str) -> SourceText:
    """A text as it is read from a file."""
    source = read_text(HERE, "a.rig.yaml", text.encode())
    assert isinstance(source, SourceText)
    return source


def both(text: str, monkeypatch: pytest.MonkeyPatch) -> "Iterator[Tree | tuple[Fault, ...]]":
    """What the reader makes of a text with libyaml, then without."""
    yield read_yaml(source_of(text), Bounds())
    with monkeypatch.context() as patch:
        patch.setattr(yaml_reader, "CParser", None)
        yield read_yaml(source_of(text), Bounds())


def told(found: "Tree | tuple[Fault, ...]") -> object:
    """The tree with every place, or where it is refused; the words may differ."""
    if isinstance(found, Tree):
        return repr(found.data), list(found.starts), list(found.ends), list(found.sizes)
    return [fault.span.start for fault in found]


@pytest.mark.parametrize("text", LEGAL)
def test_legal_flow_text_is_read(text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """By the standard, with or without libyaml."""
    one, other = both(text, monkeypatch)
    assert isinstance(one, Tree), one
    assert one.data == LEGAL[text]
    assert told(one) == told(other)


def test_places_in_what_is_read_again() -> None:
    """Counted by hand: in `{label: 12:30:45, n: 7}` the label's value is columns 9 to 16, the 7 column 22."""
    tree = read_yaml(source_of("{label: 12:30:45, n: 7}"), Bounds())
    assert isinstance(tree, Tree)
    assert tree.span(("label",)) == ((1, 9), (1, 17))
    assert tree.span(("n",)) == ((1, 22), (1, 23))


@pytest.mark.parametrize("text", REFUSED)
def test_what_is_refused_is_refused_by_both(text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """At the same place, whichever parser met it."""
    for found in both(text, monkeypatch):
        assert isinstance(found, tuple), found
        assert found[0].span.start == REFUSED[text]


@pytest.mark.parametrize("text", KNOWN)
def test_known_differences(text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """They are as the table says; when a parser changes, so does the table."""
    by_one, by_other, _ = KNOWN[text]
    wanted = (by_one if yaml_reader.CParser else by_other, by_other)
    for found, expected in zip(both(text, monkeypatch), wanted, strict=True):
        said = "read" if isinstance(found, Tree) else f"column {found[0].span.start.column}"
        assert said == expected or (expected == "refused" and not isinstance(found, Tree)), found


ORDINARY = sorted({*ROOT.glob("sample_rigs/**/*.yaml"), *ROOT.glob("tests/**/*.yaml")})
_PIECES = (
    *("a", "b: 1", "b:", "- ", "? ", ": ", ", ", "[", "]", "{", "}", "{k: v}", "[1, 3]", "\n", "\n  ", "\n    ", " "),
    *("'q'", '"d"', "'", '"', "&x ", "*x", "!!str ", "!y ", "# c\n", "|\n  t\n", ">-\n  t\n", "---\n", "...\n", "~"),
    *("x:y", "why?", "?z", ":w", "https://h/7", "0x1F", ".nan", "é", "\u2028", "\ufeff", "<<: ", "-", "@", "%", "`"),
)


def _made(seed: int) -> str:
    """A text out of pieces that mean something to a parser, half of them in an ordinary frame."""
    dice = Random(seed)
    text = "".join(dice.choice(_PIECES) for _ in range(dice.randint(3, 14)))
    return f"rig: 1\nparts: {text}\n" if seed % 2 else f"{text}\n"


@pytest.mark.parametrize("path", ORDINARY, ids=lambda path: path.name)
def test_ordinary_files_are_read_alike(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every YAML file of ours: the same tree and places, or refused at the same one."""
    text = path.read_text("utf-8")
    one, other = both(text, monkeypatch)
    assert told(one) == told(other)


def _apart(one: object, other: object, text: str) -> bool:
    """Whether two verdicts differ: read or not, tree or places. Where both refuse, the first word of it may do."""
    if isinstance(one, Tree) and isinstance(other, Tree):
        return told(one) != told(other)
    return isinstance(one, Tree) != isinstance(other, Tree)


def test_hostile_texts_are_read_alike(monkeypatch: pytest.MonkeyPatch) -> None:
    """400 texts thrown together out of marks and words: read by both to the same tree, or refused by both."""
    apart = []
    for seed in range(400):
        one, other = both(_made(seed), monkeypatch)
        if _apart(one, other, _made(seed)):
            apart.append((_made(seed), one, other))
    assert apart == []


@pytest.mark.parametrize("text", [": x", "a: 1\n: 3", "{: x}", "?\n: x"])
def test_a_key_is_written_down(text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A mapping's key that is not there is refused, by whichever parser."""
    assert not [found for found in both(text, monkeypatch) if isinstance(found, Tree)]


@pytest.mark.skipif(yaml_reader.CParser is None, reason="libyaml's binding, ruamel.yaml.clib, is not installed")
def test_libyaml_reads_what_is_too_long_to_be_read_again() -> None:
    """Beyond 256 KiB libyaml's word is the last, with what to write instead."""
    long = "{label: why?}\n" + "#" * yaml_reader.MOST_READ_AGAIN
    (fault,) = read_yaml(source_of(long), Bounds())  # type: ignore[misc]
    assert fault.span.start == (1, 12)
    assert "in quotes" in fault.message


HOSTILE: dict[str, Callable[[int], str]] = {
    "lists": lambda n: "[" * n,
    "mappings": lambda n: "{a: " * n,
    "dashes": lambda n: "- " * n,
    "keys to come": lambda n: "? " * n,
    "one word": lambda n: "a: " + "x" * n,
    "colons": lambda n: "[" + ":" * n + "]",
    "question marks": lambda n: "{" + "?" * n + "}",
    "a key and colons": lambda n: "[a" + ":" * n,
    "commas": lambda n: "[" + "a," * n + "b:c]",
    "empty values": lambda n: "{" + "a: ," * (n // 3) + "b: c:d}",
    "comments": lambda n: "{a: " + "#\n" * n + "}",
    "comments of marks": lambda n: "a\n" + "#########\n" * (n // 9) + "b: 1\n",
    "blank lines": lambda n: "a: x" + "\n" * n + "  y\n",
    "escapes": lambda n: 'a: "' + "\\x41" * (n // 3) + '"',
    "tabs": lambda n: "a: [" + "\t" * n + "]",
    "tabs after colons": lambda n: "a:\t" * n,
    "deep blocks": lambda n: "".join(" " * i + "a:\n" for i in range(n // 9)),
    "anchors": lambda n: "[" + "&a 1," * (n // 5) + "b:c]",
    "aliases": lambda n: "a: &a 1\nb: [" + "*a," * n + "]",
    "a long tag": lambda n: "a: !" + "%41" * (n // 3) + " 1",
}


_ONCE = 810
_MOST = 1.15
"""How much more than three times the steps a text three times as long may take; by its square it would take up to 3."""


def _steps(text: str) -> int:
    """Lines of Python that reading a text runs through; calls into C are not counted."""
    count = 0

    def each(_: FrameType, event: str, __: Any) -> Any:
        nonlocal count
        count += event == "line"
        return each

    source = source_of(text)
    before = sys.gettrace()
    sys.settrace(each)
    try:
        read_yaml(source, Bounds())
    finally:
        sys.settrace(before)
    return count


@pytest.mark.parametrize("name", a_few(sorted(HOSTILE, key="lists".__eq__), len(HOSTILE) - 1))  # lists are dear
def test_hostile_texts_take_steps_by_their_length(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without libyaml, texts of about 810 and 2430 characters: about three times the steps, and no more."""
    monkeypatch.setattr(yaml_reader, "CParser", None)
    _steps("a: 1")  # what is loaded at first is no step of the reading
    once, thrice = _steps(HOSTILE[name](_ONCE)), _steps(HOSTILE[name](3 * _ONCE))
    assert thrice <= 3 * _MOST * once, f"{once} and {thrice} steps"
