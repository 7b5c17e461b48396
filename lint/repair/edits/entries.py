"""Entries of a mapping or list taken out or put in, in the way the file is written; comments stay with their entries.

Something taken out ends where something put in at the same place begins, so that both may be done at once.
"""

from collections.abc import Iterator, Sequence

from lineshaft.check.finding import Edit
from lineshaft.repair.edits.entry_text import (
    Extent,
    behind,
    block_extent,
    dash_of,
    flow_extent,
    is_flow,
    keys_at,
    line_behind,
    next_line,
    rest_of_line,
)
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Tree


def edit(tree: Tree, start: int, end: int, text: str) -> Edit:
    """The characters ``start`` to ``end`` of a tree's text give way to ``text``."""
    return Edit(tree.source.shown, tree.source.span(start, end), text)


def without_entries(tree: Tree, holder: Route, keys: Sequence[str | int]) -> list[Edit] | None:
    """Take entries out of the mapping or list at ``holder``, with the comments that are their own.

    None where none would stay, which would leave nothing where something is due, or their text cannot be told apart.
    """
    inside = keys_at(tree, holder)
    gone = [number for number, key in enumerate(inside) if key in keys]
    if len(gone) == len(inside):
        return None
    if not gone:
        return []
    if is_flow(tree, holder):
        found = [one for first, last in _runs(gone) for one in _flow_extents(tree, holder, first, last)]
        return [edit(tree, one.start, one.end, "") for one in found]
    extents = [block_extent(tree, (*holder, inside[number])) for number in gone]
    told = [one for one in extents if one is not None]
    return [_without_lines(tree, one) for one in _joined(told)] if len(told) == len(extents) else None


def without_entry(tree: Tree, route: Route) -> Edit | None:
    """Take one entry out; none where it is the only one, or its text cannot be told apart."""
    found = without_entries(tree, route[:-1], [route[-1]])
    return found[0] if found else None


def drop_entries(tree: Tree, route: Route, keys: Sequence[str | int]) -> list[Edit]:
    """Take entries out of the mapping or list at ``route``; where none would stay, take that out too."""
    if keys and route and all(key in keys for key in keys_at(tree, route)):
        return drop_entries(tree, route[:-1], [route[-1]])
    return without_entries(tree, route, keys) or []


def _runs(numbers: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Ascending numbers as runs, from the first to the last of each."""
    first = last = numbers[0]
    for number in numbers[1:]:
        if number > last + 1:
            yield first, last
            first = number
        last = number
    yield first, last


def _flow_extents(tree: Tree, holder: Route, first: int, last: int) -> Sequence[Extent]:
    """A run of entries between braces: each its own lines, so that what is nobody's stays between; else in one."""
    each = [flow_extent(tree, holder, number, number) for number in range(first, last + 1)]
    return each if all(one.whole for one in each) else [flow_extent(tree, holder, first, last)]


def _joined(extents: Sequence[Extent]) -> Iterator[Extent]:
    """Extents in order, those that touch as one."""
    one = extents[0]
    for following in extents[1:]:
        if following.start > one.end:
            yield one
            one = following
        else:
            one = Extent(one.start, following.end, whole=True)
    yield one


def _without_lines(tree: Tree, extent: Extent) -> Edit:
    """Whole lines; from their own text to the next line's where that is set in alike: what is put in stays apart."""
    text = tree.source.text
    start, end = extent.start, extent.end
    first = text[start : next_line(text, start)]
    indent = first[: len(first) - len(first.lstrip(" "))]
    if indent and text.startswith(indent, end):
        return edit(tree, start + len(indent), end + len(indent), "")
    return edit(tree, start, end, "")


def add_behind(tree: Tree, route: Route, block: Sequence[str], flow: Sequence[str]) -> list[Edit]:
    """New entries behind the one at ``route`` and the comments that are its own.

    ``block`` are their lines with the entry's own indent, for a holder in block style; ``flow`` the entries as they are
    written between braces.
    """
    text = tree.source.text
    start, end = tree.key_slice(route)[0], tree.slice(route)[1]
    if not is_flow(tree, route[:-1]):
        head = text.rfind("\n", 0, start) + 1
        lead = text[head:start]
        return [lines_behind(tree, end, len(lead) - len(lead.lstrip(" ")), block)]
    rest = rest_of_line(text, end)
    if rest is None or not rest[1]:
        return [edit(tree, end, end, "".join(f", {entry}" for entry in flow))]
    # A comment stands behind it: the new ones go below, or that comment would be the last new one's.
    head = text.rfind("\n", 0, start) + 1
    line = text[head:end]
    indent = " " * (len(line) - len(line.lstrip(" ")) + (0 if not text[head:start].strip(" ") else 2))
    at = line_behind(text, end)
    if rest[0]:
        return [edit(tree, at, at, "".join(f"{indent}{entry},\n" for entry in flow))]
    return [edit(tree, end, end, ","), edit(tree, at, at, ",\n".join(f"{indent}{entry}" for entry in flow) + "\n")]


def lines_behind(tree: Tree, end: int, indent: int, lines: Sequence[str]) -> Edit:
    """New lines behind an entry that is set in so far and ends at ``end``, and behind the comments that are its own."""
    text = tree.source.text
    at = behind(text, end, indent)
    if at == len(text) and not text.endswith("\n"):
        return edit(tree, at, at, "".join(f"\n{line}" for line in lines))
    return edit(tree, at, at, "".join(f"{line}\n" for line in lines))


def add_before(tree: Tree, route: Route, entries: Sequence[str], flow: Sequence[str]) -> Edit | None:
    """New entries of a list in front of the one at ``route`` and of the comments that are its own; none of an alias."""
    text = tree.source.text
    start = tree.slice(route)[0]
    if is_flow(tree, route[:-1]):
        return edit(tree, start, start, "".join(f"{entry}, " for entry in flow))
    extent = block_extent(tree, route)
    dash = dash_of(text, start)
    if dash is None:
        return None  # the list is another one by an alias
    indent = " " * (tree.source.position(dash).column - 1)
    at = dash if extent is None else extent.start + len(indent)
    return edit(tree, at, at, "".join(f"- {entry}\n{indent}" for entry in entries))
