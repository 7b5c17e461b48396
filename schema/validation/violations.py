"""What in plain data violates a JSON Schema: the keywords of draft 2020-12 that the schemas of this package use.

Written in Python, so that it is there wherever Python is, and made for explaining: each violation keeps the subschema
that states it. A keyword that is not known here is an error of the schema, never passed over. Formats are annotations,
references lead into the schema's own `$defs`, patterns are anchored, and `enum` and `const` hold scalars.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
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


Inner = tuple[Schema, Any, Route, Route]
"""A schema that an inner value has to fit: both, the step to the value in the data, and to the schema in the schema."""


def violations(schema: Schema, data: object) -> Iterator[Violation]:
    """Every violation, in the order of the schema; LookupError for a keyword that is not known here."""
    return _told(schema, (schema, data, (), ()))


def fits(schema: Schema, data: object) -> bool:
    """Whether there is no violation; LookupError for a keyword that is not known here."""
    return _fits(schema, schema, data)


def _told(root: Schema, at: Inner) -> Iterator[Violation]:
    schema, instance, route, within = at
    for keyword, wanted in schema.items():
        if keyword in _ANNOTATIONS:
            continue
        if not _holds(root, schema, keyword, instance):
            yield Violation(keyword, wanted, instance, schema, route, (*within, keyword))
        for inner, value, step, down in _INNER[keyword](root, schema, instance) if keyword in _INNER else ():
            yield from _told(root, (inner, value, route + step, within + down))


def _fits(root: Schema, schema: Schema, instance: Any) -> bool:
    for keyword, wanted in schema.items():
        holds = _ASSERTIONS.get(keyword)  # most are
        if holds is not None:
            if not holds(wanted, instance):
                return False
        elif keyword not in _ANNOTATIONS:
            if not _holds(root, schema, keyword, instance):
                return False
            for inner, value, _, _ in _INNER[keyword](root, schema, instance) if keyword in _INNER else ():
                if not _fits(root, inner, value):
                    return False
    return True


def _holds(root: Schema, schema: Schema, keyword: str, instance: Any) -> bool:
    """Whether a keyword holds for a value, whatever stands within that."""
    holds = _ASSERTIONS.get(keyword)
    if holds is not None:
        return holds(schema[keyword], instance)
    if keyword in _COUNTED:
        wanted = schema[keyword]
        least, most = _COUNTED[keyword]
        schemas = wanted if isinstance(wanted, list) else [wanted]
        return least <= sum(_fits(root, one, instance) for one in schemas) <= most
    if keyword not in _INNER:
        raise LookupError(f"no such keyword of JSON Schema is known here: {keyword}")
    return keyword != "additionalProperties" or schema[keyword] is not False or not _others(schema, instance)


def _others(schema: Schema, instance: Any) -> list[Any]:
    """The keys of a mapping that a schema does not name."""
    known = schema.get("properties", {})
    return [key for key in instance if key not in known] if isinstance(instance, dict) else []


def _reference(root: Schema, schema: Schema, instance: Any) -> Iterable[Inner]:
    yield root["$defs"][schema["$ref"].removeprefix("#/$defs/")], instance, (), ()


def _properties(_: Schema, schema: Schema, instance: Any) -> Iterable[Inner]:
    if isinstance(instance, dict):
        for name, inner in schema["properties"].items():
            if name in instance:
                yield inner, instance[name], (name,), ("properties", name)


def _other_properties(_: Schema, schema: Schema, instance: Any) -> Iterable[Inner]:
    inner = schema["additionalProperties"]
    if not isinstance(inner, bool):
        for key in _others(schema, instance):
            yield inner, instance[key], (key,), ("additionalProperties",)


def _names(_: Schema, schema: Schema, instance: Any) -> Iterable[Inner]:
    if isinstance(instance, dict):
        for key in instance:
            yield schema["propertyNames"], key, (), ("propertyNames",)


def _items(_: Schema, schema: Schema, instance: Any) -> Iterable[Inner]:
    if isinstance(instance, list):
        for number, entry in enumerate(instance):
            yield schema["items"], entry, (number,), ("items",)


def _all_of(_: Schema, schema: Schema, instance: Any) -> Iterable[Inner]:
    for number, inner in enumerate(schema["allOf"]):
        yield inner, instance, (), ("allOf", number)


def _conditional(root: Schema, schema: Schema, instance: Any) -> Iterable[Inner]:
    branch = "then" if _fits(root, schema["if"], instance) else "else"
    if branch in schema:
        yield schema[branch], instance, (), (branch,)


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
    if isinstance(wanted, str):
        return _TYPES[wanted](value)
    return any(_TYPES[name](value) for name in wanted)


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
_COUNTED: Final = {"anyOf": (1, 10**9), "oneOf": (1, 1), "not": (0, 0)}
"""Of a list of schemas (or of the one after `not`) so many have to fit."""
_INNER: Final[Mapping[str, Callable[[Schema, Schema, Any], Iterable[Inner]]]] = {
    "$ref": _reference,
    "additionalProperties": _other_properties,
    "allOf": _all_of,
    "if": _conditional,
    "items": _items,
    "properties": _properties,
    "propertyNames": _names,
}
"""By keyword, from the whole schema, the one that has it and a value: what inner values have to fit."""
_ANNOTATIONS: Final = frozenset(
    ("$schema", "$id", "$defs", "then", "else", "title", "description", "examples", "format", "patternErrorMessage")
)
