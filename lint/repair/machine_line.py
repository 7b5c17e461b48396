"""The line to a machine: what feeds it, what stands on it, and what leaves a chain of stages put in at each place."""

import math
from collections.abc import Iterator
from typing import NamedTuple

from lineshaft.repair.chain import Supply, Wanted
from lineshaft.schema.model.rig import Part
from lineshaft.solve.limits import over
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.steady_state import outlet_torque
from lineshaft.solve.work_rate import speed_for_time

_IN_LINE = frozenset({"shaft", "clutch", "right-angle", "gear-stage"})


class Line(NamedTuple):
    """The line from an outlet to a machine, as indices of parts from above.

    ``source`` and ``outlet`` feed it; ``stages`` are its gear stages, whose place a chain takes; ``fixed`` is all else,
    of which ``before`` parts stand above the first stage (all, where it has none); ``top`` is the first of all.
    """

    machine: int
    source: int
    outlet: int
    fixed: tuple[int, ...]
    stages: tuple[int, ...]
    before: int
    top: int


class Place(NamedTuple):
    """A place for a chain on a line, behind so many fixed parts: what arrives there and what has to leave it."""

    behind: int
    supply: Supply
    wanted: Wanted


class Passage(NamedTuple):
    """What fixed parts do: torque out for torque in, speed out for speed in."""

    torque: float
    speed: float


def line_to(rig: SolvedRig, machine: int) -> Line:
    """The line to a machine up to the first part that divides, gathers or drives, or is written in another file."""
    path: list[int] = []
    source, outlet = rig.parts[machine].inlets[0]
    while _is_in_line(rig, source) and source not in path:
        path.append(source)
        source, outlet = rig.parts[source].inlets[0]
    path.reverse()
    stages = tuple(number for number in path if rig.parts[number].item.kind == "gear-stage")
    fixed = tuple(number for number in path if number not in stages)
    before = path.index(stages[0]) if stages else len(fixed)
    return Line(machine, source, outlet, fixed, stages, before, path[0] if path else machine)


def _is_in_line(rig: SolvedRig, number: int) -> bool:
    part = rig.parts[number]
    return part.item.kind in _IN_LINE and len(part.inlets) == 1 and part.tree is rig.rig.tree


def arriving(rig: SolvedRig, line: Line) -> Supply:
    """What arrives at the line: torque [N*m] and speed [rad/s] at the outlet that feeds it."""
    torque = outlet_torque(rig.parts[line.source], rig.flows.passed[line.source], line.outlet)
    return Supply(torque, rig.flows.speed_out[line.source])


def wanted_by(part: Part) -> Wanted | None:
    """What a machine needs, with the speed that its target takes, and its limits; none where no speed is enough."""
    needs, speed = part.item.needs, part.item.needs.speed or 0.0
    if part.target is not None and part.item.work is not None:
        needed = speed_for_time(part.item.work, part.target)
        if needed is None:
            return None
        speed = max(speed, needed)
    return Wanted(needs.torque or 0.0, speed, needs.power or 0.0, part.torque_limit, part.speed_limit)


def places(rig: SolvedRig, line: Line, wanted: Wanted) -> Iterator[Place]:
    """The places for a chain where the fixed parts above it hold; first that of the stages there are."""
    order = sorted(range(len(line.fixed) + 1), key=lambda behind: (behind != line.before, -behind))
    for behind in order:
        supply = _behind(rig, arriving(rig, line), line.fixed[:behind])
        if supply is not None:
            yield Place(behind, supply, _asked(rig, wanted, line.fixed[behind:]))


def _behind(rig: SolvedRig, supply: Supply, fixed: tuple[int, ...]) -> Supply | None:
    """What leaves some fixed parts; none where one of them does not stand it."""
    torque, speed = supply
    for number in fixed:
        part, does = rig.parts[number], _passage(rig.parts[number])
        most = (max(torque, torque * does.torque), max(speed, speed * does.speed))
        limits = (part.torque_limit, part.speed_limit)
        if any(limit is not None and over(value, limit) for value, limit in zip(most, limits, strict=True)):
            return None
        torque, speed = torque * does.torque, speed * does.speed
    return Supply(torque, speed)


def passage_of(rig: SolvedRig, fixed: tuple[int, ...]) -> Passage:
    """What some fixed parts in line do together."""
    each = [_passage(rig.parts[number]) for number in fixed]
    return Passage(math.prod(does.torque for does in each), math.prod(does.speed for does in each))


def _passage(part: Part) -> Passage:
    if part.ratio is None:
        return Passage(part.item.efficiency, 1.0)
    factor = part.ratio.factor
    if part.direction == "increase":
        return Passage(part.item.efficiency / factor, factor)
    return Passage(part.item.efficiency * factor, 1 / factor)


def _asked(rig: SolvedRig, wanted: Wanted, fixed: tuple[int, ...]) -> Wanted:
    """What has to leave a chain so that behind some fixed parts there is what is wanted, and they hold."""
    torque, speed, power, torque_limit, speed_limit = wanted
    for number in reversed(fixed):
        part, does = rig.parts[number], _passage(rig.parts[number])
        torque, speed, power = torque / does.torque, speed / does.speed, power / (does.torque * does.speed)
        torque_limit = _least(torque_limit, part.torque_limit, does.torque)
        speed_limit = _least(speed_limit, part.speed_limit, does.speed)
    return Wanted(torque, speed, power, torque_limit, speed_limit)


def _least(below: float | None, own: float | None, does: float) -> float | None:
    """The most that may enter a part: by what stands below it, and by its own limit on what enters and leaves."""
    limits = [] if below is None else [below / does]
    if own is not None:
        limits.append(own / max(1.0, does))
    return min(limits, default=None)
