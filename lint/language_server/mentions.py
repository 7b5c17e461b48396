"""Where a file names something: its parts, outlets, items, files, parameters, circuits, rules; and what it makes known.

A mention is of a name in the file itself, or, with a ``path`` of placed blueprints, in the file that these lead to.
"""

import re
from collections.abc import Iterator
from typing import Literal, NamedTuple

from lineshaft.api import Route
from lineshaft.schema.loading import FileKind
from lineshaft.schema.text.tree import Plain, Tree

Kind = Literal[
    "part", "outlet", "exit", "parameter", "circuit", "item", "grade", "good", "lubricant", "file", "rule"
]
_STEPS = frozenset({"couple", "engage", "disengage", "start", "stop"})
_PLACE = re.compile(r"([A-Za-z0-9_-]+(?:/[A-Za-z0-9_-]+)*)(?:\.([A-Za-z0-9_-]+))?")


class Mention(NamedTuple):
    """A name at its place (characters of the file's text). ``owner`` is the splitter that an outlet is of.

    ``path`` are the placed blueprints, from the outermost, in whose file the name is known; they start in ``file``, a
    path as it is written, where that is another than the one that mentions them. ``defines``: here it is made known.
    """

    kind: Kind
    name: str
    start: int
    end: int
    path: tuple[str, ...] = ()
    owner: str | None = None
    defines: bool = False
    file: str | None = None


def mention_at(tree: Tree, kind: FileKind, index: int) -> Mention | None:
    """What is named at a character of a file's text; of names within a name the innermost."""
    route, on_key = tree.route_at(index)
    found = (_of_key if on_key else _of_value)(tree, kind, route)
    text = tree.source.text
    around = [each for each in found if each.start - (text[each.start - 1] == "$") <= index <= each.end]
    return around[-1] if around else None


def mentions_in(tree: Tree, kind: FileKind) -> Iterator[Mention]:
    """All that a file names, in the order of its text."""
    waiting: list[tuple[Route, Plain]] = [((), tree.data)]
    while waiting:
        route, data = waiting.pop()
        if route and isinstance(route[-1], str):
            yield from _of_key(tree, kind, route)
        if isinstance(data, dict):
            waiting.extend(((*route, step), inner) for step, inner in reversed(data.items()))
        elif isinstance(data, list):
            waiting.extend(((*route, number), data[number]) for number in reversed(range(len(data))))
        else:
            yield from _of_value(tree, kind, route)


def _of_key(tree: Tree, kind: FileKind, route: Route) -> Iterator[Mention]:
    slot = _key_slot(tree, kind, route)
    if slot is not None:
        start, end = tree.key_slice(route)
        yield from _named(tree, str(route[-1]), start, end, slot)


def _key_slot(tree: Tree, kind: FileKind, route: Route) -> Mention | None:
    """What a key at such a place is; its name and place are yet to be filled in."""
    if kind == "stock":
        return _slot("good") if route[:1] == ("goods",) and len(route) == 2 else None
    if kind == "policy":
        return _slot("rule") if route[:1] == ("levels",) and len(route) == 2 else None
    match route:
        case ("items", _) if kind == "catalogue":
            return _slot("item", defines=True)
        case ("grades", _) if kind == "catalogue":
            return _slot("grade", defines=True)
        case ("components" | "raw", _) if kind == "catalogue":
            return _slot("good", defines=True)
        case (*_, "made-of", _) if kind == "catalogue":
            return _slot("good")
        case ("parts" | "inlets", _) if kind != "catalogue":
            return _slot("part", defines=True)
        case ("outlets", _):
            return _slot("exit", defines=True)
        case ("takes", _):
            return _slot("parameter", defines=True)
        case ("lubrication", _):
            return _slot("circuit", defines=True)
        case ("parts", str(part), "shares", _):
            return _slot("outlet", owner=part, defines=True)
        case ("parts", str(part), "driven-by", _) if isinstance(tree.at(route[:3]), dict):
            return _slot("part", path=(part,))
        case ("parts", str(part), "with", _):
            return _slot("parameter", path=(part,))
    return None


