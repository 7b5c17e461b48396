"""What a prime mover gives at the rig's settings."""

import itertools

from lineshaft.schema.model.catalogue import HeadTable, Hydraulic, Output
from lineshaft.schema.model.rig import Part

STANDARD_GRAVITY = 9.80665
"""Standard acceleration of gravity [m/s^2], exact by definition (3rd CGPM, 1901)."""


def hydraulic_power(density: float, flow: float, head: float, efficiency: float) -> float:
    """Power [W] from water: P = ρ·g·Q·H·η with density [kg/m^3], flow [m^3/s], head [m].

    Source: e.g. Çengel & Cimbala, *Fluid Mechanics*, ch. 14.
    """
    return density * STANDARD_GRAVITY * flow * head * efficiency


def table_output(points: tuple[tuple[float, float, float], ...], head: float) -> Output:
    """Torque and speed by straight lines between the points; ``head`` lies within the table."""
    if head <= points[0][0]:
        return Output(points[0][1], points[0][2])
    for (h0, t0, w0), (h1, t1, w1) in itertools.pairwise(points):
        if head <= h1:
            share = (head - h0) / (h1 - h0)
            return Output(t0 + share * (t1 - t0), w0 + share * (w1 - w0))
    return Output(points[-1][1], points[-1][2])


def output_of(part: Part) -> Output | None:
    """The full output of a prime mover; none where its item or settings are at fault."""
    source = part.item.source
    if isinstance(source, Output):
        return source
    if part.head is None or source is None:
        return None
    if isinstance(source, HeadTable):
        return table_output(source.points, part.head)
    return _from_water(source, part.head)


def _from_water(source: Hydraulic, head: float) -> Output:
    power = hydraulic_power(source.density, source.flow, head, source.efficiency)
    return Output(power / source.speed, source.speed)
