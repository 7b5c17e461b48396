"""Words of a person as YAML writes them: plain where that reads the same, else in double quotes."""

import json
import re

_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_-]*")
_QUANTITY = re.compile(r"[0-9.][0-9.]*( ?[A-Za-zµ·*/^%²³]+( [A-Za-z]+)?)?|[0-9]+ ?/ ?[0-9]+")
_TAKEN = frozenset({"true", "false", "null", "yes", "no", "on", "off", "y", "n"})


def name_word(text: str) -> str:
    """A name: plain unless YAML would take it for something else. JSON's strings are YAML's double-quoted ones."""
    plain = _NAME.fullmatch(text) is not None and text.casefold() not in _TAKEN
    return text if plain else json.dumps(text, ensure_ascii=True)


def value_word(text: str) -> str:
    """A number, a quantity or a ratio as it is; anything else as a name."""
    return text if _QUANTITY.fullmatch(text) else name_word(text)
