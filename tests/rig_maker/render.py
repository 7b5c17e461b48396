"""Plain data to block-style YAML. Only for text that needs no quotes, but for those it is told to quote."""

from typing import Any

_QUOTED = ("edition",)


def render(data: dict[str, Any]) -> str:
    """The YAML text of nested mappings, lists of mappings, and short lists (written in a row).

    A mapping that stands in a list is a step: what it holds is written in a row too.
    """
    lines: list[str] = []
    for key, value in data.items():
        _entry(lines, "", key, value)
    return "\n".join(lines) + "\n"


def _entry(lines: list[str], indent: str, key: object, value: Any) -> None:
    if isinstance(value, dict) and value:
        lines.append(f"{indent}{key}:")
        inner = indent + "  "
        for below, thing in value.items():
            if isinstance(thing, dict | list):
                _entry(lines, inner, below, thing)
            else:
                lines.append(f"{inner}{below}: {_scalar(below, thing)}")
    elif isinstance(value, list) and value and isinstance(value[0], dict):
        lines.append(f"{indent}{key}:")
        for thing in value:
            (name, detail), *_ = thing.items()
            lines.append(f"{indent}  - {name}: {_scalar(name, detail)}")
    else:
        lines.append(f"{indent}{key}: {_scalar(key, value)}")


def _scalar(key: object, value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return "[" + ", ".join(_scalar(None, thing) for thing in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{k}: {_scalar(k, v)}" for k, v in value.items()) + "}"
    return f'"{value}"' if key in _QUOTED else str(value)
