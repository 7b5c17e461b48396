"""A snag list as YAML: block style, the same bytes for the same snags, plain scalars where these are safe."""

from collections.abc import Iterable, Mapping

from lineshaft.schema.text.scalar_text import scalar_text

_HEAD = "# Findings that this build was taken over with; lineshaft wrote it, and `check --snags` passes them.\n"

def snags_yaml(rows: Iterable[Mapping[str, str | float]], recorded: str | None) -> bytes:
    """The list, UTF-8. Raises UnicodeError where a text cannot be written as YAML (a name that is no text)."""
    lines = [_HEAD, "snags: 1\n"]
    if recorded is not None:
        lines.append(f"recorded: {recorded}\n")
    entries = [_entry(row) for row in rows]
    lines += ["findings:\n", *entries] if entries else ["findings: []\n"]
    return "".join(lines).encode("utf-8")


def _entry(row: Mapping[str, str | float]) -> str:
    lines = [f"{key}: {_scalar(value)}\n" for key, value in row.items()]
    return "".join(("  - " if at == 0 else "    ") + line for at, line in enumerate(lines))


def _scalar(value: str | float) -> str:
    return f"{value:.6g}" if isinstance(value, float) else scalar_text(value)
