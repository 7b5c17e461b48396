"""The part of a large file that does not fit its schema, small enough to explain in no time.

Explaining is slow: 100,000 parts take it minutes. So large mappings and lists are cut down to the entries that are at
fault and a few others, and routes into the excerpt are led back to the file.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

Route = tuple[str | int, ...]

_MANY = 64  # entries; whatever has more is cut down
_FEW = 8  # entries that stay beside the faulty ones
_NAME = re.compile(r"[A-Za-z0-9_-]{1,64}")
_Branch = dict[str | int, "_Branch"]  # type: ignore[misc]


@dataclass(frozen=True, slots=True)
class Excerpt:
    """Data cut down; ``numbers`` has, for the route of each list that was cut, the numbers of what is left."""

    data: object
    numbers: dict[Route, list[int]] = field(default_factory=dict)

    def original(self, route: Route) -> Route:
        """The route in the file that a route in the excerpt stands for."""
        return tuple(
            self.numbers[route[:at]][step] if isinstance(step, int) and route[:at] in self.numbers else step
            for at, step in enumerate(route)
        )


def faulty_excerpt(data: object, faults: Iterable[Route]) -> Excerpt:
    """``data`` with its large mappings and lists cut down around the values that ``faults`` lead to."""
    top: _Branch = {}
    for route in faults:
        branch = top
        for step in route:
            branch = branch.setdefault(step, {})
    numbers: dict[Route, list[int]] = {}
    return Excerpt(_cut(data, top, (), numbers), numbers)


def _cut(data: object, branch: _Branch, route: Route, numbers: dict[Route, list[int]]) -> object:
    if isinstance(data, dict):
        kept = data if len(data) <= _MANY else _kept_keys(data, branch)
        return {key: _cut(data[key], branch.get(key, {}), (*route, key), numbers) for key in kept}
    if isinstance(data, list):
        if len(data) <= _MANY:
            left = range(len(data))
        else:
            wanted = {*range(_FEW), *(step for step in branch if isinstance(step, int))}
            numbers[route] = sorted(wanted)
            return [
                _cut(data[number], branch.get(number, {}), (*route, at), numbers)
                for at, number in enumerate(numbers[route])
            ]
        return [_cut(data[number], branch.get(number, {}), (*route, number), numbers) for number in left]
    return data


def _kept_keys(data: dict[str, object], branch: _Branch) -> list[str]:
    """The first keys, those that lead to faults, and those that are no names and so at fault themselves."""
    odd = 0
    kept = []
    for number, key in enumerate(data):
        is_odd = odd < 100 and not _NAME.fullmatch(key)
        odd += is_odd
        if number < _MANY or key in branch or is_odd:
            kept.append(key)
    return kept
