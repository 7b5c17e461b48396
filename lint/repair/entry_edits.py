"""Entries of a mapping or list taken out of a file, and names put into a list; written the way the file is written."""

from collections.abc import Sequence

from lineshaft.check.finding import Edit
from lineshaft.repair.edits.parts import edit
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Tree


def drop_entries(tree: Tree, route: Route, keys: Sequence[str | int]) -> list[Edit]:
    """Take entries out of the mapping or list at ``route``; where none would stay, take that out too.

    Entries in blocks go with their whole lines, those between braces with one of their commas.
    """
    inside = _keys(tree, route)
    if not keys:
        return []
    gone = [key in keys for key in inside]
    if all(gone) and route:
        return drop_entries(tree, route[:-1], [route[-1]])
    edits = []
    at = 0
    while at < len(inside):
        if not gone[at]:
            at += 1
            continue
        last = at
        while last + 1 < len(inside) and gone[last + 1]:
            last += 1
        edits.append(_without_run(tree, route, inside, (at, last)))
        at = last + 1
    return edits


def add_names(tree: Tree, route: Route, names: Sequence[str]) -> Edit:
    """Put names in front of the list at ``route``, which has an entry already."""
    start = tree.slice((*route, 0))[0]
    whole = tree.slice(route)[0]
    if tree.source.text[whole] == "[":
        return edit(tree, start, start, "".join(f"{name}, " for name in names))
    indent = " " * (tree.source.position(whole).column - 1)
    return edit(tree, whole, whole, "".join(f"- {name}\n{indent}" for name in names))


def _keys(tree: Tree, route: Route) -> list[str | int]:
    data: object = tree.data
    for step in route:
        data = data[step]  # type: ignore[index]
    return list(data) if isinstance(data, dict) else list(range(len(data)))  # type: ignore[arg-type]


def _without_run(tree: Tree, route: Route, inside: list[str | int], run: tuple[int, int]) -> Edit:
    """Without the entries from the first to the last of a run."""
    first, last = run
    text = tree.source.text
    start = tree.source.index(tree.key_span((*route, inside[first])).start)
    end = tree.slice((*route, inside[last]))[1]
    if text[tree.slice(route)[0]] not in "{[":
        return _without_lines(tree, _dash_before(tree, route, start), end)
    if last + 1 < len(inside):
        return edit(tree, start, tree.source.index(tree.key_span((*route, inside[last + 1])).start), "")
    if first == 0:
        return edit(tree, start, end, "")
    before = tree.slice((*route, inside[first - 1]))[1]
    return edit(tree, text.index(",", before), end, "")


def _dash_before(tree: Tree, route: Route, start: int) -> int:
    text, whole = tree.source.text, tree.slice(route)[0]
    return text.rindex("-", whole, start) if text[whole] == "-" and start > whole else start


def _without_lines(tree: Tree, start: int, end: int) -> Edit:
    """Up to where the next entry begins, so that something else may be put in at the same place; else whole lines."""
    text = tree.source.text
    line = text.rfind("\n", 0, start) + 1
    behind = text.find("\n", end) + 1 or len(text)
    if text[line:start].strip(" ") == "" and text.startswith(text[line:start], behind) and behind < len(text):
        return edit(tree, start, behind + start - line, "")
    return edit(tree, line, behind, "")
