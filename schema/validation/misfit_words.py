"""Words for what violates a JSON Schema: what was written, and what to write instead.

The schemas carry what the words need: titles, examples, and for patterns a `patternErrorMessage` (which
some editors show too). Their conditions are written so that every fault has one plain cause: no
alternatives between large forms, only between sets of required keys.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, NamedTuple

from lineshaft.schema.text.absent_names import odd_letters
from lineshaft.schema.text.nearest import nearest
from lineshaft.schema.text.scalar_text import flow_text, shown
from lineshaft.schema.validation.schemas import schema_of
from lineshaft.schema.validation.slipped_keys import cut_number, slipped_key, slipped_name
from lineshaft.schema.validation.type_words import article, either, type_message
from lineshaft.schema.validation.violations import Violation, violations

Route = tuple[str | int, ...]
_MOST_ERRORS = 1_000


class Misfit(NamedTuple):
    """One way in which data does not fit.

    ``route`` leads to the faulty value; with ``at_key`` it is that value's key that is wrong (for a key that
    is missing: the key of the mapping that lacks it). ``beside`` leads to what else belongs to the same slip.
    """

    route: Route
    at_key: bool
    message: str
    beside: tuple[Route, ...] = ()


@dataclass(frozen=True, slots=True)
class _Told:
    """A misfit on its way: ``topic`` tells two faults of one value apart."""

    misfit: Misfit
    topic: str


def explained(kind: str, data: object) -> list[Misfit]:
    """What the violations of the schema of ``kind`` in ``data`` mean, each once, in the order of ``data``."""
    found: dict[tuple[Route, bool, str], Misfit] = {}
    for _, error in zip(range(_MOST_ERRORS), violations(schema_of(kind), data), strict=False):
        for told in _told(kind, error):
            key = (told.misfit.route, told.misfit.at_key, told.topic)
            if key not in found or error.keyword == "additionalProperties":
                found[key] = told.misfit
    order = _Order(data, {})
    return sorted(_without_echoes(found), key=lambda misfit: order.of(misfit.route))


def _without_echoes(found: Mapping[tuple[Route, bool, str], Misfit]) -> Iterator[Misfit]:
    """Drop what another misfit explains already: a mistyped key is also missing, say."""
    wrong_type = {route for route, at_key, topic in found if topic == "type" and not at_key}
    unknown: dict[Route, list[str]] = {}
    slips = {route for route, _, topic in found if topic == "slip"}
    for route, _, topic in found:
        if topic in ("key", "slip"):
            unknown.setdefault(route[:-1], []).append(str(route[-1]))
    for (route, at_key, topic), misfit in found.items():
        strangers = unknown.get(route, [])
        missing = topic.removeprefix("missing ") if topic.startswith("missing ") else None
        echo = (
            (missing is not None and any(_stands_for(stranger, missing) for stranger in strangers))
            or (topic != "slip" and any(route[:n] in slips for n in range(1, len(route) + 1)))
            or (topic == "number of keys" and bool(strangers))
            or (not at_key and topic not in ("type", "slip") and route in wrong_type)
        )
        if not echo:
            yield misfit


def _stands_for(stranger: str, missing: str) -> bool:
    """Whether a key that is not known may be the one that is missing: a slip of it, or it with more behind it."""
    begun = stranger.startswith(missing) and not stranger[len(missing) :][:1].isalnum()
    return begun or bool(nearest(stranger, (missing,)))


@dataclass(frozen=True, slots=True)
class _Order:
    """Where routes stand in data: the number of each step among its neighbours."""

    data: Any
    known: dict[int, dict[str, int]]

    def of(self, route: Route) -> tuple[int, ...]:
        """A key to sort routes by, as their values stand in the file."""
        numbers, data = [], self.data
        for step in route:
            if isinstance(data, dict):
                places = self.known.get(id(data))
                if places is None:
                    places = self.known[id(data)] = {key: number for number, key in enumerate(data)}
                numbers.append(places[str(step)])
            else:
                numbers.append(int(step))
            data = data[step]
        return tuple(numbers)


def _told(kind: str, error: Violation) -> Iterator[_Told]:
    route: Route = error.route
    if "propertyNames" in error.within[-4:]:
        slip = slipped_name(error.instance) if error.keyword != "enum" else None
        if slip is not None:
            yield _Told(Misfit((*route, error.instance), True, slip), "slip")
            return
        yield _Told(Misfit((*route, error.instance), True, _bad_key(error)), "key")
    elif error.keyword == "type":
        cut = error.instance is None and cut_number(str(route[-1])) if route else ""
        if cut:
            yield _Told(Misfit(route, True, cut), "slip")
        else:
            yield _Told(Misfit(route, False, type_message(kind, error, route)), "type")
    elif error.keyword in _OF_KEYS and not isinstance(error.instance, dict):
        return  # its type is wrong, which is told already
    else:
        yield from _TELLERS[error.keyword](kind, error, route)


def _bad_key(error: Violation) -> str:
    if error.keyword == "enum" and "patternErrorMessage" not in error.schema:
        takes = either(error.wanted, "and")
        return f"items of this kind take no `{shown(error.instance)}`; they take {takes}"
    wanted = error.schema.get("patternErrorMessage", "write another")
    return f"`{shown(error.instance)}` is no name: {wanted}{odd_letters(str(error.instance))}"


def _unknown_keys(_: str, error: Violation, route: Route) -> Iterator[_Told]:
    known = error.schema.get("properties", {})
    free = [key for key in known if key not in error.instance]
    covered: set[str] = set()
    for key in error.instance:
        if key in known or key in covered:
            continue
        slip = slipped_key(error.instance, key, known)
        if slip is not None:
            covered.update(slip.covers)
            beside = tuple((*route, other) for other in slip.covers if other != slip.key)
            yield _Told(Misfit((*route, slip.key), slip.at_key, slip.message, beside), "slip")
            continue
        near = nearest(key, free)
        if key == "item" and "blueprint" in error.instance:
            hint = "; a part has an item or a blueprint, not both"
        elif near:
            hint = f"; did you mean `{near[0]}`?"
        else:
            hint = f"; {article(error.schema)} takes {either(known, 'and')}"
        yield _Told(Misfit((*route, key), True, f"unknown key `{shown(key)}`{odd_letters(key)}{hint}"), "key")


def _missing(kind: str, error: Violation, route: Route) -> Iterator[_Told]:
    conditional = "then" in error.within[-2:] and "description" in error.schema
    reason = f": {error.schema['description']}" if conditional else ""
    for key in error.wanted:
        if key not in error.instance:
            example = _written_out(kind, key, error.schema.get("properties", {}).get(key))
            instead = f"; write it, for example `{example}`" if example else ""
            what = f"a part needs an item or a blueprint: `{key}`" if key == "item" else f"`{key}`"
            yield _Told(Misfit(route, True, f"{what} is missing{reason}{instead}"), f"missing {key}")


def _written_out(kind: str, key: str, schema: Any) -> str:
    examples = (schema or {}).get("examples") or _examples(kind).get(key)
    return f"{key}: {flow_text(examples[0])}" if examples else ""


@cache
def _examples(kind: str) -> dict[str, list[Any]]:
    """Examples of every property of a kind of file by its name; the first that has some."""
    found: dict[str, list[Any]] = {}
    left: list[Any] = [schema_of(kind)]
    while left:
        schema = left.pop()
        if isinstance(schema, dict):
            for name, inner in schema.get("properties", {}).items():
                if isinstance(inner, dict) and "examples" in inner:
                    found.setdefault(name, inner["examples"])
            left.extend(schema.values())
        elif isinstance(schema, list):
            left.extend(schema)
    return found


def _wrong_word(_: str, error: Violation, route: Route) -> Iterator[_Told]:
    near = nearest(error.instance, error.wanted) if isinstance(error.instance, str) else ()
    hint = f"; did you mean {near[0]}?" if near else ""
    odd = odd_letters(error.instance) if isinstance(error.instance, str) else ""
    message = f"`{shown(error.instance)}` has no meaning here{odd}; write {either(error.wanted)}{hint}"
    yield _Told(Misfit(route, False, message), "word")


def _wrong_version(kind: str, error: Violation, route: Route) -> Iterator[_Told]:
    message = f"`{shown(error.instance)}` is no version that this program can read; write `{kind}: 1`"
    yield _Told(Misfit(route, False, message), "word")


def _wrong_text(_: str, error: Violation, route: Route) -> Iterator[_Told]:
    wanted = error.schema.get("patternErrorMessage", "write it as the schema says")
    message = f"`{shown(error.instance)}` will not do: {wanted}{odd_letters(str(error.instance))}"
    several = error.instance.split(",") if isinstance(error.instance, str) else []
    if len(several) > 1 and "array" in error.schema.get("type", ()):
        listed = flow_text([one.strip() for one in several if one.strip()])
        message = f"several names make a list, in square brackets; write `{route[-1]}: {shown(listed)}`"
    yield _Told(Misfit(route, False, message), "word")


def _none_of(_: str, error: Violation, route: Route) -> Iterator[_Told]:
    groups = [key for branch in error.wanted for key in branch.get("required", ())]
    there = [key for key in error.instance if key in groups]
    if there:
        message = f"only one of {either(groups)} may be given; `{there[0]}` is there already"
        yield _Told(Misfit((*route, there[1]), True, message), "excluded")
    else:
        yield _Told(Misfit(route, True, f"{either(groups)} is missing"), "one of")


def _excluded(_: str, error: Violation, route: Route) -> Iterator[_Told]:
    keys = [key for key in error.instance if key in error.wanted.get("required", ())]
    others = f" beside `{keys[0]}`" if len(keys) > 1 else ""
    reason = error.schema.get("description", "it has no place there")
    yield _Told(Misfit((*route, keys[-1]), True, f"take `{keys[-1]}` out{others}: {reason}"), "excluded")


def _dependent(_: str, error: Violation, route: Route) -> Iterator[_Told]:
    for key, needed in error.wanted.items():
        for other in needed:
            if key in error.instance and other not in error.instance:
                message = f"`{key}` needs `{other}` beside it"
                yield _Told(Misfit((*route, key), True, message), f"needs {other}")


def _number_of_keys(_: str, error: Violation, route: Route) -> Iterator[_Told]:
    schema, there = error.schema, list(error.instance)
    known = either(schema["properties"]) if "properties" in schema else "entry"
    least, most = schema.get("minProperties", 0), schema.get("maxProperties")
    if most is None:
        examples = schema.get("examples", ())
        instead = f", as in `{route[-1]}: {flow_text(examples[0])}`" if examples and route else ""
        yield _Told(Misfit(route, False, f"it is empty; give at least one {known}{instead}"), "number of keys")
    elif most == 1 and there:
        message = f"one entry does one thing; make `{shown(there[1])}` an entry of its own"
        yield _Told(Misfit((*route, there[1]), True, message), "number of keys")
    else:
        message = f"give exactly {least} of {known}, not {len(there)}"
        yield _Told(Misfit(route, False, message), "number of keys")


def _number_of_entries(_: str, error: Violation, route: Route) -> Iterator[_Told]:
    least, most = error.schema.get("minItems", 0), error.schema.get("maxItems")
    examples = [example for example in error.schema.get("examples", ()) if isinstance(example, list)]
    instead = f"; write for example `{flow_text(examples[0])}`" if examples else ""
    wanted = f"takes exactly {most} entries" if most is not None else f"needs at least {least}"
    there = len(error.instance) or "none"
    yield _Told(Misfit(route, False, f"this list {wanted}, it has {there}{instead}"), "number of entries")


def _range(_: str, error: Violation, route: Route) -> Iterator[_Told]:
    low, high = error.schema.get("minimum"), error.schema.get("maximum")
    message = f"{shown(error.instance)} is out of range; write a whole number from {low} to {high}"
    yield _Told(Misfit(route, False, message), "word")


def _too_short(_: str, __: Any, route: Route) -> Iterator[_Told]:
    yield _Told(Misfit(route, False, "it is empty; write some text"), "word")


_OF_KEYS = frozenset({"anyOf", "oneOf", "not"})
_TELLERS: Mapping[str, Callable[[str, Violation, Route], Iterator[_Told]]] = {
    "additionalProperties": _unknown_keys,
    "required": _missing,
    "enum": _wrong_word,
    "const": _wrong_version,
    "pattern": _wrong_text,
    "anyOf": _none_of,
    "oneOf": _none_of,
    "not": _excluded,
    "dependentRequired": _dependent,
    "minProperties": _number_of_keys,
    "maxProperties": _number_of_keys,
    "minItems": _number_of_entries,
    "maxItems": _number_of_entries,
    "minimum": _range,
    "maximum": _range,
    "minLength": _too_short,
}
