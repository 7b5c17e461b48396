"""What is wrong with a file, as data; the rule that owns a fault reports it."""

from typing import Literal, NamedTuple

from lineshaft.schema.text.span import Route, Span
from lineshaft.schema.text.use import Use

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
