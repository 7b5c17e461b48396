"""Edits to one part or list of a rig's file, written the way the file is written: flow or block, its indentation."""

from collections.abc import Mapping, Sequence

from lineshaft.judge.finding import Edit
from lineshaft.schema.rig import Part
from lineshaft.schema.span import Route
from lineshaft.schema.tree import Tree


def edit(tree: Tree, start: int, end: int, text: str) -> Edit:
    """The characters ``start`` to ``end`` of a tree's text give way to ``text``."""
    return Edit(tree.source.shown, tree.source.span(start, end), text)


def set_key(part: Part, key: str, text: str) -> Edit:
    """Give a part's setting another value; the key is added where the part does not have it."""
    tree = part.tree
    data = _at(tree, part.route)
    if isinstance(data, dict) and key in data:
        start, end = tree.slice((*part.route, key))
        return edit(tree, start, end, text)
    start, end = tree.slice(part.route)
    if tree.source.text[start] == "{":
        close = end - 1
        before = tree.source.text[start:close].rstrip()
        gap = start + len(before)
        lead = " " if before.endswith(",") else ", "
        return edit(tree, gap, gap, f"{lead}{key}: {text}")
    indent = " " * (tree.source.position(start).column - 1)
    return edit(tree, end, end, f"\n{indent}{key}: {text}")


def set_inlet(part: Part, inlet: int, text: str) -> Edit:
    """Let something else drive one inlet of a part: an entry where `driven-by` is a list."""
    tree = part.tree
    route: Route = (*part.route, "driven-by", inlet)
    if isinstance(_at(tree, route[:-1]), list):
        start, end = tree.slice(route)
        return edit(tree, start, end, text)
    return set_key(part, "driven-by", text)


def without_key(part: Part, key: str) -> Edit | None:
    """Take a setting out of a part written as a flow mapping; none where that is not how it stands."""
    tree = part.tree
    data = _at(tree, part.route)
    if not isinstance(data, dict) or key not in data:
        return None
    start = tree.slice(part.route)[0]
    if tree.source.text[start] != "{" or list(data).index(key) == 0:
        return None
    text = tree.source.text
    key_start = tree.source.index(tree.key_span((*part.route, key)).start)
    comma = text.rindex(",", start, key_start)
    return edit(tree, comma, tree.slice((*part.route, key))[1], "")


def without_inlets(part: Part) -> tuple[Edit, ...]:
    """Take a part off what drives it: its `driven-by` goes, in a flow or a block mapping."""
    flow = without_key(part, "driven-by")
    if flow is not None:
        return (flow,)
    tree, route = part.tree, part.route
    data = _at(tree, route)
    if not isinstance(data, dict) or "driven-by" not in data or len(data) == 1:
        return ()
    keys = list(data)
    at = keys.index("driven-by")
    start = tree.source.index(tree.key_span((*route, "driven-by")).start)
    if at == 0:
        after = tree.source.index(tree.key_span((*route, keys[1])).start)
        return (edit(tree, start, after, ""),)
    # From the end of the setting above, so that whatever stands between goes to neither.
    line = tree.source.text.rfind("\n", 0, start)
    return (edit(tree, line, tree.slice((*route, "driven-by"))[1], ""),)


def add_parts(before: Part, parts: Sequence[tuple[str, Mapping[str, str]]]) -> Edit:
    """New parts, each on a line of its own, in front of a part and at its indentation."""
    tree = before.tree
    start = tree.source.index(tree.key_span(before.route).start)
    written = [f"{name}: {{{', '.join(f'{k}: {v}' for k, v in keys.items())}}}" for name, keys in parts]
    whole = tree.slice(("parts",))[0]
    if tree.source.text[whole] == "{":
        return edit(tree, start, start, "".join(f"{entry}, " for entry in written))
    indent = " " * (tree.source.position(start).column - 1)
    return edit(tree, start, start, "".join(f"{entry}\n{indent}" for entry in written))


def add_steps(tree: Tree, number: int, entries: Sequence[str]) -> Edit | None:
    """Steps in front of the step at ``number`` (from 0) of the rig's own list; none where it has no list."""
    route: Route = ("commissioning", number)
    steps = _at(tree, ("commissioning",))
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


def _at(tree: Tree, route: Route) -> object:
    data: object = tree.data
    for step in route:
        in_list = isinstance(data, list) and isinstance(step, int) and step < len(data)
        if not in_list and not (isinstance(data, dict) and step in data):
            return None
        data = data[step]  # type: ignore[index]
    return data
