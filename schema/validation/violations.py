"""What in plain data violates a JSON Schema: the keywords of draft 2020-12 that the schemas of this package use.

Written in Python, so that it is there wherever Python is, and made for explaining: each violation keeps the subschema
that states it. A keyword that is not known here is an error of the schema, never passed over. Formats are annotations,
references lead into the schema's own `$defs`, patterns are anchored, and `enum` and `const` hold scalars.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Any, Final, NamedTuple

from lineshaft.schema.validation.schemas import Route

Schema = Mapping[str, Any]


class Violation(NamedTuple):
    """One keyword that does not hold.

    ``route`` leads to ``instance`` in the data (a key's own violation: to its mapping), ``within`` through the schema
    to the keyword; ``schema`` is the subschema that has it, ``wanted`` what it states there.
    """

    keyword: str
    wanted: Any
    instance: Any
    schema: Schema
    route: Route
    within: Route


class _Place(NamedTuple):
    """A value beside the subschema that it has to fit."""

    root: Schema
    schema: Schema
    instance: Any
    route: Route = ()
    within: Route = ()


def violations(schema: Schema, data: object) -> Iterator[Violation]:
    """Every violation, in the order of the schema; LookupError for a keyword that is not known here."""
    return _judged(_Place(schema, schema, data))


def _judged(at: _Place) -> Iterator[Violation]:
    instance = at.instance
    for keyword, wanted in at.schema.items():
        holds = _ASSERTIONS.get(keyword)
        if holds is not None:
            if not holds(wanted, instance):
                yield Violation(keyword, wanted, instance, at.schema, at.route, (*at.within, keyword))
        elif keyword in _APPLICATORS:
            yield from _APPLICATORS[keyword](wanted, at)
        elif keyword not in _ANNOTATIONS:
            raise LookupError(f"no such keyword of JSON Schema is known here: {keyword}")


def _inner(at: _Place, schema: Schema, instance: Any, step: Route, *within: str | int) -> Iterator[Violation]:
    return _judged(_Place(at.root, schema, instance, at.route + step, at.within + within))


def _fits(at: _Place, schema: Schema) -> bool:
    return next(_judged(_Place(at.root, schema, at.instance)), None) is None


def _reference(wanted: str, at: _Place) -> Iterator[Violation]:
    return _inner(at, at.root["$defs"][wanted.removeprefix("#/$defs/")], at.instance, ())


def _properties(wanted: Mapping[str, Schema], at: _Place) -> Iterator[Violation]:
    if isinstance(at.instance, dict):
        for name, schema in wanted.items():
            if name in at.instance:
                yield from _inner(at, schema, at.instance[name], (name,), "properties", name)


def _other_properties(wanted: Schema | bool, at: _Place) -> Iterator[Violation]:
    if not isinstance(at.instance, dict):
        return
    known = at.schema.get("properties", {})
    others = [key for key in at.instance if key not in known]
    if isinstance(wanted, bool):
        if others and not wanted:
            within = (*at.within, "additionalProperties")
            yield Violation("additionalProperties", wanted, at.instance, at.schema, at.route, within)
        return
    for key in others:
        yield from _inner(at, wanted, at.instance[key], (key,), "additionalProperties")


def _names(wanted: Schema, at: _Place) -> Iterator[Violation]:
    if isinstance(at.instance, dict):
        for key in at.instance:
            yield from _inner(at, wanted, key, (), "propertyNames")


def _items(wanted: Schema, at: _Place) -> Iterator[Violation]:
    if isinstance(at.instance, list):
        for number, entry in enumerate(at.instance):
            yield from _inner(at, wanted, entry, (number,), "items")


def _all_of(wanted: list[Schema], at: _Place) -> Iterator[Violation]:
    for number, schema in enumerate(wanted):
        yield from _inner(at, schema, at.instance, (), "allOf", number)


def _conditional(wanted: Schema, at: _Place) -> Iterator[Violation]:
    branch = "then" if _fits(at, wanted) else "else"
    if branch in at.schema:
        yield from _inner(at, at.schema[branch], at.instance, (), branch)


def _number_that_fits(keyword: str, least: int, most: int) -> Callable[[list[Schema], _Place], Iterator[Violation]]:
    """Of a list of schemas (or of the one after `not`) as many have to fit."""

    def counted(wanted: list[Schema], at: _Place) -> Iterator[Violation]:
        schemas = wanted if isinstance(wanted, list) else [wanted]
        if not least <= sum(_fits(at, schema) for schema in schemas) <= most:
            yield Violation(keyword, wanted, at.instance, at.schema, at.route, (*at.within, keyword))

    return counted


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _is_whole(value: Any) -> bool:
    return _is_number(value) and (isinstance(value, int) or value.is_integer())


_TYPES: Final[Mapping[str, Callable[[Any], bool]]] = {
    "array": lambda value: isinstance(value, list),
    "boolean": lambda value: isinstance(value, bool),
    "integer": _is_whole,
    "null": lambda value: value is None,
    "number": _is_number,
    "object": lambda value: isinstance(value, dict),
    "string": lambda value: isinstance(value, str),
}


def _has_type(wanted: str | list[str], value: Any) -> bool:
    return any(_TYPES[name](value) for name in ([wanted] if isinstance(wanted, str) else wanted))


def _is_one_of(wanted: list[Any], value: Any) -> bool:
    return any(_same(one, value) for one in wanted)


def _same(one: object, other: object) -> bool:
    """Equal as JSON has it: 1 and 1.0 are, 1 and true are not."""
    return isinstance(one, bool) == isinstance(other, bool) and one == other


@cache
def _pattern(wanted: str) -> re.Pattern[str]:
    """Every pattern here ends in `$`, which in Python, but not in JSON Schema, also matches before a last line feed."""
    return re.compile(wanted[:-1] + r"\Z")


def _matches(wanted: str, value: Any) -> bool:
    return not isinstance(value, str) or _pattern(wanted).search(value) is not None


def _has_dependents(wanted: Mapping[str, list[str]], value: Any) -> bool:
    return not isinstance(value, dict) or all(
        other in value for key, others in wanted.items() if key in value for other in others
    )


_Assertion = Callable[[Any, Any], bool]
_ASSERTIONS: Final[Mapping[str, _Assertion]] = {
    "const": lambda wanted, value: _same(wanted, value),
    "dependentRequired": _has_dependents,
    "enum": _is_one_of,
    "maxItems": lambda wanted, value: not isinstance(value, list) or len(value) <= wanted,
    "maxProperties": lambda wanted, value: not isinstance(value, dict) or len(value) <= wanted,
    "maximum": lambda wanted, value: not _is_number(value) or value <= wanted,
    "minItems": lambda wanted, value: not isinstance(value, list) or len(value) >= wanted,
    "minLength": lambda wanted, value: not isinstance(value, str) or len(value) >= wanted,
    "minProperties": lambda wanted, value: not isinstance(value, dict) or len(value) >= wanted,
    "minimum": lambda wanted, value: not _is_number(value) or value >= wanted,
    "pattern": _matches,
    "required": lambda wanted, value: not isinstance(value, dict) or all(key in value for key in wanted),
    "type": _has_type,
}
_APPLICATORS: Final[Mapping[str, Callable[[Any, _Place], Iterator[Violation]]]] = {
    "$ref": _reference,
    "additionalProperties": _other_properties,
    "allOf": _all_of,
    "anyOf": _number_that_fits("anyOf", 1, 10**9),
    "if": _conditional,
    "items": _items,
    "not": _number_that_fits("not", 0, 0),
    "oneOf": _number_that_fits("oneOf", 1, 1),
    "properties": _properties,
    "propertyNames": _names,
}
_ANNOTATIONS: Final = frozenset(
    ("$schema", "$id", "$defs", "then", "else", "title", "description", "examples", "format", "patternErrorMessage")
)
