"""The part of a file that does not fit its schema, small enough to explain at once.

Explaining is slow: 100,000 parts would take minutes. The fast validator tells which entries of a file's
large mappings and lists are at fault; they and a few others stay, and routes into the excerpt lead back to
the file.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

Route = tuple[str | int, ...]

_MANY = 400  # entries; whatever has more is cut down
_FEW = 40  # entries that stay although nothing is known against them
_MOST = 100  # faulty entries of one mapping or list; a report shows no more
_HANDFUL = 256  # entries that are tried together
_NAME = re.compile(r"[A-Za-z0-9_-]{1,64}")

FirstFault = Callable[[object], Route | None]
"""The route to the first fault that the fast validator meets in a value; none where the value fits."""


@dataclass(frozen=True, slots=True)
class Excerpt:
    """Data cut down; ``numbers`` has, by the route of each list that was cut, the numbers of what is left."""

    data: object
    numbers: dict[Route, list[int]] = field(default_factory=dict)

    def original(self, route: Route) -> Route:
        """The route in the file that a route in the excerpt stands for."""
        return tuple(
            self.numbers[route[:at]][step] if isinstance(step, int) and route[:at] in self.numbers else step
            for at, step in enumerate(route)
        )


def faulty_excerpt(data: object, first_fault_in: Callable[[str], FirstFault | None]) -> Excerpt:
    """``data`` cut down around its faults; ``first_fault_in`` knows the sections of such a file."""
    numbers: dict[Route, list[int]] = {}
    if not isinstance(data, dict):
        return Excerpt(_cut(data, (), (), numbers), numbers)
    cut: dict[str, object] = {}
    for number, (key, value) in enumerate(data.items()):
        first_fault = first_fault_in(key)
        if first_fault is not None:
            cut[key] = _cut_section(value, first_fault, (key,), numbers)
        elif number < _MANY:
            cut[key] = _cut(value, (), (key,), numbers)
    return Excerpt(cut, numbers)


def _cut_section(
    section: object, first_fault: FirstFault, route: Route, numbers: dict[Route, list[int]]
) -> object:
    """A section, with its faulty entries only where it has many, each cut down around its first fault."""
    if isinstance(section, dict):
        keys = list(section)
        if len(keys) > _MANY:
            faulty = _faulty_keys(section, keys, first_fault)
            keys = [key for number, key in enumerate(keys) if number < _FEW or key in faulty]
        return {
            key: _cut(section[key], (first_fault({key: section[key]}) or ())[1:], (*route, key), numbers)
            for key in keys
        }
    if isinstance(section, list):
        left = list(range(len(section)))
        if len(left) > _MANY:
            left = sorted({*range(_FEW), *_faulty_numbers(section, first_fault)})
            numbers[route] = left
        return [
            _cut(section[number], (first_fault([section[number]]) or ())[1:], (*route, at), numbers)
            for at, number in enumerate(left)
        ]
    return section


def _faulty_keys(section: dict[str, object], keys: list[str], first_fault: FirstFault) -> set[str]:
    found: set[str] = set()
    for handful in _handfuls(len(keys)):
        if first_fault({key: section[key] for key in keys[handful]}) is not None:
            found.update(key for key in keys[handful] if first_fault({key: section[key]}) is not None)
            if len(found) >= _MOST:
                break
    return found


def _faulty_numbers(section: list[object], first_fault: FirstFault) -> set[int]:
    found: set[int] = set()
    for handful in _handfuls(len(section)):
        if first_fault(section[handful]) is not None:
            numbers = range(len(section))[handful]
            found.update(number for number in numbers if first_fault([section[number]]) is not None)
            if len(found) >= _MOST:
                break
    return found


def _handfuls(count: int) -> Iterator[slice]:
    return (slice(start, start + _HANDFUL) for start in range(0, count, _HANDFUL))


def _cut(data: object, fault: Route, route: Route, numbers: dict[Route, list[int]]) -> object:
    """A value without most entries of what is large in it, around the fault that ``fault`` leads to."""
    inner = fault[1:]
    if isinstance(data, dict):
        keys = list(data) if len(data) <= _MANY else _kept_keys(data, fault)
        return {
            key: _cut(data[key], inner if fault[:1] == (key,) else (), (*route, key), numbers) for key in keys
        }
    if isinstance(data, list):
        left = list(range(len(data)))
        if len(left) > _MANY:
            left = [number for number in left if number < _FEW or fault[:1] == (number,)]
            numbers[route] = left
        return [
            _cut(data[number], inner if fault[:1] == (number,) else (), (*route, at), numbers)
            for at, number in enumerate(left)
        ]
    return data


def _kept_keys(data: dict[str, object], fault: Route) -> list[str]:
    """The first keys, the one that leads to a fault, and some that are no names and so faults themselves."""
    odd = 0
    kept = []
    for number, key in enumerate(data):
        is_odd = odd < _FEW and not _NAME.fullmatch(key)
        odd += is_odd
        if number < _FEW or fault[:1] == (key,) or is_odd:
            kept.append(key)
    return kept
