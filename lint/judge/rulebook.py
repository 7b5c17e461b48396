"""Entry points and levels to the rules that are on; a rule that is off is not even loaded."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from importlib.metadata import EntryPoint, entry_points

from lineshaft.judge.rule import Rule

GROUP = "lineshaft.rules"


@dataclass(frozen=True, slots=True)
class BrokenRule:
    """A rule that could not be loaded, and why in one line."""

    id: str
    reason: str


@dataclass(frozen=True, slots=True)
class Rulebook:
    """The rules that are on, in the order of their ids, and those that could not be loaded."""

    rules: tuple[Rule, ...]
    broken: tuple[BrokenRule, ...] = ()

    def rule(self, name: str) -> Rule | None:
        """The rule with an id; none where it is not on."""
        return next((rule for rule in self.rules if rule.id == name), None)


def registered() -> tuple[EntryPoint, ...]:
    """All registered rules, not loaded, sorted by id; the first of two with one id counts."""
    found: dict[str, EntryPoint] = {}
    for entry in entry_points(group=GROUP):
        found.setdefault(entry.name, entry)
    return tuple(found[name] for name in sorted(found))


def open_rulebook(levels: Mapping[str, str] | None = None) -> Rulebook:
    """Load the rules that ``levels`` (from a policy) does not turn off, at the levels it gives."""
    chosen = levels or {}
    rules: list[Rule] = []
    broken: list[BrokenRule] = []
    for entry in registered():
        level = chosen.get(entry.name)
        if level == "off":
            continue
        try:
            rule = entry.load()
        except Exception as error:
            broken.append(BrokenRule(entry.name, f"could not be loaded ({type(error).__name__})"))
            continue
        if not isinstance(rule, Rule) or rule.id != entry.name:
            broken.append(BrokenRule(entry.name, "is not a rule with that id"))
            continue
        rules.append(replace(rule, level=level) if level is not None else rule)  # type: ignore[arg-type]
    return Rulebook(tuple(rules), tuple(broken))
