"""Where an entry of a mapping or list stands in a file: its lines, its commas, and the comments that are its own.

In a block the comments directly above an entry, set in as far as it is, are its own, and so are those behind it on its
line or set further in below it. A blank line parts a comment from what follows: that one is nobody's and stays.
Between braces the comment behind an entry's comma is its own too.
"""

import re
from typing import NamedTuple

from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Tree

_GAP = re.compile(r"(?:[ \t\r\n]|(?<=[ \t\r\n,{\[])#[^\n]*)*")
_DASH = re.compile(r"-(?:\s+#.*)?")
_PROPERTIES = re.compile(r"(?:(?:[&!]\S*|#[^\n]*)\s+)*")
_REST = re.compile(r"[ \t]*(,?)[ \t]*(?:(?<=[ \t,])#[^\n]*?)?(?=\r?\n|\Z)")


class Extent(NamedTuple):
    """The characters from ``start`` to just before ``end``; ``whole`` where they are whole lines."""

    start: int
    end: int
    whole: bool


def keys_at(tree: Tree, route: Route) -> list[str | int]:
    """The keys or positions of what a mapping or list holds; none where there is no such."""
    data = tree.at(route)
    return list(data) if isinstance(data, dict) else list(range(len(data))) if isinstance(data, list) else []


def is_flow(tree: Tree, route: Route) -> bool:
    """Whether a mapping or list is written between braces or brackets."""
    start, end = tree.slice(route)
    properties = _PROPERTIES.match(tree.source.text, start, end)
    return tree.source.text[properties.end() if properties else start] in "{["


def value_slice(tree: Tree, route: Route) -> tuple[int, int]:
    """A value's characters without the line end that a block scalar takes with it."""
    start, end = tree.slice(route)
    return start, start + len(tree.source.text[start:end].rstrip("\r\n"))


def line_behind(text: str, end: int) -> int:
    """Where the line after what ends at ``end`` starts; a block scalar ends at the start of that line itself."""
    if end and text[end - 1] == "\n":
        return end
    return next_line(text, end)


def next_line(text: str, at: int) -> int:
    """Where the line after the one of a character starts."""
    return text.find("\n", at) + 1 or len(text)


def behind(text: str, end: int, indent: int) -> int:
    """The same, past comments that are set further in than the entry that ends there."""
    at = line_behind(text, end)
    while at < len(text):
        line = text[at : next_line(text, at)]
        bare = line.lstrip(" ")
        if not bare.startswith("#") or len(line) - len(bare) <= indent:
            break
        at += len(line)
    return at


def rest_of_line(text: str, end: int) -> tuple[bool, bool] | None:
    """Of what follows an entry between braces on its line: whether a comma, whether a comment; none if more does."""
    found = _REST.match(text, end)
    return None if found is None else (bool(found[1]), "#" in found[0])


def comma_behind(text: str, end: int) -> int | None:
    """Where the comma behind an entry between braces stands, past line ends and comments; none where there is none."""
    found = _GAP.match(text, end)
    at = found.end() if found is not None else end
    return at if text.startswith(",", at) else None


def block_extent(tree: Tree, route: Route) -> Extent | None:
    """An entry of a block with its own comments, in whole lines; none where it does not begin its line."""
    text = tree.source.text
    holder = route[:-1]
    keys = keys_at(tree, holder)
    number = keys.index(route[-1])
    start = tree.key_slice(route)[0]
    head = text.rfind("\n", 0, start) + 1
    lead = text[head:start]
    if lead.strip(" ") != ("-" if isinstance(route[-1], int) else ""):
        return None
    indent = len(lead) - len(lead.lstrip(" "))
    if number:
        floor = behind(text, tree.slice((*holder, keys[number - 1]))[1], indent)
    else:
        floor = line_behind(text, tree.key_slice(holder)[1]) if holder else 0
    return Extent(_above(text, head, indent, floor), behind(text, tree.slice(route)[1], indent), whole=True)


def dash_of(text: str, start: int) -> int | None:
    """Where the dash of a list's entry stands, with comments and line ends at most between; none where none does."""
    end = start
    while True:
        head = text.rfind("\n", 0, end) + 1
        line = text[head:end].strip()
        if _DASH.fullmatch(line):
            return text.index("-", head)
        if head == 0 or (line and not line.startswith("#")):
            return None
        end = head - 1


def _above(text: str, head: int, indent: int, floor: int) -> int:
    """Where the comments directly above a line begin, set in as far as it is and not above ``floor``."""
    while head > floor:
        before = text.rfind("\n", 0, head - 1) + 1
        line = text[before:head]
        if before < floor or not line.startswith(" " * indent + "#"):
            break
        head = before
    return head


def flow_extent(tree: Tree, holder: Route, first: int, last: int) -> Extent:
    """Entries next to one another between braces, by their places, with one of their commas and their own comments.

    In whole lines where they have lines to themselves; a comma then stays behind the entry before them.
    """
    text = tree.source.text
    keys = keys_at(tree, holder)
    start, end = tree.key_slice((*holder, keys[first]))[0], tree.slice((*holder, keys[last]))[1]
    before = tree.slice((*holder, keys[first - 1]))[1] if first else tree.slice(holder)[0] + 1
    head, floor = text.rfind("\n", 0, start) + 1, line_behind(text, before)
    rest = _REST.match(text, end)
    if rest is not None and head >= floor and not text[head:start].strip(" "):
        return Extent(_above(text, head, start - head, floor), line_behind(text, end), whole=True)
    if last + 1 < len(keys):
        following = tree.key_slice((*holder, keys[last + 1]))[0]
        on_line = rest is not None and "\n" in text[end:following]
        return Extent(start, rest.end() if rest is not None and on_line else following, whole=False)
    comma = comma_behind(text, before) if first else None
    return Extent(start if comma is None or "\n" in text[comma:start] else comma, end, whole=False)
