"""What can be wrong with a file before its rig is solved, at the places where it is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from lineshaft.schema.text.span import Route
from lineshaft.schema.text.text import SourceText
from lineshaft.schema.text.tree import Tree

if TYPE_CHECKING:  # most files have none
    from lineshaft.schema.text.fault import Fault, FaultRule, Related


def in_text(rule: FaultRule, source: SourceText, start: int, end: int, message: str) -> Fault:
    """A fault at the characters ``start`` to ``end`` of a text that has no tree (yet)."""
    return _fault(rule, source.shown, source.span(start, end), (), message)


def _fault(*said: Any) -> Fault:
    from lineshaft.schema.text.fault import Fault

    return Fault(*said)


def part_of(route: Route) -> str | None:
    """The part's name where the route leads into the parts of a file."""
    return str(route[1]) if len(route) > 1 and route[0] == "parts" else None


def at_value(rule: FaultRule, tree: Tree, route: Route, message: str, *related: Related) -> Fault:
    """A fault at the value that ``route`` leads to."""
    return _fault(rule, tree.source.shown, tree.span(route), route, message, part_of(route), related)


def at_key(rule: FaultRule, tree: Tree, route: Route, message: str, *related: Related) -> Fault:
    """A fault at the key of the value that ``route`` leads to (a list's entry and the top have no key)."""
    return _fault(rule, tree.source.shown, tree.key_span(route), route, message, part_of(route), related)
