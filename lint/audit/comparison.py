"""Each number that was read beside the number that is computed for its place."""

from collections.abc import Iterator, Sequence
from typing import Literal, NamedTuple

from lineshaft.schema.model.rig import Part
from lineshaft.schema.model.running import Reading
from lineshaft.solve.limits import EQUAL
from lineshaft.solve.steady_state import Columns, Flows, outlet_torque

Quantity = Literal["torque", "speed"]
NO_READING = -1
"""In place of a reading's number: nobody read it, but what stands turns, so the inlets of a combiner agree in speed."""


class Measured(NamedTuple):
    """One number that was read: torque [N*m] or speed [rad/s], where, with its relative tolerance.

    ``reading`` counts the rig's readings from 0; ``part`` and ``outlet`` are those of the rig it is compared in.
    """

    reading: int
    part: int
    outlet: int
    quantity: Quantity
    read: float
    tolerance: float


def measured(readings: Sequence[Reading]) -> Iterator[Measured]:
    """The numbers that were read, in the order of the file, torque before speed."""
    for number, reading in enumerate(readings):
        if reading.torque is not None:
            yield Measured(number, reading.part, reading.outlet, "torque", reading.torque, reading.tolerance)
        if reading.speed is not None:
            yield Measured(number, reading.part, reading.outlet, "speed", reading.speed, reading.tolerance)


def computed(
    parts: Sequence[Part], flows: Flows | Columns, number: int, outlet: int, quantity: Quantity
) -> float | None:
    """Torque [N*m] or speed [rad/s] at a part's outlet (a machine's inlet); none where the part is not solved."""
    if not flows.solved[number]:
        return None
    part = parts[number]
    if part.item.kind == "driven-machine":
        return flows.torque_in[number] if quantity == "torque" else flows.speed_in[number]
    if quantity == "speed":
        return flows.speed_out[number]
    return outlet_torque(part, flows.passed[number], outlet)


def disagree(read: float, value: float, tolerance: float) -> bool:
    """Whether a number that was read lies outside its tolerance of the computed one; at the edge it does not."""
    return abs(read - value) > (tolerance + EQUAL) * value
