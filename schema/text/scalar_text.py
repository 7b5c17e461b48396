"""Values as YAML text: names to write into files, examples in messages; and what a file holds, cut short."""

import re

from lineshaft.schema.text.scalars import plain_scalar

_LONGEST = 60  # characters of a file's text that a message shows
# A name that is neither a number nor anything that YAML 1.1 or 1.2 reads as a truth value, nothing that needs quotes.
_PLAIN = "[A-Za-z][A-Za-z0-9_./-]*(?: [A-Za-z0-9_./-]+)*"
_WORDS = frozenset({"true", "false", "null", "yes", "no", "on", "off", "y", "n"})
_QUANTITY = "[0-9.][0-9.]*( ?[A-Za-zµ·*/^%²³]+( [A-Za-z]+)?)?|[0-9]+ ?/ ?[0-9]+"
_SAFE = '[ !#-\\[\\]-~\u00a1-\u00ac\u00ae-\u02ff\u0370-\u05ff\u3040-\u30ff\u4e00-\u9fff]'


def scalar_text(text: str) -> str:
    """A name or text as YAML, as it stands where that is safe for every reader, else in double quotes.

    Raises UnicodeError where it holds half of a surrogate pair, which no file can.
    """
    return text if re.fullmatch(_PLAIN, text) and text.lower() not in _WORDS else _quoted(text)


def value_text(text: str) -> str:
    """A number, a quantity or a ratio as it is; anything else as a name."""
    return text if re.fullmatch(_QUANTITY, text) else scalar_text(text)


def _quoted(text: str) -> str:
    return '"' + "".join(map(_character, text)) + '"'


def _character(character: str) -> str:
    if re.fullmatch(_SAFE, character):
        return character
    code = ord(character)
    if 0xD800 <= code < 0xE000:
        raise UnicodeError("half of a surrogate pair")
    return f"\\U{code:08X}"


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
        return value if plain and ", " not in value and ": " not in value else _quoted(value)
    return shown(value)
