"""Values in messages: text from a file cut short, and examples as one would write them."""

import json

from lineshaft.schema.text.scalars import plain_scalar

_LONGEST = 60  # characters of a file's text that a message shows


def shown(value: object) -> str:
    """A scalar as a person wrote it, at most 60 characters; `a list` and `a mapping` for the rest."""
    if isinstance(value, dict | list):
        return "a mapping" if isinstance(value, dict) else "a list"
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "true" if value else "false"
    text = value if isinstance(value, str) else _digits(value)
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"


def _digits(value: object) -> str:
    # Python refuses to write out whole numbers of thousands of digits.
    return "a number of very many digits" if isinstance(value, int) and abs(value) >= 10**999 else str(value)


def flow_text(value: object) -> str:
    """A value in YAML on one line, quoted where it must be."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{flow_text(key)}: {flow_text(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(flow_text(inner) for inner in value) + "]"
    if isinstance(value, str):
        plain = isinstance(plain_scalar(value), str) and value[:1] not in "*&[{"
        return value if plain and ", " not in value and ": " not in value else json.dumps(value)
    return shown(value)
