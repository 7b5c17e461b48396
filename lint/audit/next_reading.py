"""The one further reading that tells the explanations apart best.

After de Kleer and Williams (*Diagnosing Multiple Faults*, Artificial Intelligence 32, 1987), who take the measurement
with the least expected entropy; with explanations held equally likely that is the one that splits them most evenly.
"""

from collections.abc import Iterator, Sequence
from math import log
from typing import NamedTuple

from lineshaft.audit.comparison import Measured, Quantity, computed
from lineshaft.audit.deviations import as_it_stands
from lineshaft.audit.diagnosis import Explanation
from lineshaft.solve.drivetrain import Drivetrain
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.steady_state import Flows, declared, solve

TOLERANCE = 0.02
"""Two values are told apart where their readings, each off by so much, could not be the same."""
MOST_TOLD_APART = 60
"""So many explanations, the first ones, are solved everywhere."""
_DIGITS = 9
"""What two places are compared by differs in so many digits, or by rounding alone."""


class Group(NamedTuple):
    """Explanations (by their place in the list) that give the same value: the least and the largest of them."""

    low: float
    high: float
    explanations: tuple[int, ...]


class NextReading(NamedTuple):
    """Where to read what, and the groups that it tells apart, each by its value [N*m or rad/s], ascending."""

    part: int
    outlet: int
    quantity: Quantity
    groups: tuple[Group, ...]


def next_reading(rig: SolvedRig, explanations: Sequence[Explanation], taken: Sequence[Measured]) -> NextReading | None:
    """The reading not yet taken that tells the first explanations apart best; none where no reading does.

    The most even split counts first, then the widest spread of values, then the place in the file, torque before speed.
    """
    if len(explanations) < 2:
        return None
    builds = [_built(rig, explanation) for explanation in explanations[:MOST_TOLD_APART]]
    known = {(m.part, m.outlet, m.quantity) for m in taken}
    best: tuple[float, float] | None = None
    found = None
    for part, outlet, quantity in _places(rig):
        if (part, outlet, quantity) in known:
            continue
        values = [computed(train.parts, flows, part, outlet, quantity) for train, flows in builds]
        groups = _groups(values)
        if len(groups) < 2:
            continue
        score = round(_evenness(groups), _DIGITS), round(1 - groups[0].low / groups[-1].high, _DIGITS)
        if best is None or score > best:
            best, found = score, NextReading(part, outlet, quantity, tuple(groups))
    return found


def _built(rig: SolvedRig, explanation: Explanation) -> tuple[Drivetrain, Flows]:
    train = as_it_stands(rig.train, explanation.deviations)
    return train, solve(train, declared(train))


def _places(rig: SolvedRig) -> Iterator[tuple[int, int, Quantity]]:
    for number, part in enumerate(rig.parts):
        for outlet in range(max(1, len(part.outlets))):
            yield number, outlet, "torque"
            yield number, outlet, "speed"


def _groups(values: Sequence[float | None]) -> list[Group]:
    """Values in groups that a reading tells apart; none where an explanation has no value here."""
    known = [(value, k) for k, value in enumerate(values) if value is not None]
    if len(known) < len(values):
        return []
    groups: list[Group] = []
    for value, k in sorted(known):
        if groups and value * (1 - TOLERANCE) <= groups[-1].high * (1 + TOLERANCE):
            last = groups[-1]
            groups[-1] = Group(last.low, value, tuple(sorted((*last.explanations, k))))
        else:
            groups.append(Group(value, value, (k,)))
    return groups


def _evenness(groups: Sequence[Group]) -> float:
    """The entropy of the split: the larger, the fewer explanations a reading leaves."""
    total = sum(len(group.explanations) for group in groups)
    return -sum(len(g.explanations) / total * log(len(g.explanations) / total) for g in groups)
