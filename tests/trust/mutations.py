"""Mutations of a YAML file: of its text, and of its tree. Same chance, same mutation."""

import copy
import json
from collections.abc import Callable
from random import Random
from typing import Any

import yaml

_SCALARS = (
    "", "~", "null", "true", "no", "0", "-1", "1e308", "1e999", "-1e999", "1e-308", ".nan", ".inf", "0x10", "0o17",
    "1_000", "٣", "１", "12:30:45", "2027-02-30", "9" * 400, "1/0", "0/1", "1/3", "5/2", "999999/1", "1000000/1",
    "75/15", "0.1", "0 N*m", "-5 N*m", "1e300 N*m", "1e-300 N*m", "5 J", "3 Hz", "7 kg", "5 N*m", "90 rad/s",
    "300 rpm", "1e200 rpm", "3 m", "12 m", "0.5 m^3/s", "40 %", "140 %", "30 s", "6 L", "0 L", "1e9 L", "any", "reduce",
    "increase", "wheel", "step", "divide.saw", "leg/step", "a.b.c", "..", "/etc/passwd", "../up.yaml", "$ratio", "$",
    "$ $", "é", "Ꭺ", "а", "\u202e", "\ufeff", "😀" * 3, "x" * 200, "<script>alert(1)</script>", "::error::x",
    "]]>", "| pipe", "`tick`", "\\e[31m", "&a", "*a", "!!python/object:os.system x", "!t x", "<<", "? k", "- i",
    "{a: b}", "[a, b]", "[[[[[[]]]]]]", "{{}}", "|+\n  x", ">-\n  y", "'", '"', '"\\ud800"', '"\\0"', "# c", "@",
)  # fmt: skip
_SNIPPETS = (
    "\t", "\r", "\n", "\n\n", "\x00", "\x85", "\u2028", "\ufeff", " ", ":", ": ", " #", "{", "}", "[", "]", ",", "&a ",
    "*a", "!!map ", "? ", "- ", "---\n", "...\n", "%YAML 1.1\n", "<<: *a\n", "|\n", ">\n", "'", '"', "\\", "\x1b[2J",
    "a: &a [*a]\n", "x: " + "[" * 70 + "]" * 70 + "\n",
)  # fmt: skip


def mutated(text: str, rng: Random) -> str:
    """The text after one to three mutations; mostly a mild one, so that it reaches solver, rules and writers."""
    mild = rng.random() < 0.7
    for _ in range(rng.choice((1, 1, 1, 2) if mild else (1, 1, 2, 3))):
        text = _tree(text, rng, mild) if mild or rng.random() < 0.6 else rng.choice(_TEXTS)(text, rng)
    return text


def _place(text: str, rng: Random) -> int:
    return rng.randint(0, len(text))


def _cut(text: str, rng: Random) -> str:
    at = _place(text, rng)
    return text[:at] + text[at + rng.choice((1, 1, 2, 5, 40, 400)) :]


def _put(text: str, rng: Random) -> str:
    at = _place(text, rng)
    return text[:at] + rng.choice(_SNIPPETS) + text[at:]


def _ended(text: str, rng: Random) -> str:
    return text[: _place(text, rng)]


def _lines(text: str, rng: Random) -> str:
    """One line taken out, doubled, swapped with another or indented otherwise."""
    lines = text.splitlines(True) or [""]
    at, to = rng.randrange(len(lines)), rng.randrange(len(lines))
    way = rng.randrange(4)
    if way == 0:
        del lines[at]
    elif way == 1:
        lines.insert(to, lines[at])
    elif way == 2:
        lines[at], lines[to] = lines[to], lines[at]
    else:
        lines[at] = " " * rng.choice((0, 1, 2, 3, 4, 9)) + lines[at].lstrip(" ")
    return "".join(lines)


def _word(text: str, rng: Random) -> str:
    """A word between spaces or signs becomes a hostile scalar."""
    at = _place(text, rng)
    start = max(text.rfind(sign, 0, at) for sign in " \n{[,:") + 1
    ends = [found for sign in " \n}],:" if (found := text.find(sign, at)) >= 0]
    return text[:start] + rng.choice(_SCALARS) + text[min(ends, default=len(text)) :]


