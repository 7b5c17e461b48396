"""Whether a file's plain data fits the JSON Schema of its kind, and if not, where and what to write instead.

``jsonschema_rs`` decides; ``jsonschema`` is loaded only to explain a file that does not fit. Both know
nothing but the schemas of this package and fetch nothing.
"""

from collections.abc import Callable
from functools import cache, partial
from typing import Any, NoReturn, cast

from lineshaft.schema.validation.schemas import Kind, Misfit, Route, schema_of, schema_text

MOST_MISFITS = 100  # of one file; nobody reads more


def fits(kind: Kind, data: object) -> bool:
    """Whether plain data (text keys, no NaN) fits the schema of ``kind``."""
    try:
        return bool(_decider(kind).is_valid(data))
    except ValueError:  # text with half of a surrogate pair, which is not text in JSON
        return False


def misfits(kind: Kind, data: object) -> tuple[Misfit, ...]:
    """Every way in which ``data`` does not fit, in the file's order, at most 100; empty where it fits."""
    if fits(kind, data):
        return ()
    from lineshaft.schema.validation.excerpt import faulty_excerpt
    from lineshaft.schema.validation.misfit_words import explained

    excerpt = faulty_excerpt(data, partial(_first_fault_in, kind))
    found = explained(kind, _explainer(kind)(excerpt.data), excerpt.data)
    if not found:
        return (Misfit((), False, f"the file does not fit the schema of a {kind} file"),)
    return tuple(
        misfit._replace(
            route=excerpt.original(misfit.route), beside=tuple(excerpt.original(route) for route in misfit.beside)
        )
        for misfit in found[:MOST_MISFITS]
    )


@cache
def _decider(kind: str) -> Any:
    return _validator(schema_text(kind))


def _validator(schema: dict[str, Any] | str) -> Any:
    """What decides by a schema, given as plain data or as JSON text."""
    import jsonschema_rs

    return jsonschema_rs.Draft202012Validator(schema, validate_formats=False, retriever=_refuse_to_fetch)


def _refuse_to_fetch(uri: str) -> NoReturn:
    raise LookupError(f"schemas refer to nothing outside themselves, this one to {uri}")


def _first_fault_in(kind: str, section: str) -> Callable[[object], Route | None] | None:
    """What finds the first fault in entries of a section at the top of a file; none for no such section."""
    known = section in schema_of(kind)["properties"]
    return partial(_first_fault, _section_decider(kind, section)) if known else None


@cache
def _section_decider(kind: str, section: str) -> Any:
    schema = schema_of(kind)
    own = schema["properties"][section]
    return _validator({"$schema": schema["$schema"], "$defs": schema["$defs"], **own})


def _first_fault(validator: Any, value: object) -> Route | None:
    try:
        validator.validate(value)
    except ValueError as error:  # jsonschema_rs.ValidationError is one, and so is what is no text in UTF-8
        return tuple(getattr(error, "instance_path", ()))
    return None


@cache
def _explainer(kind: str) -> Callable[[object], Any]:
    """``iter_errors`` of a validator that reads patterns as JSON Schema means them and cannot fetch."""
    import re

    from jsonschema import Draft202012Validator, ValidationError
    from jsonschema.validators import extend
    from referencing import Registry

    def pattern(validator: Any, wanted: str, instance: object, _: object) -> Any:
        # Every pattern here ends in `$`, which in Python, but not here, also matches before a last line feed.
        if validator.is_type(instance, "string") and not re.search(wanted[:-1] + r"\Z", str(instance)):
            yield ValidationError(f"{instance!r} does not match {wanted!r}")

    strict = extend(Draft202012Validator, {"pattern": pattern})  # type: ignore[no-untyped-call]
    return cast("Callable[[object], Any]", strict(schema_of(kind), registry=Registry()).iter_errors)
