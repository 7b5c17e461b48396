"""Where somebody is typing: the keys that lead there, and what stands before the cursor, of a text that need not parse.

Lines lead by their indentation, brackets by what was opened and not closed since a line began that is not inside them.
"""

import re
from itertools import pairwise
from typing import Final, NamedTuple

_MOST_LINES: Final = 60
"""How many lines above are looked through for an open bracket."""
_KEY: Final = r"""(?:[^\s:{}\[\],#'"&*!|>%@`][^:{}\[\],#]*?|"[^"]*"|'[^']*')"""
_LINE: Final = re.compile(rf"(?P<indent> *)(?P<dashes>(?:- +)*)(?:(?P<key>{_KEY}) *:(?: +|$))?(?P<rest>.*)")
_ENTRY: Final = re.compile(rf"\s*(?:(?P<key>{_KEY}|\d[^:]*?) *:(?:\s+|$))?(?P<rest>[^\s].*|)", re.DOTALL)
_BEFORE: Final = re.compile(rf"(?P<key>{_KEY}|\d[^:,{{\[]*?) *:\s*$")
ITEM: Final = "*"
"""Stands in a path for an entry of a list."""


class TypingPlace(NamedTuple):
    """Where somebody types: the keys down to the mapping or list, and the ``key`` whose value it is (none: a key).

    ``prefix`` is what stands there already, from the character ``start`` on; ``beside`` are the other entries of the
    mapping with their text. ``flow``: within brackets.
    """

    path: tuple[str, ...]
    key: str | None
    prefix: str
    start: int
    beside: dict[str, str]
    flow: bool


def typing_place(text: str, index: int) -> TypingPlace | None:
    """The place at a character of a text; none in a comment."""
    begin = text.rfind("\n", 0, index) + 1
    if re.search(r"(?:^|\s)#", text[begin:index]):
        return None
    opened = _opened(text, index)
    lines = text[:index].split("\n")
    return _in_brackets(text, index, opened, lines) if opened else _in_lines(text, index, lines)


def _opened(text: str, index: int) -> list[int]:
    """The brackets that are open at a character, the outermost first."""
    start = index
    for _ in range(_MOST_LINES):
        start = text.rfind("\n", 0, start)
        if start < 0:
            break
    stack: list[int] = []
    indents: list[int] = []
    at, quote = start + 1, ""
    for line in text[start + 1 : index].split("\n"):
        indent = len(line) - len(line.lstrip(" "))
        if line.strip() and indents and indent <= indents[0]:
            stack, indents, quote = [], [], ""
        for number, sign in enumerate(line):
            before = line[number - 1] if number else " "
            if quote:
                quote = "" if sign == quote else quote
            elif sign in "\"'" and before in " {[,:":
                quote = sign
            elif sign == "#" and before == " ":
                break
            elif sign in "{[":
                stack.append(at + number)
                indents.append(indent)
            elif sign in "}]" and stack:
                stack.pop()
                indents.pop()
        at += len(line) + 1
    return stack


def _in_brackets(text: str, index: int, opened: list[int], lines: list[str]) -> TypingPlace:
    first = text.count("\n", 0, opened[0])
    head = _LINE.fullmatch(text[text.rfind("\n", 0, opened[0]) + 1 : opened[0]])
    path = [*_above(lines, first)]
    if head is not None:
        path += [ITEM] * bool(head["dashes"])
        path += [_plain(head["key"])] if head["key"] else []
    for outer, inner in pairwise(opened):
        entry = _BEFORE.search(_entries(text[outer + 1 : inner])[-1])
        path.append(_plain(entry["key"]) if entry is not None and text[outer] == "{" else ITEM)
    entries = _entries(text[opened[-1] + 1 : index])
    here = _ENTRY.fullmatch(entries[-1])
    prefix = here["rest"] if here is not None else ""
    beside = dict(pair for entry in entries[:-1] if (pair := _pair(entry)) is not None)
    key = _plain(here["key"]) if here is not None and here["key"] else None
    if text[opened[-1]] == "[":
        key, prefix = ITEM, entries[-1].lstrip()
    return TypingPlace(tuple(path), key, prefix, index - len(prefix), beside, True)


def _in_lines(text: str, index: int, lines: list[str]) -> TypingPlace | None:
    here = _LINE.fullmatch(lines[-1])
    if here is None:
        return None
    path = [*_above(lines, len(lines) - 1), *([ITEM] if here["dashes"] else [])]
    key = _plain(here["key"]) if here["key"] else None
    prefix = here["rest"]
    level = len(here["indent"]) + len(here["dashes"])
    beside = _same_level(text.split("\n"), len(lines) - 1, level)
    return TypingPlace(tuple(path), key, prefix, index - len(prefix), beside, False)


def _above(lines: list[str], number: int) -> list[str]:
    """The keys that lead to a line, by the lines above that stand further left."""
    own = _LINE.fullmatch(lines[number])
    level = len(lines[number]) - len(lines[number].lstrip(" "))
    in_list = own is not None and bool(own["dashes"])
    path: list[str] = []
    for line in reversed(lines[:number]):
        indent = len(line) - len(line.lstrip(" "))
        if indent > level or (indent == level and not in_list) or not line.strip() or line.lstrip().startswith("#"):
            continue
        found = _LINE.fullmatch(line)
        if found is None or (indent == level and found["dashes"]):
            continue
        inner = len(found["indent"]) + len(found["dashes"])
        if found["key"] and inner <= level and (inner < level or in_list):
            path.insert(0, _plain(found["key"]))
            if found["dashes"]:
                path.insert(0, ITEM)
        elif found["dashes"]:
            path.insert(0, ITEM)
        level, in_list = indent, bool(found["dashes"])
        if level == 0 and not in_list:
            break
    return path


def _same_level(lines: list[str], number: int, level: int) -> dict[str, str]:
    """The entries of the mapping that a line belongs to, without the line itself."""
    beside: dict[str, str] = {}
    for step in (-1, 1):
        at = number + step
        while 0 <= at < len(lines):
            line = lines[at]
            found = _LINE.fullmatch(line)
            inner = 0 if found is None else len(found["indent"]) + len(found["dashes"])
            if line.strip() and not line.lstrip().startswith("#"):
                if inner < level:
                    break
                if inner == level and found is not None and found["key"]:
                    beside[_plain(found["key"])] = found["rest"]
                    if found["dashes"]:
                        break
            at += step
    return beside


def _entries(text: str) -> list[str]:
    """What stands between the commas of a bracket, those of inner brackets aside."""
    entries, depth, begin = [], 0, 0
    for number, sign in enumerate(text):
        if sign in "{[":
            depth += 1
        elif sign in "}]":
            depth -= 1
        elif sign == "," and depth == 0:
            entries.append(text[begin:number])
            begin = number + 1
    return [*entries, text[begin:]]


def _pair(entry: str) -> tuple[str, str] | None:
    found = _ENTRY.fullmatch(entry)
    return None if found is None or not found["key"] else (_plain(found["key"]), found["rest"].strip())


def _plain(key: str) -> str:
    return key.strip("\"'")
