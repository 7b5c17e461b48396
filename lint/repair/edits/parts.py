"""Edits to the parts of a rig's file, written the way it is written: flow or block, its indentation and columns."""

import json
import re
from collections.abc import Mapping, Sequence

from lineshaft.check.finding import Edit
from lineshaft.schema.model.rig import Part
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Tree

Entry = tuple[str, Mapping[str, str]]
"""A part to write: its name, and its keys with their values as text."""
_PLAIN = re.compile(r"[A-Za-z][A-Za-z0-9_/.-]*(?: [A-Za-z0-9_/.-]+)*\Z")
_NAMING = ("item", "grade", "driven-by")
# Words that some reader of YAML takes for a truth value or for nothing.
_WORDS = frozenset({"true", "false", "null", "yes", "no", "on", "off", "y", "n"})


def name_text(name: str) -> str:
    """A name as YAML text: in quotes where without them it would be a number, a truth value or more than a name."""
    return name if _PLAIN.match(name) and name.lower() not in _WORDS else json.dumps(name, ensure_ascii=False)


def _value_text(key: str, value: str) -> str:
    return name_text(value) if key in _NAMING and not (key == "driven-by" and value[:1] == "[") else value


def edit(tree: Tree, start: int, end: int, text: str) -> Edit:
    """The characters ``start`` to ``end`` of a tree's text give way to ``text``."""
    return Edit(tree.source.shown, tree.source.span(start, end), text)


def set_key(part: Part, key: str, text: str) -> Edit:
    """Give a part's setting another value; the key is added where the part does not have it."""
    tree, text = part.tree, _value_text(key, text)
    data = value_at(tree, part.route)
    if isinstance(data, dict) and key in data:
        start, end = tree.slice((*part.route, key))
        return edit(tree, start, end, text)
    start, end = tree.slice(part.route)
    if tree.source.text[start] == "{":
        last = tree.slice((*part.route, list(data)[-1]))[1] if isinstance(data, dict) and data else start + 1
        return edit(tree, last, last, f", {key}: {text}" if last > start + 1 else f"{key}: {text}")
    indent = tree.source.position(start).column - 1
    return _lines_behind(tree, end, indent, [f"{' ' * indent}{key}: {text}"])


def set_inlet(part: Part, inlet: int, text: str) -> Edit:
    """Let something else drive one inlet of a part: an entry where `driven-by` is a list."""
    tree = part.tree
    route: Route = (*part.route, "driven-by", inlet)
    if isinstance(value_at(tree, route[:-1]), list):
        start, end = tree.slice(route)
        return edit(tree, start, end, name_text(text))
    return set_key(part, "driven-by", text)


def lead_out(tree: Tree, outlet: str, text: str) -> Edit:
    """Let an outlet of a blueprint lead out of another part."""
    start, end = tree.slice(("outlets", outlet))
    return edit(tree, start, end, text)


def without_key(part: Part, key: str) -> Edit | None:
    """Take a setting out of a part; none where it has none, or stands in a way that leaves no neat text."""
    tree = part.tree
    data = value_at(tree, part.route)
    if not isinstance(data, dict) or key not in data or len(data) < 2:
        return None
    return without_entry(tree, (*part.route, key))


def without_entry(tree: Tree, route: Route) -> Edit | None:
    """Take an entry out of a mapping or a list: its whole line in block style, with one comma in flow style.

    None where it is the only one, which would leave nothing where something is due, or its text cannot be told apart.
    """
    text = tree.source.text
    holder = value_at(tree, route[:-1])
    if not isinstance(holder, dict | list) or len(holder) < 2:
        return None
    keys: list[str | int] = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
    number = keys.index(route[-1])
    start = tree.source.index(tree.key_span(route).start)
    end = tree.slice(route)[1]
    if text[tree.slice(route[:-1])[0]] in "{[":
        if number:
            # From behind the entry before, so that its comma goes too.
            return edit(tree, tree.slice((*route[:-1], keys[number - 1]))[1], end, "")
        return edit(tree, start, tree.source.index(tree.key_span((*route[:-1], keys[1])).start), "")
    head = text.rfind("\n", 0, start) + 1
    lead = text[head:start]
    if lead.strip() not in ("", "-") or (lead.strip() == "-") != isinstance(holder, list):
        return None
    indent = lead[: len(lead) - len(lead.lstrip(" "))]
    after = _behind(tree, end, start - head)
    if indent and text.startswith(indent, after):
        # From the entry itself to the next line's own text, so that something may be put in at the same place.
        return edit(tree, head + len(indent), after + len(indent), "")
    return edit(tree, head, after, "")


