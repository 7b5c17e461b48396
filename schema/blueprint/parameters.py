"""A blueprint's parameters: what may stand for each kind, where each is used, and putting values in their places."""

import re
from collections.abc import Mapping
from typing import Literal, NamedTuple, cast

from lineshaft.schema.quantities.quantity import BadQuantity, QuantityKind, plain_number, quantity
from lineshaft.schema.quantities.ratio import ratio
from lineshaft.schema.text.fault import FaultRule
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Plain, Tree
from lineshaft.schema.text.use import Use

ParameterKind = Literal[
    "ratio",
    "direction",
    "torque",
    "speed",
    "power",
    "volume",
    "flow",
    "time",
    "length",
    "share",
    "number",
    "text",
    "switch",
]

_PARAMETER = re.compile(r"\$([A-Za-z0-9_-]{1,64})")
_LAST_KEYS: Mapping[str, ParameterKind] = {
    "ratio": "ratio",
    "set": "direction",
    "to": "direction",
    "engaged": "switch",
    "head": "length",
    "time": "time",
    "torque-up-to": "torque",
    "speed-up-to": "speed",
}
_SHOWN_ONLY = frozenset({"label", "at", "purpose"})
"""Settings that no torque and no speed depends on."""


class Parameter(NamedTuple):
    """A parameter as a blueprint declares it; ``default`` is none where a value must be given."""

    name: str
    kind: ParameterKind
    default: Plain


class Given(NamedTuple):
    """What stands for a parameter in one place, and where that is written.

    ``sound`` is false where there is no value, or a bad one, which is reported where it is written.
    """

    value: Plain
    tree: Tree
    route: Route
    uses: tuple[Use, ...]
    sound: bool = True


class Slot(NamedTuple):
    """A scalar that is a parameter: the route to it below the entry that it is in, and the parameter's name."""

    route: Route
    name: str


def parameter_in(value: object) -> str | None:
    """The name of the parameter that a scalar is, ``$ratio``; none for any other value."""
    found = _PARAMETER.fullmatch(value) if isinstance(value, str) else None
    return found[1] if found else None


def slots_in(value: Plain, route: Route = ()) -> tuple[Slot, ...]:
    """Every scalar in a value that is a parameter."""
    if isinstance(value, dict):
        return tuple(slot for key, inner in value.items() for slot in slots_in(inner, (*route, key)))
    if isinstance(value, list):
        return tuple(slot for number, inner in enumerate(value) for slot in slots_in(inner, (*route, number)))
    name = parameter_in(value)
    return () if name is None else (Slot(route, name),)


def kind_at(route: Route) -> ParameterKind | None:
    """The kind of parameter that fits a place in a blueprint; none where any may stand (a value for another's)."""
    inner = route[2:]
    last = inner[-1] if inner else ""
    if route[0] == "parts" and inner[:1] == ("with",):
        return None
    if inner[:1] == ("at",) or (route[0] == "parts" and inner[:1] == ("shares",)):
        return "number"
    if route[0] == "commissioning" and last == "with":
        return "volume"
    if inner[:1] == ("driven-by",) or not isinstance(last, str):
        return "text"
    return _LAST_KEYS.get(last, "text")


def checked(kind: ParameterKind, value: Plain) -> Plain | tuple[FaultRule, str]:
    """The value of a parameter as it is used, or the rule and words for one that will not do."""
    match kind:
        case "text":
            return value if isinstance(value, str) else ("not-schema", f"{_shown(value)} is not text: put it in quotes")
        case "switch":
            return value if isinstance(value, bool) else ("not-schema", f"{_shown(value)}: write true or false")
        case "direction":
            fits = value in ("reduce", "increase")
            return value if fits else ("not-schema", f"{_shown(value)}: write reduce or increase")
        case "number":
            number = plain_number(value)
            if isinstance(number, BadQuantity):
                return "bad-quantity", number.message
            return value if isinstance(value, int | float) else number
    read: object = ratio(value) if kind == "ratio" else quantity(value, cast(QuantityKind, kind), zero=True)
    return ("bad-quantity", read.message) if isinstance(read, BadQuantity) else value


def filled(entry: Plain, slots: tuple[Slot, ...], given: Mapping[str, Given]) -> Plain:
    """An entry with the values of its parameters in place; what is shown only is left out where there is none."""
    for slot in slots:
        found = given.get(slot.name)
        if found is not None and found.sound:
            entry = _put(entry, slot.route, found.value)
        elif _is_shown_only(slot) and isinstance(entry, dict):
            entry = {key: value for key, value in entry.items() if key != slot.route[0]}
    return entry


def unknown_in(slots: tuple[Slot, ...], given: Mapping[str, Given]) -> bool:
    """Whether a value is missing that torque or speed may depend on."""
    return any(not _is_shown_only(slot) and not _sound(given, slot.name) for slot in slots)


def lacking_in(slots: tuple[Slot, ...], given: Mapping[str, Given]) -> tuple[Given, ...]:
    """The parameters of a value that nobody gave one and that have no default; whatever else is missing is a fault."""
    missing = (given[slot.name] for slot in slots if slot.name in given and not _is_shown_only(slot))
    return tuple(one for one in missing if not one.sound and one.value is None and one.route[0] == "takes")


def _is_shown_only(slot: Slot) -> bool:
    return bool(slot.route) and slot.route[0] in _SHOWN_ONLY


def _sound(given: Mapping[str, Given], name: str) -> bool:
    return name in given and given[name].sound


def _put(holder: Plain, route: Route, value: Plain) -> Plain:
    """A copy of ``holder`` with another value at the end of a route; a route already left out changes nothing."""
    if not route:
        return value
    step = route[0]
    if isinstance(holder, dict) and isinstance(step, str) and step in holder:
        return {**holder, step: _put(holder[step], route[1:], value)}
    if isinstance(holder, list) and isinstance(step, int):
        return [*holder[:step], _put(holder[step], route[1:], value), *holder[step + 1 :]]
    return holder


def _shown(value: Plain) -> str:
    from lineshaft.schema.quantities.quantity_advice import shown

    return shown(value)
