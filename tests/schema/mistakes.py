"""Single mistakes as people make them, planted in good files by a seeded hand, each with its line and kind."""

import re
from collections.abc import Callable, Iterator
from random import Random
from typing import NamedTuple

FORM = frozenset({"not-yaml", "not-schema", "bad-quantity", "unknown-reference", "not-offered"})
"""The rules that own faults of form, names, quantities and offers."""


class Mistake(NamedTuple):
    """A spoilt text, the lines (from 1) where the mistake may be told, and words of which one tells its kind."""

    kind: str
    text: str
    lines: frozenset[int]
    words: tuple[str, ...]


Planter = Callable[[list[str], Random], "tuple[int, str] | None"]
"""Plants one mistake: the number (from 0) of the line that is spoilt and the spoilt line; none where it cannot."""


def _one(lines: list[str], hand: Random, pattern: str, made: Callable[[re.Match[str]], str]) -> tuple[int, str] | None:
    """One match of a pattern in the lines that are no comments, replaced."""
    found = [
        (n, match)
        for n, line in enumerate(lines)
        if not line.lstrip().startswith("#")
        for match in re.finditer(pattern, line.split(" #")[0])
    ]
    if not found:
        return None
    n, match = hand.choice(found)
    return n, lines[n][: match.start()] + made(match) + lines[n][match.end() :]


def _swapped(hand: Random, word: str) -> str:
    """A word with two neighbouring letters swapped that differ."""
    places = [n for n in range(1, len(word) - 1) if word[n] != word[n + 1] and word[n : n + 2].isalpha()]
    n = hand.choice(places)
    return word[:n] + word[n + 1] + word[n] + word[n + 2 :]


_PART = r"^  [a-z][\w-]*:(?= +\{)"
_IN_BRACES = r"(?<=[{ ])(item|ratio|set|driven-by|grade|head|kind|torque|speed|holds)(: )(?=[\w“\[])"
_NAME = r"(?<=driven-by: )[a-z][a-z-]{3,}(?=[,}])"
_ITEM = r"(?<=item: )[a-z][a-z-]{4,}(?=[,}])"
_KEY = r"(?<=[{ ])(item|ratio|driven-by|torque|speed|holds)(?=: )"
_UNIT = r"(?<=[ ])(\d[\d.]*) (N\*m|kN\*m|rad/s|kW|m|L|s)(?=[,}\]]|$)"

PLANTERS: dict[str, tuple[Planter, tuple[str, ...]]] = {
    "a comma in a number": (
        lambda lines, hand: _one(lines, hand, r"(?<=[a-z]: )(\d)(?= (?:kN|N\*m|m|L|rad)|[,}])", lambda m: m[1] + ",5"),
        ("with a point", "write `2.5`", "write 2.5", "the comma"),
    ),
    "one space too many": (
        lambda lines, hand: _one(lines, hand, _PART, lambda m: " " + m[0]),
        ("does not line up",),
    ),
    "one space too few": (
        lambda lines, hand: _one(lines, hand, _PART, lambda m: m[0][1:]),
        ("does not line up",),
    ),
    "no space after a colon": (
        lambda lines, hand: _one(lines, hand, _IN_BRACES, lambda m: m[1] + ":"),
        ("no space stands after the colon",),
    ),
    "no colon": (
        lambda lines, hand: _one(lines, hand, _IN_BRACES, lambda m: m[1] + " "),
        ("a colon is missing",),
    ),
    "a second colon": (
        lambda lines, hand: _one(lines, hand, r"^name: (?=\w)", lambda m: "name: Mill: "),
        ("a second colon",),
    ),
    "a brace left open": (
        lambda lines, hand: _one(lines, hand, r"(?<=\w)\}$", lambda m: ""),
        ("is not closed",),
    ),
    "a brace closed twice": (
        lambda lines, hand: _one(lines, hand, r"(?<=\w)\}$", lambda m: "}}"),
        ("closes nothing",),
    ),
    "no opening brace": (
        lambda lines, hand: _one(lines, hand, r"(?<=\w: )\{(?=item)", lambda m: ""),
        ("the opening brace is missing",),
    ),
    "a quote left open": (
        lambda lines, hand: _one(lines, hand, r"(?<=item: )(?=\w)", lambda m: '"'),
        ("is not closed",),
    ),
    "a comma left out": (
        lambda lines, hand: _one(lines, hand, r", (?=(driven-by|ratio|set|speed|grade): )", lambda m: " "),
        ("a comma is missing",),
    ),
    "a list as text": (
        lambda lines, hand: _one(lines, hand, r"\[([a-z.-]+, [a-z.-]+)\](?=\}?$)", lambda m: m[1]),
        ("a list, in square brackets",),
    ),
    "curly quotes": (
        lambda lines, hand: _one(lines, hand, _ITEM, lambda m: f"“{m[0]}”"),
        ("the quotes are curly",),
    ),
    "a tab": (
        lambda lines, hand: _one(lines, hand, _PART, lambda m: "\t" + m[0].lstrip()),
        ("a tab stands before",),
    ),
    "no-break spaces": (
        lambda lines, hand: _one(lines, hand, _PART, lambda m: "\u00a0\u00a0" + m[0].lstrip()),
        ("a no-break space",),
    ),
    "a slip in a key": (
        lambda lines, hand: _one(lines, hand, _KEY, lambda m: _swapped(hand, m[0])),
        ("unknown key", "take no `"),
    ),
    "a slip in a direction": (
        lambda lines, hand: _one(lines, hand, r"(?<=set: )(reduce|increase)", lambda m: _swapped(hand, m[0])),
        ("has no meaning here",),
    ),
    "a slip in a part's name": (
        lambda lines, hand: _one(lines, hand, _NAME, lambda m: _swapped(hand, m[0])),
        ("there is no part",),
    ),
    "a slip in an item's name": (
        lambda lines, hand: _one(lines, hand, _ITEM, lambda m: _swapped(hand, m[0])),
        ("there is no item",),
    ),
    "no unit": (lambda lines, hand: _one(lines, hand, _UNIT, lambda m: m[1]), ("unit",)),
    "a unit that is none": (lambda lines, hand: _one(lines, hand, _UNIT, lambda m: f"{m[1]} q{m[2]}"), ("unit",)),
    "an item without braces": (
        lambda lines, hand: _one(lines, hand, r"(?<=: )\{item: ([\w-]+)\}", lambda m: m[1]),
        ("write `",),
    ),
    "an equals sign": (
        lambda lines, hand: _one(lines, hand, _IN_BRACES, lambda m: m[1] + " = "),
        ("an equals sign",),
    ),
    "a ratio with a colon": (
        lambda lines, hand: _one(lines, hand, r"(?<=ratio: )\d+", lambda m: m[0] + ":1"),
        ("is not how a ratio is written", "ratio", "colon"),
    ),
}


def mistakes(texts: list[str], seed: int, many: int) -> Iterator[Mistake]:
    """So many mistakes, the kinds in turn, each in a text in which it can be made."""
    hand = Random(seed)
    kinds = list(PLANTERS)
    made = 0
    for turn in range(100 * many):
        kind = kinds[turn % len(kinds)]
        planter, words = PLANTERS[kind]
        lines = hand.choice(texts).split("\n")
        planted = planter(lines, hand)
        if planted is None:
            continue
        n, spoilt = planted
        lines[n] = spoilt
        yield Mistake(kind, "\n".join(lines), frozenset({n + 1}), words)
        made += 1
        if made == many:
            return
