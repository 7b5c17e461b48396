"""The JSON Schemas as they are published."""

from functools import cache
from pathlib import Path
from typing import Any, Literal, cast

Route = tuple[str | int, ...]
Kind = Literal["rig", "catalogue", "policy", "blueprint", "snags", "stock"]


def schema_text(kind: str) -> str:
    """The text of the JSON Schema of a kind of file, or of ``findings``; ``KeyError`` where there is none."""
    path = Path(__file__).parents[1].joinpath(f"{kind if kind.isalpha() else '-'}.schema.json")
    if not path.is_file():
        raise KeyError(kind)
    return path.read_text(encoding="utf-8")


@cache
def schema_of(kind: str) -> dict[str, Any]:
    """The JSON Schema of a kind of file as plain data; it is shared, so do not change it."""
    import json  # only to explain a misfit: what decides reads the text

    return cast(dict[str, Any], json.loads(schema_text(kind)))
