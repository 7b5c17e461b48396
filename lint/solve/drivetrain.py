"""The graph of a rig: who drives whom, in what order power reaches the parts, loops and shared outlets."""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

from lineshaft.schema.model.rig import Part, Rig

if TYPE_CHECKING:  # few rigs have one
    from lineshaft.solve.shared_outlet import Shared


class Drivetrain(NamedTuple):
    """The parts in an order in which every part stands behind what drives it.

    ``order`` leaves out the parts that cannot be solved: in a loop, with a fault, or below such a part. ``driven``
    leads from (part, outlet number) to the part it drives.
    """

    rig: Rig
    order: tuple[int, ...]
    driven: Mapping[tuple[int, int], int]
    loops: tuple[tuple[int, ...], ...] = ()
    shared: tuple["Shared", ...] = ()

    @property
    def parts(self) -> tuple[Part, ...]:
        """The rig's parts."""
        return self.rig.parts

    def below(self, part: int) -> tuple[int, ...]:
        """The parts that a part drives directly, by outlet."""
        count = len(self.rig.parts[part].outlets)
        if count < 2:  # nearly all: without further ado
            only = self.driven.get((part, 0))
            return () if only is None else (only,)
        found = (self.driven.get((part, outlet)) for outlet in range(count))
        return tuple(number for number in found if number is not None)

    def below_all(self, part: int, through: Callable[[int], bool] = lambda _: True) -> frozenset[int]:
        """A part and all below it; nothing of what hangs only on a part that ``through`` stops at."""
        return reached([part], lambda number: self.below(number) if through(number) else ())

    def above(self, *parts: int) -> frozenset[int]:
        """Parts and all that drives them."""
        return reached(parts, lambda number: [source for source, _ in self.rig.parts[number].inlets])

    def driver(self, part: int, torque: Callable[[int, int], float]) -> int | None:
        """The part that drives a part, of several that with the most ``torque`` on the outlet; none where nothing does.

        ``torque`` is asked by part and outlet.
        """
        inlets = self.rig.parts[part].inlets
        if len(inlets) < 2:
            return inlets[0][0] if inlets else None
        return max(inlets, key=lambda inlet: torque(*inlet))[0]

    def chain(self, part: int, torque: Callable[[int, int], float]) -> tuple[int, ...]:
        """The parts from a prime mover down to a part, along its drivers; in a loop each once."""
        path, seen = [part], {part}
        while (above := self.driver(path[-1], torque)) is not None and above not in seen:
            seen.add(above)
            path.append(above)
        return tuple(reversed(path))

    def components(self, among: Collection[int]) -> list[frozenset[int]]:
        """Parts, and all that drives them, in groups that no connection leads out of, in the order of the file."""
        from lineshaft.solve.components import by_component, joined  # asked for repairs

        links = ((number, *(source for source, _ in self.rig.parts[number].inlets)) for number in sorted(among))
        pairs = ((first, number) for number, first in joined(among, links).items())
        return [frozenset(numbers) for numbers in by_component(pairs).values()]


def reached(starts: Iterable[int], onward: Callable[[int], Iterable[int]]) -> frozenset[int]:
    """Parts and all that is reached from them, step by step."""
    found = set(starts)
    waiting = [*found]
    while waiting:
        for number in onward(waiting.pop()):
            if number not in found:
                found.add(number)
                waiting.append(number)
    return frozenset(found)


def connect(rig: Rig) -> Drivetrain:
    """The drivetrain of a rig."""
    parts = rig.parts
    driven: dict[tuple[int, int], int] = {}
    shared: list[tuple[int, int, int]] = []
    barred = set()
    for number, part in enumerate(parts):
        for inlet in part.inlets:
            first = driven.setdefault(inlet, number)
            if first != number:
                shared.append((number, first, inlet[0]))
                barred.add(number)
        if part.faulty:
            barred.add(number)
    order, waiting = _ordered(parts, barred)
    loops = _loops(parts, waiting) if waiting else ()
    return Drivetrain(rig, order, MappingProxyType(driven), loops, _shared(shared) if shared else ())


