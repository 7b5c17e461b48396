"""A scalar as written to its value, by the core schema of YAML 1.2 (sections 10.3.2).

Numbers that no arithmetic should meet (not finite, longer than a double can hold) stay text, so that whoever
needs a number says what is wrong with it at its place.
"""

import math
import re
from typing import Any

from lineshaft.schema.text.tree import Plain

_WORDS: dict[str, Plain] = {
    "": None,
    "~": None,
    "null": None,
    "Null": None,
    "NULL": None,
    "true": True,
    "True": True,
    "TRUE": True,
    "false": False,
    "False": False,
    "FALSE": False,
}
_LONGEST = 300  # digits; a double ends at 1.8e308
_OF_NUMBERS = frozenset("0123456789+-.eE")
"""What decimal numbers are made of; of these letters alone Python and YAML read the same numbers."""
_BASE = r"0o[0-7]+|0x[0-9a-fA-F]+"  # rare: compiled where a text begins like one


def plain_scalar(text: str) -> Plain:
    """The value of a scalar that stands without quotes."""
    if text[:1] not in "-+.0123456789~nNtTfF":
        return text
    if text in _WORDS:
        return _WORDS[text]
    if len(text) > _LONGEST:
        return text
    if not _OF_NUMBERS.issuperset(text):
        return int(text[2:], 8 if text[1] == "o" else 16) if _in_another_base(text) else text
    try:
        number = int(text) if text.lstrip("+-").isdigit() else float(text)
    except ValueError:
        return text
    return number if math.isfinite(number) else text


def _in_another_base(text: str) -> bool:
    return text[:2] in ("0o", "0x") and re.fullmatch(_BASE, text) is not None


def tagged_scalar(tag: str, text: str) -> Any:
    """The value of a scalar with a core tag that says what it is; ``NotImplemented`` for any other."""
    value = plain_scalar(text)
    match tag:
        case "tag:yaml.org,2002:str":
            return text
        case "tag:yaml.org,2002:null" if value is None:
            return None
        case "tag:yaml.org,2002:bool" if isinstance(value, bool):
            return value
        case "tag:yaml.org,2002:int" if isinstance(value, int) and not isinstance(value, bool):
            return value
        case "tag:yaml.org,2002:float" if isinstance(value, int | float) and not isinstance(value, bool):
            return float(value)
    return NotImplemented
