"""Which parts of a rig hang together: lines, that share neither power nor lubricant with one another.

What an edit does to one line no other line feels, so that only the lines it touches have to be judged again.
"""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from lineshaft.schema.model.rig import Rig


class Lines(NamedTuple):
    """The line of each part, by its number, and the parts, circuits and steps (positions) of each line."""

    of_part: tuple[int, ...]
    parts: Mapping[int, tuple[int, ...]]
    circuits: Mapping[int, tuple[int, ...]]
    steps: Mapping[int, tuple[int, ...]]


def lines_of(rig: Rig) -> Lines:
    """The lines of a rig whose file has no fault; each is named after its first part."""
    above = list(range(len(rig.parts)))

    def first(number: int) -> int:
        while above[number] != number:
            above[number] = above[above[number]]
            number = above[number]
        return number

    def join(numbers: Iterable[int]) -> None:
        firsts = sorted({first(number) for number in numbers})
        for other in firsts[1:]:
            above[other] = firsts[0]

    for number, part in enumerate(rig.parts):
        if part.inlets:
            join((number, *(source for source, _ in part.inlets)))
    members = [circuit.members for circuit in rig.circuits]
    for numbers in members:
        join(numbers)
    of_part = tuple(first(number) for number in range(len(above)))
    circuits = _grouped((of_part[numbers[0]], n) for n, numbers in enumerate(members) if numbers)
    steps = _grouped((of_part[step.part], n) for n, step in enumerate(rig.steps))
    return Lines(of_part, _grouped((line, n) for n, line in enumerate(of_part)), circuits, steps)


def _grouped(pairs: Iterable[tuple[int, int]]) -> dict[int, tuple[int, ...]]:
    found: dict[int, list[int]] = {}
    for line, number in pairs:
        found.setdefault(line, []).append(number)
    return {line: tuple(numbers) for line, numbers in found.items()}