def _shared(found: Iterable[tuple[int, int, int]]) -> "tuple[Shared, ...]":
    from lineshaft.solve.shared_outlet import Shared

    return tuple(Shared(*one) for one in found)


def _ordered(parts: Sequence[Part], barred: set[int]) -> tuple[tuple[int, ...], list[int]]:
    """Parts in driving order without the barred and all below them; and those that wait for one another."""
    state = bytearray(len(parts))  # 0 not seen, 1 in order, 2 barred or below one that is
    order: list[int] = []
    waiting: list[int] = []
    for number, part in enumerate(parts):
        _place(number, part, state, order, waiting, barred)
    # From here by what is still missing above each part: a list in no order at all takes no longer than one in order.
    below: dict[int, list[int]] = {}
    missing: dict[int, int] = {}
    for number in waiting:
        for source, _ in parts[number].inlets:
            if state[source] == 0:
                below.setdefault(source, []).append(number)
                missing[number] = missing.get(number, 0) + 1
    ready = [number for number in waiting if number not in missing]
    # Parts barred after their first reader had to wait are known by now, so they hold nobody up.
    for number in ready:
        _place(number, parts[number], state, order, waiting, barred)
        for lower in below.get(number, ()):
            missing[lower] -= 1
            if missing[lower] == 0:
                ready.append(lower)
    return tuple(order), [number for number in waiting if state[number] == 0]


def _place(
    number: int, part: Part, state: bytearray, order: list[int], waiting: list[int], barred: set[int]
) -> None:
    worst = 1
    for source, _ in part.inlets:
        seen = state[source]
        if seen == 0:
            if number in barred:
                state[number] = 2
                return
            waiting.append(number)
            return
        if seen == 2:
            worst = 2
    if worst == 2 or number in barred:
        state[number] = 2
    else:
        state[number] = 1
        order.append(number)


def _loops(parts: Sequence[Part], waiting: list[int]) -> tuple[tuple[int, ...], ...]:
    """The rings among parts that wait for one another, each from its first part in file order, along the power.

    Strongly connected components by Tarjan's algorithm (SIAM J. Comput. 1, 1972), without recursion.
    """
    among = set(waiting)
    sources = {n: [s for s, _ in parts[n].inlets if s in among] for n in sorted(among)}
    found: dict[int, int] = {}
    low: dict[int, int] = {}
    trail: list[int] = []
    on_trail: set[int] = set()
    rings: list[tuple[int, ...]] = []
    for start in sources:
        if start in found:
            continue
        work = [(start, 0)]
        while work:
            number, step = work.pop()
            if step == 0:
                found[number] = low[number] = len(found)
                trail.append(number)
                on_trail.add(number)
            if step < len(sources[number]):
                work.append((number, step + 1))
                source = sources[number][step]
                if source not in found:
                    work.append((source, 0))
                elif source in on_trail:
                    low[number] = min(low[number], found[source])
                continue
            if low[number] == found[number]:
                ring = [trail.pop()]
                while ring[-1] != number:
                    ring.append(trail.pop())
                on_trail.difference_update(ring)
                if len(ring) > 1 or number in sources[number]:
                    rings.append(_along(ring, sources))
            if work:
                above = work[-1][0]
                low[above] = min(low[above], low[number])
    return tuple(sorted(rings))


def _along(ring: list[int], sources: Mapping[int, list[int]]) -> tuple[int, ...]:
    """One ring through the first part of a component, in the direction of the power."""
    members = set(ring)
    first = min(ring)
    before: dict[int, int] = {}
    queue = [first]
    for number in queue:  # pragma: no branch - a component leads back to each of its parts, so a way is found
        for source in sources[number]:
            if source == first:
                path = [number]
                while path[-1] != first:
                    path.append(before[path[-1]])
                # Walked against the power from `first`; turned round it runs with the power.
                return (first, *[n for n in path if n != first])
            if source in members and source not in before:
                before[source] = number
                queue.append(source)
    return tuple(sorted(ring))  # pragma: no cover - never come to, as said above
