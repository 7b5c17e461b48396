"""What can be wrong with a file before its rig is solved, as data; the rule that owns a fault reports it."""

from typing import Literal, NamedTuple

from lineshaft.schema.text.span import Route, Span
from lineshaft.schema.text.text import SourceText
from lineshaft.schema.text.tree import Tree, Use

FaultRule = Literal["not-yaml", "not-schema", "bad-quantity", "unknown-reference", "not-offered"]


class Related(NamedTuple):
    """Another place that a fault needs to be understood: the first of two keys, the line that includes a file."""

    file: str
    span: Span
    message: str


class Fault(NamedTuple):
    """One thing that is wrong: the owning rule, where (file as shown, span, route) and what to write instead.

    ``uses`` are the lines that put the blueprint in place in which it stands, from the judged file's own down.
    ``slip`` is a slip of the hand in the lines of one entry: without them the text may be read on.
    """

    rule: FaultRule
    file: str
    span: Span
    route: Route
    message: str
    part: str | None = None
    related: tuple[Related, ...] = ()
    uses: tuple[Use, ...] = ()
    slip: bool = False


def in_text(rule: FaultRule, source: SourceText, start: int, end: int, message: str) -> Fault:
    """A fault at the characters ``start`` to ``end`` of a text that has no tree (yet)."""
    return Fault(rule, source.shown, source.span(start, end), (), message)


def part_of(route: Route) -> str | None:
    """The part's name where the route leads into the parts of a file."""
    return str(route[1]) if len(route) > 1 and route[0] == "parts" else None


def at_value(rule: FaultRule, tree: Tree, route: Route, message: str, *related: Related) -> Fault:
    """A fault at the value that ``route`` leads to."""
    return Fault(rule, tree.source.shown, tree.span(route), route, message, part_of(route), related)


def at_key(rule: FaultRule, tree: Tree, route: Route, message: str, *related: Related) -> Fault:
    """A fault at the key of the value that ``route`` leads to (a list's entry and the top have no key)."""
    return Fault(rule, tree.source.shown, tree.key_span(route), route, message, part_of(route), related)
