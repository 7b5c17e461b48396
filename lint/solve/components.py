"""Which parts of a rig hang together: components, that share neither power nor lubricant with one another.

What an edit does to one component no other feels, so that only those it touches have to be judged again.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from lineshaft.schema.model.rig import Rig


class Components(NamedTuple):
    """The component of each part, by its number; the parts, circuits and steps (positions) of each component."""

    of_part: tuple[int, ...]
    parts: Mapping[int, tuple[int, ...]]
    circuits: Mapping[int, tuple[int, ...]]
    steps: Mapping[int, tuple[int, ...]]


def components_of(rig: Rig) -> Components:
    """The components of a rig whose file has no fault; each is named after its first part."""
    members = [circuit.members for circuit in rig.circuits]
    driven = [(number, *(source for source, _ in part.inlets)) for number, part in enumerate(rig.parts)]
    first = joined(range(len(rig.parts)), [*driven, *members])
    circuits = by_component((first[numbers[0]], n) for n, numbers in enumerate(members) if numbers)
    steps = by_component((first[step.part], n) for n, step in enumerate(rig.steps))
    parts = by_component((component, n) for n, component in first.items())
    return Components(tuple(first.values()), parts, circuits, steps)


def joined(numbers: Iterable[int], groups: Iterable[Sequence[int]]) -> dict[int, int]:
    """For each number, in rising order, the smallest that it hangs together with, given groups of which each does.

    Disjoint sets with their paths halved.
    """
    above = {number: number for number in sorted(numbers)}

    def first(number: int) -> int:
        while above[number] != number:
            above[number] = number = above[above[number]]
        return number

    for group in groups:
        if len(group) < 2:
            continue
        firsts = {first(number) for number in group}
        least = min(firsts, default=0)
        for other in firsts:
            above[other] = least
    return {number: first(number) for number in above}


def by_component(pairs: Iterable[tuple[int, int]]) -> dict[int, tuple[int, ...]]:
    """Numbers by the component that each is paired with, in their order."""
    found: dict[int, list[int]] = {}
    for component, number in pairs:
        found.setdefault(component, []).append(number)
    return {component: tuple(numbers) for component, numbers in found.items()}