def without_inlets(part: Part) -> tuple[Edit, ...]:
    """Take a part off what drives it: its `driven-by` goes."""
    dropped = without_key(part, "driven-by")
    return () if dropped is None else (dropped,)


def _behind(tree: Tree, end: int, indent: int) -> int:
    """Where the line after an entry starts, past comments that are set further in than the entry."""
    text = tree.source.text
    at = text.find("\n", end)
    while at >= 0:
        line = text[at + 1 : text.find("\n", at + 1) if text.find("\n", at + 1) >= 0 else len(text)]
        bare = line.lstrip(" ")
        if not bare.startswith("#") or len(line) - len(bare) <= indent:
            return at + 1
        at = text.find("\n", at + 1)
    return len(text)


def add_parts(after: Part, parts: Sequence[Entry]) -> Edit:
    """New parts behind a part, each on a line of its own and laid out as that part is."""
    tree = after.tree
    text = tree.source.text
    key = tree.source.index(tree.key_span(after.route).start)
    start, end = tree.slice(after.route)
    if text[tree.slice(("parts",))[0]] == "{":
        return edit(tree, end, end, "".join(f", {_flow(entry)}" for entry in parts))
    column = tree.source.position(key).column - 1
    indent = " " * column
    if text[start] == "{":
        width = start - key if tree.source.position(start).line == tree.source.position(key).line else 0
        lines = [indent + _flow(entry, width) for entry in parts]
    else:
        inner = " " * (tree.source.position(start).column - 1)
        lines = [line for entry in parts for line in _block(entry, indent, inner)]
    return _lines_behind(tree, end, column, lines)


def _lines_behind(tree: Tree, end: int, indent: int, lines: Sequence[str]) -> Edit:
    """New lines behind an entry that is set in so far and ends at ``end``, and behind the comments that are its own."""
    text = tree.source.text
    at = _behind(tree, end, indent)
    if at == len(text) and not text.endswith("\n"):
        return edit(tree, at, at, "".join(f"\n{line}" for line in lines))
    return edit(tree, at, at, "".join(f"{line}\n" for line in lines))


def _flow(entry: Entry, width: int = 0) -> str:
    name, keys = entry
    values = ", ".join(f"{key}: {_value_text(key, value)}" for key, value in keys.items())
    return f"{name + ':':<{max(width, len(name) + 2)}}{{{values}}}"


def _block(entry: Entry, indent: str, inner: str) -> list[str]:
    name, keys = entry
    return [f"{indent}{name}:", *(f"{inner}{key}: {_value_text(key, value)}" for key, value in keys.items())]


def add_steps(tree: Tree, number: int, entries: Sequence[str]) -> Edit | None:
    """Steps in front of the step at ``number`` (from 0) of the rig's own list; none where it has no list."""
    route: Route = ("commissioning", number)
    steps = value_at(tree, ("commissioning",))
    if not isinstance(steps, list) or number >= len(steps):
        return None
    start = tree.slice(route)[0]
    whole = tree.slice(("commissioning",))[0]
    if tree.source.text[whole] == "[":
        return edit(tree, start, start, "".join(f"{{{entry}}}, " for entry in entries))
    text = tree.source.text
    dash = text.rindex("-", whole, start) if start > whole else whole
    indent = " " * (tree.source.position(dash).column - 1)
    return edit(tree, dash, dash, "".join(f"- {entry}\n{indent}" for entry in entries))


def add_items(tree: Tree, route: Route, items: Sequence[str]) -> Edit | None:
    """More plain entries behind the last of a list that has some."""
    holder = value_at(tree, route)
    if not isinstance(holder, list) or not holder:
        return None
    last = (*route, len(holder) - 1)
    start, end = tree.slice(last)
    text = tree.source.text
    if text[tree.slice(route)[0]] == "[":
        return edit(tree, end, end, "".join(f", {item}" for item in items))
    head = text.rfind("\n", 0, start) + 1
    lead = text[head:start]
    if lead.strip() != "-":
        return None
    return _lines_behind(tree, end, start - head, [f"{lead}{item}" for item in items])


def value_at(tree: Tree, route: Route) -> object:
    """The plain value that a route leads to; none where there is none."""
    data: object = tree.data
    for step in route:
        in_list = isinstance(data, list) and isinstance(step, int) and step < len(data)
        if not in_list and not (isinstance(data, dict) and step in data):
            return None
        data = data[step]  # type: ignore[index]
    return data
