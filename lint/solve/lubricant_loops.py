"""Lubricant circuits that can never start, since what fills them hangs on what they feed."""

from typing import NamedTuple

from lineshaft.schema.model.running import Circuit
from lineshaft.solve.drivetrain import Drivetrain
from lineshaft.solve.solved_rig import SolvedRig


class Loop(NamedTuple):
    """A circuit that can never start: its press hangs on ``stages`` of the same circuit, which are dry."""

    circuit: int
    press: int
    stages: tuple[int, ...]


def loops_of(train: Drivetrain) -> tuple[Loop, ...]:
    """Circuits with no charge whose press hangs on a stage that they feed and that nothing else lubricates.

    Something else is a fill step, or another circuit that is charged or has a press of its own.
    """
    rig, parts = train.rig, train.parts
    filled = {step.part for step in rig.steps if step.amount > 0}
    feeding: dict[int, list[Circuit]] = {}
    for circuit in rig.circuits:
        for part in circuit.feeds:
            feeding.setdefault(part, []).append(circuit)
    found = []
    for number, circuit in enumerate(rig.circuits):
        if circuit.charge > 0 or circuit.supplied_by is None:
            continue
        above = train.above(circuit.supplied_by)
        dry = tuple(
            n
            for n in circuit.feeds
            if n in above
            and parts[n].item.lubricant is not None
            and n not in filled
            and not any(_other(other, circuit) for other in feeding[n])
        )
        if dry:
            found.append(Loop(number, circuit.supplied_by, dry))
    return tuple(found)


def _other(other: Circuit, circuit: Circuit) -> bool:
    """Whether another circuit that feeds the same stage may lubricate it."""
    return other is not circuit and (other.charge > 0 or other.supplied_by not in (None, circuit.supplied_by))


def looped_stages(rig: SolvedRig) -> frozenset[int]:
    """The stages that only a looped circuit would lubricate."""
    stages: set[int] = set()
    for loop in loops_of(rig.train):
        stages.update(rig.rig.circuits[loop.circuit].feeds)
    return frozenset(stages)