def _digit(text: str, rng: Random) -> str:
    places = [at for at, sign in enumerate(text) if sign.isdigit()]
    if not places:
        return text
    at = rng.choice(places)
    return text[:at] + rng.choice(("0", "9", "-", ".", "e9", "00", "/0", "_", "")) + text[at + 1 :]


def _line_ends(text: str, rng: Random) -> str:
    return text.replace("\n", rng.choice(("\r\n", "\r", "\n\n")))


_TEXTS: tuple[Callable[[str, Random], str], ...] = (_cut, _cut, _put, _put, _ended, _lines, _lines, _word, _word, _word, _digit, _line_ends)  # fmt: skip  # noqa: E501


def _tree(text: str, rng: Random, mild: bool) -> str:
    """The text of the file's tree after a change in it; a change of the text where it has no tree."""
    try:
        tree: Any = yaml.load(text, yaml.CSafeLoader)
    except (yaml.YAMLError, ValueError, RecursionError):
        return _word(text, rng)
    nodes = list(_nodes(tree))
    if not nodes:
        return _word(text, rng)
    for _ in range(1 if mild else rng.choice((1, 1, 1, 2))):
        rng.choice(_MILD if mild else _CHANGES)(rng.choice(nodes), nodes, rng)
    try:
        if rng.random() < 0.1:
            return json.dumps(tree, ensure_ascii=rng.random() < 0.5, default=str) + "\n"
        flow = rng.choice((None, None, False, True))
        return str(yaml.dump(tree, Dumper=yaml.CSafeDumper, sort_keys=rng.random() < 0.1, default_flow_style=flow, allow_unicode=True, width=rng.choice((40, 110))))  # fmt: skip  # noqa: E501
    except (yaml.YAMLError, ValueError, TypeError, RecursionError):
        return _word(text, rng)


_KINDS = ("rig", "catalogue", "blueprint", "policy", "snags")
_Node = tuple[Any, Any]  # a mapping or list, and a key or index in it


def _nodes(tree: Any) -> list[_Node]:
    found: list[_Node] = []
    waiting, seen = [tree], set()
    while waiting:
        node = waiting.pop()
        if not isinstance(node, dict | list) or id(node) in seen:
            continue
        seen.add(id(node))
        for key in list(node) if isinstance(node, dict) else range(len(node)):
            found.append((node, key))
            waiting.append(node[key])
    return found


def _there(node: _Node) -> bool:
    holder, key = node
    return key in holder if isinstance(holder, dict) else key < len(holder)


def _dropped(node: _Node, nodes: list[_Node], rng: Random) -> None:
    if _there(node):
        del node[0][node[1]]


def _scalar(node: _Node, nodes: list[_Node], rng: Random) -> None:
    if not _there(node):
        return
    values = (*_SCALARS, 0, -1, 3, 2.5, 1e308, -0.0, float("nan"), float("inf"), True, None, [], {}, [1], 10**30)
    node[0][node[1]] = rng.choice(values)


def _taken(node: _Node, nodes: list[_Node], rng: Random) -> None:
    """A value from elsewhere in the file: names that exist, at places where they do not belong."""
    other = rng.choice(nodes)
    if _there(node) and _there(other):
        node[0][node[1]] = copy.deepcopy(other[0][other[1]])


def _named(node: _Node, nodes: list[_Node], rng: Random) -> None:
    """A value becomes some key of the file: parts drive each other in circles, items become others."""
    keys = [key for holder, key in nodes if isinstance(holder, dict)]
    strings = [each for each in nodes if _there(each) and isinstance(each[0][each[1]], str)]
    if keys and strings:
        holder, key = rng.choice(strings)
        holder[key] = rng.choice(keys)


