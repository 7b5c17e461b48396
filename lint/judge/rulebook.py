"""Entry points and levels to the rules that are on; a rule that is off is not even loaded.

The installed distributions' `entry_points.txt` are read here and not through `importlib.metadata`: that takes as long
to import as everything else a small check does. The file's format is the packaging standard's (PyPA, *Entry points
specification*); a test compares both ways of reading.
"""

import os
import sys
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from importlib import import_module
from pathlib import Path
from typing import NamedTuple

from lineshaft.judge.rule import Rule

GROUP = "lineshaft.rules"


class Registered(NamedTuple):
    """A rule as its distribution registers it, not loaded: id, module and attribute."""

    id: str
    module: str
    attribute: str


class BrokenRule(NamedTuple):
    """A rule that could not be loaded, and why in one line."""

    id: str
    reason: str


@dataclass(frozen=True, slots=True)
class Rulebook:
    """The rules that are on, in the order of their ids, those that could not be loaded, and the ids that are off."""

    rules: tuple[Rule, ...]
    broken: tuple[BrokenRule, ...] = ()
    off: tuple[str, ...] = ()

    def rule(self, name: str) -> Rule | None:
        """The rule with an id; none where it is not on."""
        return next((rule for rule in self.rules if rule.id == name), None)


def registered(folders: Iterable[str] | None = None) -> tuple[Registered, ...]:
    """All registered rules, sorted by id; of two with one id the first on the import path (or in ``folders``)."""
    found: dict[str, Registered] = {}
    for _, text in rule_tables(folders):
        for entry in _entries(text):
            found.setdefault(entry.id, entry)
    return tuple(found[name] for name in sorted(found))


def rule_tables(folders: Iterable[str] | None = None) -> Iterator[tuple[Path, str]]:
    """The metadata folder and text of each `entry_points.txt` with our group, in the order of the import path."""
    for folder in sys.path if folders is None else folders:
        try:
            names = sorted(os.listdir(folder or "."))  # noqa: PTH208 - names are enough, and many
        except OSError:
            continue
        for name in names:
            if name.endswith((".dist-info", ".egg-info")):
                try:
                    text = Path(folder, name, "entry_points.txt").read_text("utf-8")
                except (OSError, UnicodeDecodeError):
                    continue
                if f"[{GROUP}]" in text:
                    yield Path(folder, name), text


def _entries(text: str) -> Iterator[Registered]:
    ours = False
    for raw in text.splitlines():
        line = raw.strip()
        if line.startswith("["):
            ours = line == f"[{GROUP}]"
        elif ours and line and line[0] not in "#;":
            name, _, target = line.partition("=")
            module, _, attribute = target.partition("[")[0].strip().partition(":")
            yield Registered(name.strip(), module.strip(), attribute.strip())


def open_rulebook(levels: Mapping[str, str] | None = None) -> Rulebook:
    """Load the rules that ``levels`` (from a policy) does not turn off, at the levels it gives."""
    chosen = levels or {}
    rules: list[Rule] = []
    broken: list[BrokenRule] = []
    off: list[str] = []
    for entry in registered():
        level = chosen.get(entry.id)
        if level == "off":
            off.append(entry.id)
            continue
        try:
            rule = getattr(import_module(entry.module), entry.attribute)
        except Exception as error:
            broken.append(BrokenRule(entry.id, f"could not be loaded ({type(error).__name__})"))
            continue
        if not isinstance(rule, Rule) or rule.id != entry.id:
            broken.append(BrokenRule(entry.id, "is not a rule with that id"))
            continue
        rules.append(replace(rule, level=level) if level is not None else rule)  # type: ignore[arg-type]
    return Rulebook(tuple(rules), tuple(broken), tuple(off))
