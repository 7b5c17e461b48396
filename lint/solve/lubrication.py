"""Lubricant circuits and fills: who has what, what a press makes, what stages use, and how long it lasts."""

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from lineshaft.schema.model.rig import Circuit
from lineshaft.solve.drivetrain import Drivetrain
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.start_up import StartUp
from lineshaft.solve.steady_state import Flows


class Oiling:
    """Which circuits feed each part of a drivetrain, and whether a stage has lubricant when it begins to turn."""

    __slots__ = ("_circuits", "_parts")

    def __init__(self, train: Drivetrain) -> None:
        self._parts = train.parts
        self._circuits: dict[int, list[Circuit]] = {}
        for circuit in train.rig.circuits:
            for part in circuit.feeds:
                self._circuits.setdefault(part, []).append(circuit)

    def dry(self, first_turns: Iterable[int], start_up: StartUp, turns_now: set[int]) -> Iterator[int]:
        """The stages among ``first_turns`` that begin to turn with none of the lubricant they need.

        A stage has some where it was filled, a circuit that feeds it is charged, or the circuit's press turned
        already in the state before (it is not among ``turns_now``).
        """
        for n in first_turns:
            if self._parts[n].item.lubricant is None or start_up.filled.get(n, 0.0) > 0:
                continue
            for circuit in self._circuits.get(n, ()):
                press = circuit.supplied_by
                if circuit.charge > 0:
                    break
                if press is not None and start_up.turning[press] and press not in turns_now:
                    break
            else:
                yield n

    def dry_as_declared(
        self, declared: Flows, turned: bytearray, filled: Mapping[int, float]
    ) -> Iterator[int]:
        """The stages that only the declared rig turns (its list never does) and that nothing would lubricate."""
        for n, part in enumerate(self._parts):
            if part.item.lubricant is None or turned[n] or declared.speed_in[n] <= 0 or filled.get(n, 0.0) > 0:
                continue
            if not any(c.charge > 0 or c.supplied_by is not None for c in self._circuits.get(n, ())):
                yield n


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
    filled = {step.part for step in rig.steps if step.kind == "fill" and step.amount > 0}
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
