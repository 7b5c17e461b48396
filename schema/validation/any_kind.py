"""One JSON Schema for a file of any kind, so that an editor needs one address: the kind's own key chooses."""

from typing import Any, get_args

from lineshaft.schema.validation.schemas import Kind, schema_of

_KINDS = sorted(get_args(Kind), key=lambda kind: kind == "catalogue")  # last: the one key that other kinds have too


def any_kind_schema() -> dict[str, Any]:
    """The schemas of all kinds, each asked for where its key (`rig:`, `stock:`) stands; without any no file fits."""
    chosen: dict[str, Any] = {"anyOf": [{"required": [kind]} for kind in _KINDS]}
    for kind in reversed(_KINDS):
        chosen = {"if": {"required": [kind]}, "then": {"$ref": f"#/$defs/{kind}"}, "else": chosen}
    return {
        "$schema": schema_of("rig")["$schema"],
        "$id": "urn:lineshaft:schema:any:1",
        "title": "A file of lineshaft",
        "description": "What kind of file it is, its first key says: one of " + ", ".join(_KINDS) + ".",
        "type": "object",
        **chosen,
        "$defs": {kind: _embedded(kind) for kind in _KINDS},
    }


def _embedded(kind: str) -> Any:
    """The schema of a kind with its references led into the one that holds it."""
    whole = {key: value for key, value in schema_of(kind).items() if key not in ("$schema", "$id")}
    return _led(whole, kind)


def _led(value: Any, kind: str) -> Any:
    if isinstance(value, dict):
        return {
            key: inner.replace("#/$defs/", f"#/$defs/{kind}/$defs/")
            if key == "$ref" and isinstance(inner, str)
            else _led(inner, kind)
            for key, inner in value.items()
        }
    return [_led(inner, kind) for inner in value] if isinstance(value, list) else value
