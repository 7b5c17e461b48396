"""The JSON Schemas as they are published, and one way in which a file does not fit one."""

from functools import cache
from pathlib import Path
from typing import Any, Literal, NamedTuple, cast

Route = tuple[str | int, ...]
Kind = Literal["rig", "catalogue", "policy", "blueprint", "snags", "stock"]


class Misfit(NamedTuple):
    """One way in which data does not fit.

    ``route`` leads to the faulty value; with ``at_key`` it is that value's key that is wrong (for a key that
    is missing: the key of the mapping that lacks it). ``beside`` leads to what else belongs to the same slip.
    """

    route: Route
    at_key: bool
    message: str
    beside: tuple[Route, ...] = ()


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
