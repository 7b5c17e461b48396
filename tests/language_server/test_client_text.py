"""Places between the client's units and ours, against each line encoded by the codec of the encoding."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lsprotocol import types

from lineshaft.language_server.client_text import ClientText, Encoding
from lineshaft.schema.text.span import Position

LETTERS = "aé\t 漢🌊👩\u200d\u2028\u0085\x0b\x0c\r\n"
TEXTS = st.text(st.sampled_from(LETTERS), max_size=30)
UNITS = {"utf-8": ("utf-8", 1), "utf-16": ("utf-16-le", 2), "utf-32": ("utf-32-le", 4)}
ENCODINGS: tuple[Encoding, ...] = ("utf-8", "utf-16", "utf-32")


def client_lines(text: str) -> list[str]:
    """The lines of the protocol: LF, CRLF and CR end one, and nothing else does."""
    return re.split("\r\n|\r|\n", text)


@pytest.mark.parametrize("encoding", ENCODINGS)
@given(text=TEXTS, data=st.data())
def test_a_place_goes_to_the_client_and_back(encoding: Encoding, text: str, data: st.DataObject) -> None:
    """Every place of every line, counted by the codec, is the character that it is."""
    content = ClientText(text, encoding)
    codec, size = UNITS[encoding]
    lines = client_lines(text)
    assert content.line_count() == len(lines)
    number = data.draw(st.integers(0, len(lines) - 1))
    column = data.draw(st.integers(0, len(lines[number])))
    units = len(lines[number][:column].encode(codec)) // size
    index = content.index(types.Position(number, units))
    assert content.position(index) == types.Position(number, units)
    ended = re.compile("\r\n|\r|\n").finditer(text)
    start = ([0, *(found.end() for found in ended)])[number]
    assert index == start + column


@given(TEXTS, TEXTS, st.integers(0, 30), st.integers(0, 30))
def test_a_change_between_two_places_is_made_there(text: str, new: str, one: int, other: int) -> None:
    """What stands before and behind stays, whatever the lines end with."""
    content = ClientText(text)
    start, end = sorted((min(one, len(text)), min(other, len(text))))
    if text[start - 1 : start + 1] == "\r\n" or text[end - 1 : end + 1] == "\r\n":
        return  # no client has a place between the two
    where = content.range(start, end)
    changed = content.with_change(types.TextDocumentContentChangePartial(where, new))
    assert changed.text == text[:start] + new + text[end:]


def test_a_place_beyond_a_line_or_the_text_is_its_end() -> None:
    """As the protocol says of a character behind the line's length."""
    content = ClientText("ab\r\nc")
    assert content.index(types.Position(0, 9)) == 2
    assert content.index(types.Position(1, 9)) == content.index(types.Position(7, 0)) == 5


def test_a_byte_order_mark_moves_the_first_line_alone() -> None:
    """A client that sends it counts it; files are read without it."""
    content = ClientText("\ufeffrig: 1\nname: x\n")
    assert content.position(content.index_of(Position(1, 1))) == types.Position(0, 1)
    assert content.position(content.index_of(Position(2, 1))) == types.Position(1, 0)
    assert content.raw().startswith(b"\xef\xbb\xbfrig")
