"""A snag list as YAML: block style, the same bytes for the same snags, plain scalars where these are safe."""

import re
from collections.abc import Iterable, Mapping

_HEAD = "# Findings that this build was taken over with; lineshaft wrote it, and `check --snags` passes them.\n"
# Neither a number nor anything that YAML 1.1 or 1.2 reads as a truth value, and nothing that needs quotes.
_PLAIN = re.compile("[A-Za-z][A-Za-z0-9_./-]*(?: [A-Za-z0-9_./-]+)*")
_WORDS = frozenset({"true", "false", "null", "yes", "no", "on", "off", "y", "n"})
_SAFE = re.compile('[ !#-\\[\\]-~\u00a1-\u00ac\u00ae-\u02ff\u0370-\u05ff\u3040-\u30ff\u4e00-\u9fff]')


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
    if isinstance(value, float):
        return f"{value:.6g}"
    if _PLAIN.fullmatch(value) and value.lower() not in _WORDS:
        return value
    return '"' + "".join(map(_character, value)) + '"'


def _character(character: str) -> str:
    if _SAFE.fullmatch(character):
        return character
    code = ord(character)
    if 0xD800 <= code < 0xE000:
        raise UnicodeError("half of a surrogate pair")
    return f"\\U{code:08X}"