def _renamed(node: _Node, nodes: list[_Node], rng: Random) -> None:
    holder, key = node
    if isinstance(holder, dict) and key in holder:
        keys = [other for _, other in nodes if isinstance(other, str)]
        new = rng.choice((rng.choice(keys or ["a"]), rng.choice(_SCALARS), str(key)[::-1], str(key) + "x"))
        holder[new] = holder.pop(key)


def _scaled(node: _Node, nodes: list[_Node], rng: Random) -> None:
    """A number, alone or before its unit, becomes far larger, far smaller or a little other."""
    numbers = [each for each in nodes if _there(each) and each[1] not in _KINDS and _number(each[0][each[1]])]
    if not numbers:
        return
    holder, key = rng.choice(numbers)
    value = holder[key]
    factor = rng.choice((0.0, -1.0, 0.5, 0.99, 1.01, 3.0, 10.0, 1e6, 1e-6, 1e150, 1e-150))
    if isinstance(value, str):
        number, _, unit = value.partition(" ")
        holder[key] = f"{float(number) * factor!r} {unit}"
    else:
        holder[key] = value * factor


def _number(value: Any) -> bool:
    if isinstance(value, str):
        number, space, _ = value.partition(" ")
        try:
            return bool(space) and abs(float(number)) < 1e300
        except ValueError:
            return False
    return isinstance(value, float) or (isinstance(value, int) and not isinstance(value, bool) and abs(value) < 10**300)


def _exchanged(node: _Node, nodes: list[_Node], rng: Random) -> None:
    """A value of a key becomes what the same key has elsewhere: another driver, item, ratio, direction or amount."""
    alike: dict[Any, list[_Node]] = {}
    for each in nodes:
        if isinstance(each[0], dict) and _there(each):
            alike.setdefault(each[1], []).append(each)
    several = [found for found in alike.values() if len(found) > 1]
    if several:
        one, other = rng.sample(rng.choice(several), 2)
        one[0][one[1]] = copy.deepcopy(other[0][other[1]])


def _retold(node: _Node, nodes: list[_Node], rng: Random) -> None:
    """Some values that are one name become another of the same mapping: a part takes another's place."""
    named = [holder for holder, _ in nodes if isinstance(holder, dict) and len(holder) > 1]
    if named:
        old, new = rng.sample(sorted(map(str, rng.choice(named))), 2)
        same = [each for each in nodes if _there(each) and each[0][each[1]] == old]
        for holder, key in same[: rng.randint(1, 3)]:
            holder[key] = new


def _twice(node: _Node, nodes: list[_Node], rng: Random) -> None:
    """A part, item or step stands there twice."""
    whole = [each for each in nodes if _there(each) and isinstance(each[0][each[1]], dict)]
    if whole:
        _doubled(rng.choice(whole), nodes, rng)


def _turned(node: _Node, nodes: list[_Node], rng: Random) -> None:
    """The entries of a list or mapping in another order: steps, parts, points of a table."""
    lists = [each[0][each[1]] for each in nodes if _there(each) and isinstance(each[0][each[1]], list)]
    if lists:
        rng.shuffle(rng.choice(lists))


def _doubled(node: _Node, nodes: list[_Node], rng: Random) -> None:
    holder, key = node
    if not _there(node):
        return
    if isinstance(holder, list):
        holder.insert(key, copy.deepcopy(holder[key]))
    else:
        holder[f"{key}-{rng.randint(2, 9)}"] = copy.deepcopy(holder[key])


def _wrapped(node: _Node, nodes: list[_Node], rng: Random) -> None:
    if _there(node):
        value = node[0][node[1]]
        node[0][node[1]] = rng.choice(([value], {"item": value}, {str(value)[:20]: value}, [value, value]))


_MILD: tuple[Callable[[_Node, list[_Node], Random], None], ...] = (
    _scaled, _scaled, _scaled, _exchanged, _exchanged, _exchanged, _retold, _turned, _dropped, _twice,
)  # fmt: skip
_CHANGES: tuple[Callable[[_Node, list[_Node], Random], None], ...] = (
    _dropped, _scalar, _scalar, _taken, _named, _named, _renamed, _scaled, _scaled, _doubled, _wrapped,
)  # fmt: skip
