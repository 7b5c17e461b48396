"""Whether a file's plain data fits the JSON Schema of its kind, and if not, where and what to write instead."""

from collections.abc import Callable
from functools import cache, partial
from typing import TYPE_CHECKING

from lineshaft.schema.validation.deciders import Decider, decider
from lineshaft.schema.validation.schemas import Kind, Route, schema_of, schema_text

if TYPE_CHECKING:  # most files fit
    from lineshaft.schema.validation.misfit_words import Misfit

MOST_MISFITS = 100  # of one file; nobody reads more


def fits(kind: Kind, data: object) -> bool:
    """Whether plain data (text keys, no NaN) fits the schema of ``kind``."""
    return _decider(kind).fits(data)


def misfits(kind: Kind, data: object) -> "tuple[Misfit, ...]":
    """Every way in which ``data`` does not fit, in the file's order, at most 100; empty where it fits."""
    if fits(kind, data):
        return ()
    from lineshaft.schema.validation.excerpt import faulty_excerpt
    from lineshaft.schema.validation.misfit_words import Misfit, explained

    excerpt = faulty_excerpt(data, partial(_first_fault_in, kind))
    found = explained(kind, excerpt.data)
    if not found:
        return (Misfit((), False, f"the file does not fit the schema of a {kind} file"),)
    return tuple(
        misfit._replace(
            route=excerpt.original(misfit.route), beside=tuple(excerpt.original(route) for route in misfit.beside)
        )
        for misfit in found[:MOST_MISFITS]
    )


@cache
def _decider(kind: str) -> Decider:
    return decider(schema_text(kind))


def _first_fault_in(kind: str, section: str) -> Callable[[object], Route | None] | None:
    """What finds the first fault in entries of a section at the top of a file; none for no such section."""
    known = section in schema_of(kind)["properties"]
    return _section_decider(kind, section).first_fault if known else None


@cache
def _section_decider(kind: str, section: str) -> Decider:
    import json

    schema = schema_of(kind)
    own = schema["properties"][section]
    return decider(json.dumps({"$schema": schema["$schema"], "$defs": schema["$defs"], **own}))
