"""Edits to the parts of a rig's file, written the way it is written: flow or block, its indentation and columns."""

from collections.abc import Mapping, Sequence

from lineshaft.check.finding import Edit
from lineshaft.repair.edits.entries import add_before, add_behind, edit, lines_behind, without_entry
from lineshaft.repair.edits.entry_text import dash_of, is_flow, keys_at, value_slice
from lineshaft.schema.model.rig import Part
from lineshaft.schema.text.scalar_text import scalar_text
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Tree

Entry = tuple[str, Mapping[str, str]]
"""A part to write: its name, and its keys with their values as text."""
_NAMING = ("item", "grade", "driven-by")


def _value_text(key: str, value: str) -> str:
    return scalar_text(value) if key in _NAMING and not (key == "driven-by" and value[:1] == "[") else value


def set_key(part: Part, key: str, text: str) -> Edit:
    """Give a part's setting another value; the key is added where the part does not have it."""
    return set_entry(part.tree, part.route, key, _value_text(key, text))


def set_entry(tree: Tree, holder: Route, key: str, text: str) -> Edit:
    """Give an entry of a mapping another value, written as YAML; the entry is added where the mapping has none."""
    data = tree.at(holder)
    if isinstance(data, dict) and key in data:
        return edit(tree, *value_slice(tree, (*holder, key)), text)
    start, end = tree.slice(holder)
    keys = list(data) if isinstance(data, dict) else []
    written = f"{scalar_text(key)}: {text}"
    if is_flow(tree, holder):
        last = tree.slice((*holder, keys[-1]))[1] if keys else tree.source.text.index("{", start) + 1
        return edit(tree, last, last, f", {written}" if keys else written)
    first = tree.key_slice((*holder, keys[0]))[0] if keys else start
    indent = tree.source.position(first).column - 1
    return lines_behind(tree, end, indent, [f"{' ' * indent}{written}"])


def set_inlet(part: Part, inlet: int, text: str) -> Edit:
    """Let something else drive one inlet of a part: an entry where `driven-by` is a list."""
    tree = part.tree
    route: Route = (*part.route, "driven-by", inlet)
    if isinstance(tree.at(route[:-1]), list):
        return edit(tree, *value_slice(tree, route), scalar_text(text))
    return set_key(part, "driven-by", text)


def set_feed(tree: Tree, route: Route, text: str) -> Edit:
    """Let something else feed an inlet of a placed blueprint; ``route`` leads to what the line says of it."""
    return edit(tree, *value_slice(tree, route), scalar_text(text))


def lead_out(tree: Tree, outlet: str, text: str) -> Edit:
    """Let an outlet of a blueprint lead out of another part."""
    return edit(tree, *value_slice(tree, ("outlets", outlet)), text)


def without_key(part: Part, key: str) -> Edit | None:
    """Take a setting out of a part; none where it has none, or stands in a way that leaves no neat text."""
    tree = part.tree
    data = tree.at(part.route)
    if not isinstance(data, dict) or key not in data or len(data) < 2:
        return None
    return without_entry(tree, (*part.route, key))


def without_inlets(part: Part) -> tuple[Edit, ...]:
    """Take a part off what drives it: its `driven-by` goes."""
    dropped = without_key(part, "driven-by")
    return () if dropped is None else (dropped,)


def add_parts(tree: Tree, after: Route, parts: Sequence[Entry]) -> list[Edit]:
    """New parts behind the entry at ``after`` and its comments, each on a line of its own, laid out as that one."""
    text = tree.source.text
    key = tree.key_slice(after)[0]
    start = tree.slice(after)[0]
    indent = " " * (tree.source.position(key).column - 1)
    if is_flow(tree, after):
        width = start - key if tree.source.position(start).line == tree.source.position(key).line else 0
        lines = [indent + _flow(entry, width) for entry in parts]
    else:
        at = start if text[start] not in "&!" else tree.key_slice((*after, keys_at(tree, after)[0]))[0]
        inner = " " * (tree.source.position(at).column - 1)
        lines = [line for entry in parts for line in _block(entry, indent, inner)]
    return add_behind(tree, after, lines, [_flow(entry) for entry in parts])


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
    steps = tree.at(("commissioning",))
    if not isinstance(steps, list) or number >= len(steps):
        return None
    return add_before(tree, route, entries, [f"{{{entry}}}" for entry in entries])


def add_items(tree: Tree, route: Route, items: Sequence[str]) -> list[Edit] | None:
    """More plain entries behind the last of a list; none where it has none, or is another one by an alias."""
    holder = tree.at(route)
    if not isinstance(holder, list) or not holder:
        return None
    last = (*route, len(holder) - 1)
    if is_flow(tree, route):
        return add_behind(tree, last, [], items)
    start, end = tree.slice(last)
    dash = dash_of(tree.source.text, start)
    if dash is None:
        return None  # an alias of another list
    indent = tree.source.position(dash).column - 1
    return [lines_behind(tree, end, indent, [f"{' ' * indent}- {item}" for item in items])]