def _of_value(tree: Tree, kind: FileKind, route: Route) -> Iterator[Mention]:
    value = tree.at(route)
    if not isinstance(value, str) or not value:
        return
    start, end = tree.slice(route)
    if kind == "blueprint" and value.startswith("$"):
        for found in _named(tree, value, start, end, _slot("parameter")):
            yield found._replace(name=value[1:], start=found.start + 1)
        return
    slot = _value_slot(kind, route)
    if slot is None:
        return
    if kind == "snags":
        yield from _of_snag(tree, route, value, start, end)
        return
    for whole in _named(tree, value, start, end, slot):
        yield from _in_place(tree, whole) if slot.kind == "part" else (whole,)


def _value_slot(kind: FileKind, route: Route) -> Mention | None:
    """What a value at such a place names."""
    if kind == "catalogue":
        return _in_catalogue(route)
    if kind == "snags":
        return _slot("part") if route[:1] == ("findings",) else None
    match route:
        case ("catalogue",) | ("parts", _, "blueprint"):
            return _slot("file")
        case ("grades", "forbidden", _) if kind == "policy":
            return _slot("grade")
        case ("parts" | "items", _, "item" | "grade" as key):
            return _slot("item" if key == "item" else "grade")
        case ("parts", _, "driven-by", *_) | ("outlets", _):
            return _slot("part")
        case ("lubrication", _, "lubricant"):
            return _slot("lubricant")
        case ("lubrication", _, "supplied-by") | ("lubrication", _, "feeds", _):
            return _slot("part")
        case ("commissioning", _, str(step)) if step in _STEPS:
            return _slot("part")
        case ("commissioning", _, "set" | "fill", "part") | ("readings", _, "at") | ("waivers", _, "part"):
            return _slot("part")
        case ("waivers", _, "rule"):
            return _slot("rule")
    return None


def _in_catalogue(route: Route) -> Mention | None:
    match route:
        case ("earlier", _):
            return _slot("file")
        case ("lubricants", _):
            return _slot("lubricant", defines=True)
        case ("items", _, "grade") | ("items", _, "grades", _):
            return _slot("grade")
        case ("items", _, "lubricant", "kind") | ("items", _, "makes", "lubricant"):
            return _slot("lubricant")
    return None


def _of_snag(tree: Tree, route: Route, value: str, start: int, end: int) -> Iterator[Mention]:
    """What a snag names: a rule, a file, a part of a rig, and the same part within its own file."""
    file = tree.at((*route[:2], "file"))
    whole = tree.at((*route[:2], "part"))
    if not isinstance(file, str):
        return
    match route[2:]:
        case ("rule",):
            yield from _named(tree, value, start, end, _slot("rule"))
        case ("file",):
            yield from _named(tree, value, start, end, _slot("file"))
        case ("part",):
            for found in _named(tree, value, start, end, _slot("part")._replace(file=file)):
                yield from _in_place(tree, found)
        case ("at",) if isinstance(whole, str) and value.split("/")[:2] == ["parts", whole.rpartition("/")[2]]:
            *path, name = whole.split("/")
            slot = _slot("part", path=tuple(path))._replace(file=file)
            for found in _named(tree, value, start, end, slot):
                at = found.start + len("parts/")
                yield found._replace(name=name, start=at, end=at + len(name))


def _slot(
    kind: Kind, *, path: tuple[str, ...] = (), owner: str | None = None, defines: bool = False
) -> Mention:
    return Mention(kind, "", 0, 0, path, owner, defines)


def _named(tree: Tree, name: str, start: int, end: int, slot: Mention) -> Iterator[Mention]:
    """A name where it stands, without quotes; nothing where it is written otherwise (an alias, an escape)."""
    text = tree.source.text
    if text[start:end] == name:
        yield slot._replace(name=name, start=start, end=end)
    elif text[start + 1 : end - 1] == name:
        yield slot._replace(name=name, start=start + 1, end=end - 1)


def _in_place(tree: Tree, whole: Mention) -> Iterator[Mention]:
    """The names in `leg-a/divide.saws`: of a placed blueprint, of a part in its file, of an outlet of that part."""
    found = _PLACE.fullmatch(whole.name)
    if found is None:
        return
    steps, outlet = found[1].split("/"), found[2]
    start, path = whole.start, whole.path
    for number, step in enumerate(steps):
        yield whole._replace(name=step, start=start, end=start + len(step), path=path)
        start += len(step) + 1
        if number < len(steps) - 1:
            path = (*path, step)
    if outlet is not None:
        owner = steps[-1]
        yield whole._replace(kind="outlet", name=outlet, start=start, end=start + len(outlet), path=path, owner=owner)
