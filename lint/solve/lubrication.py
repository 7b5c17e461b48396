"""Which stages begin to turn with none of the lubricant that they need."""

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from lineshaft.solve.drivetrain import Drivetrain
from lineshaft.solve.start_up import StartUp
from lineshaft.solve.steady_state import Flows

if TYPE_CHECKING:  # few rigs have them
    from lineshaft.schema.model.running import Circuit


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
