"""Words for a value of the wrong type, with hints where YAML reads it otherwise than meant."""

from collections.abc import Iterable
from typing import Any

from lineshaft.schema.text.scalar_text import flow_text, shown
from lineshaft.schema.text.scalars import plain_scalar
from lineshaft.schema.validation.violations import Violation

_TYPES = {
    "string": "text",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
    "object": "a mapping",
    "array": "a list",
}
_MEANT_TRUE = frozenset({"yes", "on", "y"})
_MEANT_FALSE = frozenset({"no", "off", "n"})


def either(words: Iterable[object], fixed: str = "or") -> str:
    """`a`, `a or b`, `a, b or c`."""
    *most, last = [str(word) for word in words]
    return f"{', '.join(most)} {fixed} {last}" if most else last


def article(schema: Any) -> str:
    """What a schema describes, by its title: `a rig`, `an item`."""
    title = str(schema.get("title", "mapping")).lower()
    return f"{'an' if title[0] in 'aeiou' else 'a'} {title}"


def type_message(kind: str, error: Violation, route: tuple[str | int, ...]) -> str:
    """What is said of a value whose type is wrong; ``error`` is a violation of `type`."""
    value, schema = error.instance, error.schema
    types = error.wanted
    wanted = [types] if isinstance(types, str) else list(types)
    if not route:
        return _top(kind, value)
    if "const" in schema:
        return _version(value, f"write `{route[-1]}: {schema['const']}`", schema["const"])
    slip = _slip(kind, value, route) or _no_colon(value, schema)
    if slip:
        return slip
    instead = _instead(schema, route)
    if value is None:
        return f"nothing is written here; {instead or f'write {_kinds(wanted)}'}"
    words = schema.get("enum") or schema.get("then", {}).get("enum")  # of a word, or of one that is a word
    if words:
        return f"write {either(words)}, not {_found(value)}"
    hint = _hint(wanted, value)
    if hint:
        return f"expected {_kinds(wanted)}, found {_found(value)}: {hint}"
    return f"expected {_kinds(wanted)}, found {_found(value)}" + (f"; {instead}" if instead else "")


def _version(value: object, instead: str, wanted: object) -> str:
    """Words for a version that is no whole number: as text only the right one wants no more than its quotes off."""
    if value is None:
        return f"nothing is written here; {instead}"
    if isinstance(value, str) and plain_scalar(value.strip()) == wanted:
        return f"{instead}, without quotes"
    return f"{_found(value)} is no version that this program can read; {instead}"


def _top(kind: str, value: object) -> str:
    if value is None:
        return f"the file is empty; a {kind} file begins with `{kind}: 1`"
    return f"a {kind} file is a mapping that begins with `{kind}: 1`; this one is {_found(value)}"


def _slip(kind: str, value: object, route: tuple[str | int, ...]) -> str:
    """Words for a value that stands where a person takes it to be enough, or with dashes that make it a list."""
    name = shown(route[-1])
    if isinstance(value, str) and len(route) == 2 and route[0] == "parts":
        return f"a part is written in braces, with the name of its item; write `{name}: {{item: {shown(value)}}}`"
    if isinstance(value, str) and kind == "catalogue" and len(route) == 2 and route[0] == "items":
        return f"an item is written in braces, with its kind first; write `{name}: {{kind: {shown(value)}}}`"
    if isinstance(value, dict) and value and all(str(key).startswith("-") for key in value):
        first = str(next(iter(value)))
        return f"no space stands after the dash; write `- {shown(first.lstrip('-'))}`"
    if isinstance(value, list) and route == ("parts",):
        return "parts have names and no dashes; take the dashes out, as in `wheel: {item: tide-wheel}`"
    return ""


def _no_colon(value: object, schema: Any) -> str:
    """Words for text that begins with a key of the mapping that belongs here, as `start wheel`."""
    key, blank, rest = value.partition(" ") if isinstance(value, str) else ("", "", "")
    if not blank or key not in schema.get("properties", {}):
        return ""
    return f"a colon is missing after `{key}`; write `{key}: {shown(rest.strip())}`"


def _hint(wanted: list[str], value: object) -> str:
    if "boolean" in wanted and isinstance(value, str):
        meant = value.lower()
        if meant in _MEANT_TRUE or meant in _MEANT_FALSE:
            return f"write {'true' if meant in _MEANT_TRUE else 'false'}; YAML 1.2 reads {value} as text"
    if "string" in wanted and "number" not in wanted and isinstance(value, bool | int | float):
        exact = ", with its digits as they stand in the file" if isinstance(value, float) else ""
        read = "true or false" if isinstance(value, bool) else "a number"
        return f'YAML reads it as {read}, so put it in quotes: "{shown(value)}"{exact}'
    if not {"number", "integer"}.isdisjoint(wanted) and isinstance(value, str):
        number = plain_scalar(value.strip())
        if isinstance(number, int | float) and not isinstance(number, bool):
            return f"write it without quotes: {shown(number)}"
    return ""


def _kinds(wanted: list[str]) -> str:
    if wanted == ["string", "number"]:
        return "a value"
    return either(_TYPES.get(one, one) for one in wanted)


def _found(value: object) -> str:
    return shown(value) if isinstance(value, dict | list) or value is None else f"`{shown(value)}`"


def _instead(schema: Any, route: tuple[str | int, ...]) -> str:
    examples = schema.get("examples")
    if not examples:
        words = schema.get("patternErrorMessage")
        return str(words) if words else ""
    key = f"{route[-1]}: " if isinstance(route[-1], str) else ""
    return f"write for example `{key}{flow_text(examples[0])}`"
