"""Slips of the hand that YAML takes for a key: a comma in a number, no space after a colon, a list without brackets."""

import re
from collections.abc import Mapping
from itertools import takewhile
from typing import Any, Final, NamedTuple

from lineshaft.schema.text.scalar_text import flow_text, shown

_NAMED: Final = re.compile(r"([A-Za-z][\w-]*)([ \u00a0\u202f\u2007]*)([:=]?)([ \u00a0\u202f\u2007]*)(.+)", re.DOTALL)
_TWO_NUMBERS: Final = re.compile(r"[0-9]+:[0-9]+")


class SlippedKey(NamedTuple):
    """What was meant by a key: the key at which it is told (its value unless ``at_key``), in words; and what it covers.

    ``covers`` are the keys of the mapping that are a part of the slip, and so nothing by themselves.
    """

    key: str
    at_key: bool
    message: str
    covers: tuple[str, ...]


def slipped_key(data: Mapping[str, Any], key: str, known: Mapping[str, Any]) -> SlippedKey | None:
    """What was meant by a key without a value that the schema does not know; none where it is no known slip."""
    odd = re.match("[\u00a0\u2007\u202f\u200b\u2060]+", key)
    if odd is not None:
        name = key[odd.end() :]
        what = f"a no-break space (U+{ord(key[0]):04X}) stands before `{shown(name)}`"
        return SlippedKey(key, True, f"{what}; write ordinary spaces in its place", (key,))
    if data[key] is not None:
        return None
    names = list(data)
    at = names.index(key)
    before = names[at - 1] if at else None
    return _unspaced(key, known) or _two_numbers(data, key, known) or _continued(data, before, names[at:], known)


def _unspaced(key: str, known: Mapping[str, Any]) -> SlippedKey | None:
    """`item:wheel`, `item = wheel`, `item wheel`, `item: wheel` with a no-break space."""
    found = _NAMED.fullmatch(key)
    if found is None or found[1] not in known:
        return None
    instead = f"{found[1]}: {shown(found[5])}"
    odd = next((c for c in found[2] + found[4] if c != " "), None)
    if odd is not None:
        what = f"a no-break space (U+{ord(odd):04X}) stands here"
        message = f"{what}; write an ordinary space: `{instead}`"
    elif found[3] == "=":
        message = f"an equals sign stands where a colon belongs; write `{instead}`"
    elif found[3]:
        message = f"no space stands after the colon; write `{instead}`"
    else:
        message = f"a colon is missing after `{found[1]}`; write `{instead}`"
    return SlippedKey(key, True, message, (key,))


def _two_numbers(data: Mapping[str, Any], key: str, known: Mapping[str, Any]) -> SlippedKey | None:
    if not _TWO_NUMBERS.fullmatch(key):
        return None
    driven, driver = key.split(":")
    if "ratio" in known and "ratio" not in data:
        ratio = driven if driver == "1" else f"{driven}/{driver}"
        message = f"`{key}` stands without the name of its setting; write `ratio: {ratio}`"
    else:
        message = f'a colon without a space makes no key; put a space after it, or `"{key}"` in quotes'
    return SlippedKey(key, True, message, (key,))


def _continued(
    data: Mapping[str, Any], before: str | None, names: list[str], known: Mapping[str, Any]
) -> SlippedKey | None:
    """What goes on with the value before it: a number or text cut by its comma, a list without brackets."""
    if before is None or before not in known or data[before] is None or isinstance(data[before], dict | list | bool):
        return None
    first = str(data[before])
    if names[0][0].isdigit() and first[-1].isdigit():
        return _comma_in_number(before, first, names[0])
    more = list(takewhile(lambda name: data[name] is None and name not in known, names))
    types = known[before].get("type", ())
    if "array" in types:
        instead = f"{before}: {flow_text([first, *more])}"
        message = f"several names make a list, in square brackets; write `{instead}`"
    elif types == "string":
        message = f'the comma cuts this text in two; put it in quotes: `{before}: "{", ".join([first, *more])}"`'
    else:
        return None
    return SlippedKey(before, False, message, (before, *more))


def _comma_in_number(key: str, first: str, rest: str) -> SlippedKey:
    instead = f"`{key}: {first}.{rest}`"
    message = f"a comma stands in this number, and ends it; write {instead} with a point"
    if re.match(r"[0-9]{3}(?![0-9])", rest):
        message += f", or `{key}: {first}{rest}` where it parts the thousands"
    return SlippedKey(key, False, message, (key, rest))


def cut_number(key: str) -> str:
    """Words for what a comma has cut off a number, where keys may have any name; empty for any other key."""
    if not key[:1].isdigit():
        return ""
    return f"a comma cuts the number before this `{shown(key)}` in two; write that number with a point"


def name_meant(key: str) -> str:
    """The name at the beginning of a key that holds more than a name: `wheel` of `wheel:{item`."""
    found = re.match(r"[A-Za-z0-9_-]+", key)
    return key if found is None else found[0]


def slipped_name(key: str) -> str | None:
    """Words for a part's name that holds more than a name: `wheel:{item`, `wheel {item`; none for any other."""
    found = re.match(r"([A-Za-z0-9_-]+)([ ]*)(:?)([ \u00a0\u202f\u2007]*)(\{.*)?", key)
    if found is None or not (found[3] or found[5]):
        return None
    instead = f"{found[1]}: {found[5] or key[found.end(4):]}"
    odd = found[4].strip(" ")
    if odd:
        what = f"a no-break space (U+{ord(odd[0]):04X}) stands after the colon"
        return f"{what}; write an ordinary space: `{shown(instead)}`, and so on"
    missing = "no space stands after the colon" if found[3] else f"a colon is missing after `{found[1]}`"
    return f"{missing}; write `{shown(instead)}`, and so on"
