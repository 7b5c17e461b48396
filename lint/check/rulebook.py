"""Registered rules to the rules that are on, at their levels; a rule that is off is not even loaded."""

from collections.abc import Mapping
from importlib import import_module
from typing import TYPE_CHECKING, NamedTuple

from lineshaft.check.level import LEVELS
from lineshaft.check.registry import Registered, complete_registry
from lineshaft.check.rule import Rule

if TYPE_CHECKING:  # few installations have one
    from lineshaft.check.broken_rule import BrokenRule

NEVER_OFF = frozenset({"not-judged"})
"""Rules that no policy turns off: without them, nothing judged would look like nothing wrong."""


class Rulebook(NamedTuple):
    """The rules that are on, in the order of their ids, those that could not be loaded, and the ids that are off."""

    rules: tuple[Rule, ...]
    broken: tuple["BrokenRule", ...] = ()
    off: tuple[str, ...] = ()

    def rule(self, name: str) -> Rule | None:
        """The rule with an id; none where it is not on."""
        return next((rule for rule in self.rules if rule.id == name), None)


def open_rulebook(
    levels: Mapping[str, str] | None = None, kind_levels: Mapping[str, Mapping[str, str]] | None = None
) -> Rulebook:
    """Load the rules that ``levels`` (from a policy) does not turn off, at the levels it gives.

    ``kind_levels`` are those that a rule has at parts of some kinds alone.

    Raises IncompleteInstallationError where rules of our own are not registered.
    """
    chosen = levels or {}
    known = complete_registry()
    rules: list[Rule] = []
    off = {name for name in known.ids - NEVER_OFF if chosen.get(name) == "off"}
    broken = [refused for refused in known.refused if refused.id not in off]
    for entry in known.rules:
        if entry.id in off:
            continue
        rule = load_rule(entry)
        if not isinstance(rule, Rule):
            broken.append(rule)
        elif entry.id in chosen:
            rules.append(rule._replace(level=chosen[entry.id], level_wins=True))  # type: ignore[arg-type]
        elif kind_levels and entry.id in kind_levels:
            rules.append(rule._replace(kind_levels=tuple(kind_levels[entry.id].items())))  # type: ignore[arg-type]
        else:
            rules.append(rule)
    return Rulebook(tuple(rules), tuple(sorted(broken)), tuple(sorted(off)))


def load_rule(entry: Registered) -> "Rule | BrokenRule":
    """The rule of an entry point, under the id it is registered by and with its page; else why it cannot run.

    Without a page of its own a rule has the docstring of its module, else that of its check.
    """
    try:
        found = _loaded(entry)
    except KeyboardInterrupt:
        raise
    except BaseException as error:  # a plugin may raise anything, SystemExit too
        found = f"could not be loaded ({type(error).__name__})"
    if isinstance(found, Rule):
        return found
    from lineshaft.check.broken_rule import BrokenRule

    return BrokenRule(entry.id, found)


def _loaded(entry: Registered) -> Rule | str:
    """The rule, or why it cannot run; whatever its module raises is let through."""
    module = import_module(entry.module)
    rule: object = module
    for name in entry.attribute.split("."):
        rule = getattr(rule, name)
    if not isinstance(rule, Rule):
        return f"is no rule: {entry.module}:{entry.attribute} is of another type"[:200]
    wrong = _misfit(rule)
    if wrong is not None:
        return wrong
    check = rule.review or rule.check
    page = rule.page or module.__doc__ or getattr(check, "func", check).__doc__  # of a partial, the function's own
    return rule._replace(id=entry.id, page=page or "")


def _misfit(rule: Rule) -> str | None:
    """What a rule has that no rule may have; types are not checked when it is made."""
    if rule.level not in LEVELS:
        return f"has no level: it is one of {', '.join(LEVELS)}"
    for name in ("check", "repairs", "review"):
        value = getattr(rule, name)
        if not callable(value) and (value is not None or name == "check"):
            return f"has a {name} that cannot be called"
    return None if isinstance(rule.page, str) else "has a page that is no text"
