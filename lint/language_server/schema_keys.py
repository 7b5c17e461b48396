"""What the JSON Schema of a kind of file has at a place: the keys with their descriptions, and the values there are."""

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from lineshaft.language_server.typing_place import ITEM
from lineshaft.schema.loading import FileKind
from lineshaft.schema.validation.schemas import schema_of

Schema = Mapping[str, Any]


class KnownKey(NamedTuple):
    """A key with its title and description, and the values that it takes where these are a list."""

    name: str
    title: str
    description: str
    values: tuple[str, ...]


def keys_at(kind: FileKind, path: tuple[str, ...]) -> dict[str, KnownKey]:
    """The keys of the mapping that a path leads to, by name; none where any name may stand."""
    whole = schema_of(kind)
    found = _reached(whole, path)
    keys: dict[str, KnownKey] = {}
    for schema in found:
        for each in _parts_of(whole, schema):
            for name, inner in each.get("properties", {}).items():
                keys.setdefault(name, _key(whole, name, inner))
    return keys


def key_at(kind: FileKind, path: tuple[str, ...], name: str) -> KnownKey | None:
    """What a key of the mapping that a path leads to is, a name that anybody may choose included; none for no key."""
    whole = schema_of(kind)
    return next((_key(whole, name, schema) for schema in _reached(whole, (*path, name))), None)


def _reached(whole: Schema, path: tuple[str, ...]) -> list[Schema]:
    found: list[Schema] = [whole]
    for step in path:
        found = [inner for schema in found for inner in _below(whole, schema, step)]
    return found


def _key(whole: Schema, name: str, schema: Schema) -> KnownKey:
    title, said = str(schema.get("title", "")), str(schema.get("description", ""))
    values: tuple[str, ...] = ()
    for each in _parts_of(whole, schema):
        if "enum" in each:
            values = tuple(str(value).lower() if isinstance(value, bool) else str(value) for value in each["enum"])
        elif each.get("type") == "boolean":
            values = ("true", "false")
        elif "const" in each:
            values = (str(each["const"]),)
    return KnownKey(name, title, said, values)


def _below(whole: Schema, schema: Schema, step: str) -> Iterator[Schema]:
    for each in _parts_of(whole, schema):
        if step == ITEM:
            if isinstance(each.get("items"), dict):
                yield each["items"]
        elif step in each.get("properties", {}):
            yield each["properties"][step]
        elif isinstance(each.get("additionalProperties"), dict):
            yield each["additionalProperties"]


def _parts_of(whole: Schema, schema: Schema, depth: int = 0) -> Iterator[Schema]:
    """A schema with all that it refers to or may be: what any of these allows is worth proposing."""
    yield schema
    if depth > 6:
        return
    inner: list[Schema] = [*schema.get("anyOf", ()), *schema.get("oneOf", ()), *schema.get("allOf", ())]
    inner += [schema[word] for word in ("then", "else") if isinstance(schema.get(word), dict)]
    if isinstance(schema.get("$ref"), str):
        inner.append(_named(whole, schema["$ref"]))
    for each in inner:
        yield from _parts_of(whole, each, depth + 1)


def _named(whole: Schema, reference: str) -> Schema:
    found: Any = whole
    for step in reference.removeprefix("#/").split("/"):
        found = found.get(step, {}) if isinstance(found, dict) else {}
    return found if isinstance(found, dict) else {}
