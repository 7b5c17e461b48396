"""The line that a part stands in: from where it branches off down to where it branches or ends, to be re-made."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from lineshaft.repair.line.segment import MOST_STAGES
from lineshaft.schema.text.span import Route
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.steady_state import outlet_torque

_BRANCHING = ("splitter", "combiner", "driven-machine", "prime-mover", "unknown")


class Line(NamedTuple):
    """Parts in line between two branchings (indices, in driving order), and what enters [N*m, rad/s].

    ``source`` is the (part, outlet) that drives the first; ``end`` the (part, inlet) behind the last, none where the
    line ends open. ``stages`` are the gear stages among ``parts``.
    """

    source: tuple[int, int]
    parts: tuple[int, ...]
    end: tuple[int, int] | None
    stages: tuple[int, ...]
    torque: float
    speed: float

    def resupplied(self, torque: float) -> "Line":
        """The same line with another torque [N*m] entering it."""
        return Line(self.source, self.parts, self.end, self.stages, torque, self.speed)


def lines_to(rig: SolvedRig, number: int) -> Iterator[Line]:
    """The line through a part, or the one that drives it, and those above, nearest first."""
    seen: set[tuple[int, int]] = set()
    for part in reversed(rig.chain(number)):
        for inlet in _inlets(rig, part):
            line = line_into(rig, part, inlet)
            if line is not None and line.source not in seen and is_changeable(rig, line):
                seen.add(line.source)
                yield line


def lines_into(rig: SolvedRig, combiner: int) -> Iterator[Line]:
    """The lines into each inlet of a combiner."""
    for inlet in range(len(rig.parts[combiner].inlets)):
        line = line_into(rig, combiner, inlet)
        if line is not None and is_changeable(rig, line):
            yield line


def _inlets(rig: SolvedRig, part: int) -> range:
    """The inlet that the chain comes along: one, or a combiner's with the most torque."""
    count = len(rig.parts[part].inlets)
    if count < 2:
        return range(count)
    best = max(range(count), key=lambda k: rig.inlet_torque(part, k))
    return range(best, best + 1)


def line_into(rig: SolvedRig, number: int, inlet: int) -> Line | None:
    """The line that leads into an inlet of a branching part, or through a part that is none."""
    parts: list[int] = []
    end: tuple[int, int] | None = (number, inlet)
    source = rig.parts[number].inlets[inlet]
    seen = {number}
    if not _ends(rig, number):
        parts, end = _downwards(rig, number)
        seen.update(parts)
    while not _ends(rig, source[0]) and rig.parts[source[0]].inlets and source[0] not in seen:
        seen.add(source[0])
        parts.insert(0, source[0])
        source = rig.parts[source[0]].inlets[0]
    flows = rig.flows
    if not flows.solved[source[0]] or flows.speed_out[source[0]] <= 0:
        return None
    torque = outlet_torque(rig.parts[source[0]], flows.passed[source[0]], source[1])
    stages = [n for n in parts if rig.parts[n].ratio is not None and rig.parts[n].item.kind == "gear-stage"]
    return Line(source, tuple(parts), end, tuple(stages), torque, flows.speed_out[source[0]])


def _downwards(rig: SolvedRig, number: int) -> tuple[list[int], tuple[int, int] | None]:
    parts = [number]
    while True:
        below = rig.train.below(parts[-1])
        if not below:
            return parts, None
        if _ends(rig, below[0]) or below[0] in parts:
            inlets = rig.parts[below[0]].inlets
            return parts, (below[0], next(k for k, (s, _) in enumerate(inlets) if s == parts[-1]))
        parts.append(below[0])


def most_stages(line: Line) -> int:
    """The most stages in line: four, or one more than a line has already."""
    return max(MOST_STAGES, len(line.stages) + 1)


def _ends(rig: SolvedRig, number: int) -> bool:
    """Whether a line ends at a part: it branches, hands nothing on, or is written in another file."""
    part = rig.parts[number]
    return part.item.kind in _BRANCHING or not part.engaged or not is_own(rig, number)


def is_own(rig: SolvedRig, number: int) -> bool:
    """Whether a part is written in the rig's own file, where a repair may change it."""
    part = rig.parts[number]
    return part.tree is rig.rig.tree and part.section == "parts"


def is_changeable(rig: SolvedRig, line: Line) -> bool:
    """Whether a line may be made anew in the rig's own file: it ends open, at a part there, or where a use is fed."""
    return line.end is None or is_own(rig, line.end[0]) or feed_of(rig, line.end) is not None


def feed_of(rig: SolvedRig, inlet: tuple[int, int]) -> Route | None:
    """Where the rig's own file says what feeds the use of a blueprint that an inlet (part, inlet) is in.

    None where the inlet is fed from within the blueprint.
    """
    number, place = inlet
    inlets = rig.parts[number].inlets
    return rig.once(_feeds).get(inlets[place]) if place < len(inlets) and not is_own(rig, number) else None


def _feeds(rig: SolvedRig) -> Mapping[tuple[int, int], Route]:
    """The feeds in the rig's own file, by the outlet that each names."""
    own = rig.rig.tree
    return {promise.source: promise.fed.route for promise in rig.rig.placed.promises if promise.fed.tree is own}


def entry_of(rig: SolvedRig, number: int) -> Route | None:
    """The entry of the rig's own file that a part is, or that puts the blueprint in place which the part is in."""
    part = rig.parts[number]
    if is_own(rig, number):
        return part.route
    return part.uses[0].route if part.uses else None
