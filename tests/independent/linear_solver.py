"""Torque and speed of a plan as one system of linear equations, solved by scipy and numpy.

One unknown and one equation for each port: what arrives at each inlet and what leaves at each outlet. It
shares nothing with the program: no order of parts, no pass from part to part, only laws as rows of a matrix.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy
from rig_maker.plan import PlannedPart
from scipy.sparse import csc_matrix  # type: ignore[import-untyped]
from scipy.sparse.linalg import splu  # type: ignore[import-untyped]

_SMALL = 100  # unknowns


@dataclass(frozen=True, slots=True)
class Ports:
    """Torque [N*m] and speed [rad/s] at a part: by inlet and by outlet, in order (one without a name)."""

    torque_in: tuple[float, ...]
    speed_in: tuple[float, ...]
    torque_out: tuple[float, ...]
    speed_out: tuple[float, ...]


@dataclass(slots=True)
class _System:
    """A·x = b, built row by row; the row of an unknown has 1 at its own column."""

    rows: list[int]
    columns: list[int]
    values: list[float]
    right: list[float]

    def equation(self, unknown: int, terms: Sequence[tuple[float, int]], constant: float = 0.0) -> None:
        """``unknown`` = Σ factor · other + constant."""
        self.rows += [unknown] * (1 + len(terms))
        self.columns += [unknown, *(other for _, other in terms)]
        self.values += [1.0, *(-factor for factor, _ in terms)]
        self.right[unknown] = constant

    def solved(self) -> list[float]:
        """x. Pivots stay on the diagonal: all others are negative there, so nothing cancels."""
        size = len(self.right)
        if size <= _SMALL:
            return self._passed_on()
        matrix = csc_matrix((self.values, (self.rows, self.columns)), shape=(size, size))
        lu = splu(matrix, permc_spec="NATURAL", diag_pivot_thresh=0.0, options={"Equil": False})
        return [float(value) for value in lu.solve(numpy.array(self.right))]

    def _passed_on(self) -> list[float]:
        """x as b, passed on by every equation at once until nothing changes: as many times as the longest line is long.

        A third faster for rigs of ten parts than a sparse factorization, and as exact, since nothing is taken away.
        """
        right = numpy.array(self.right)
        factors = numpy.identity(len(right))
        numpy.subtract.at(factors, (self.rows, self.columns), self.values)
        found = right
        for _ in range(len(right)):
            before, found = found, right + factors @ found
            if numpy.array_equal(before, found):
                break
        return [float(value) for value in found]


def solve(plan: Sequence[PlannedPart]) -> dict[str, Ports]:
    """Every port of a plan, by part name."""
    number: dict[tuple[str, str, object], int] = {}
    for part in plan:
        for inlet in range(len(part.driven_by)):
            number[part.name, "in", inlet] = len(number)
        for outlet in _outlets(part):
            number[part.name, "out", outlet] = len(number)
    torque = _system(len(number))
    speed = _system(len(number))
    for part in plan:
        _write(part, number, torque, speed)
    torques, speeds = torque.solved(), speed.solved()

    def values(found: list[float], part: PlannedPart, side: str, keys: Sequence[object]) -> tuple[float, ...]:
        return tuple(found[number[part.name, side, key]] for key in keys)

    result = {}
    for part in plan:
        inlets, outlets = range(len(part.driven_by)), _outlets(part)
        result[part.name] = Ports(
            values(torques, part, "in", inlets),
            values(speeds, part, "in", inlets),
            values(torques, part, "out", outlets),
            values(speeds, part, "out", outlets),
        )
    return result


def _system(size: int) -> _System:
    return _System([], [], [], [0.0] * size)


def _outlets(part: PlannedPart) -> list[str | None]:
    if part.kind == "driven-machine":
        return []
    return [name for name, _ in part.shares] or [None]


def _write(
    part: PlannedPart, number: dict[tuple[str, str, object], int], torque: _System, speed: _System
) -> None:
    """The equations of one part's ports."""
    inlets = [number[part.name, "in", inlet] for inlet in range(len(part.driven_by))]
    for inlet, (source, outlet) in zip(inlets, part.driven_by, strict=True):
        above = number[source, "out", outlet]
        torque.equation(inlet, [(1.0, above)])
        speed.equation(inlet, [(1.0, above)])
    factor = 1.0
    if part.ratio is not None:
        factor = float(part.ratio if part.direction == "reduce" else 1 / part.ratio)
    weights = dict(part.shares)
    for outlet in _outlets(part):
        own = number[part.name, "out", outlet]
        if part.output is not None:
            torque.equation(own, [], part.output[0])
            speed.equation(own, [], part.output[1])
            continue
        share = weights[str(outlet)] / sum(weights.values()) if weights else 1.0
        torque.equation(own, [(part.efficiency * factor * share, inlet) for inlet in inlets])
        # The inlets of a combiner agree; their mean is as good as any of them.
        speed.equation(own, [(1 / factor / len(inlets), inlet) for inlet in inlets])
