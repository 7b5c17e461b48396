"""The record of what a version said of the fixed rigs: one line a seed, a short token a finding.

``17 4Te-x 5Tw9Q`` is seed 17: rule `T` by the table in the head, at the parts 4 and 5 of its plan, an error and a
warning, each with two signs of its values. ``~leg~`` stands for a part that is in no plan, ``-`` for a file. A digest
for every hundred rigs tells a change of the rigs from a change of the verdicts.
"""

import hashlib
import re
import string
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from trust.fixed_rigs import FixedRig
from trust.verdicts import Word

BLOCK = 100
_LEVELS = {"error": "e", "warning": "w", "note": "n", "waived": "x"}
_LETTER_OF = {letter: level for level, letter in _LEVELS.items()}
_TOKEN = re.compile(r"(\d+|-|~[^~]+~)([A-Za-z])([ewnx])(..)")


Said = tuple[int, FixedRig, tuple[Word, ...]]
"""A seed, its rig and what was found in it."""


class Record(NamedTuple):
    """Which rules there were, the digest of each hundred rigs, and the tokens of each seed."""

    rules: tuple[str, ...]
    inputs: tuple[str, ...]
    lines: Mapping[int, tuple[str, ...]]

    def words(self, seed: int, rig: FixedRig) -> tuple[Word, ...]:
        """What was said of a rig."""
        return tuple(_read(token, self.rules, rig.parts) for token in self.lines[seed])


def inputs_digest(rigs: Iterable[FixedRig]) -> str:
    """Twelve hexadecimal digits of the files of some rigs."""
    digest = hashlib.sha256()
    for rig in rigs:
        for name, text in sorted(rig.files.items()):
            digest.update(f"{name}\0{text}\0".encode())
    return digest.hexdigest()[:12]


def recorded(rules: Sequence[str], inputs: Sequence[str], said: Iterable[Said]) -> str:
    """The text of a record."""
    lines = [f"rules {' '.join(rules)}", f"inputs {' '.join(inputs)}"]
    for seed, rig, words in said:
        lines.append(" ".join((str(seed), *(_written(word, rules, rig.parts) for word in words))))
    return "\n".join(lines) + "\n"


def read_record(path: Path) -> Record:
    """A record as it stands in a file. Raises ValueError where a line is not by the form."""
    head, blocks, *rows = path.read_text("ascii").splitlines()
    lines = {int(seed): tuple(tokens) for seed, *tokens in (row.split(" ") for row in rows)}
    return Record(tuple(head.split(" ")[1:]), tuple(blocks.split(" ")[1:]), lines)


def _written(word: Word, rules: Sequence[str], parts: Sequence[str]) -> str:
    place = "-" if not word.part else str(parts.index(word.part)) if word.part in parts else f"~{word.part}~"
    return f"{place}{string.ascii_letters[rules.index(word.rule)]}{_LEVELS[word.level]}{word.values}"


def _read(token: str, rules: Sequence[str], parts: Sequence[str]) -> Word:
    found = _TOKEN.fullmatch(token)
    if found is None:
        raise ValueError(f"{token!r} is no finding of a record")
    place, mark, level, values = found.groups()
    part = "" if place == "-" else place.strip("~") if place.startswith("~") else parts[int(place)]
    return Word(part, rules[string.ascii_letters.index(mark)], _LETTER_OF[level], values)
