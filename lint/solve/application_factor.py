"""The application factor K_A: how much shock of driver and machine adds to the torque that counts."""

from typing import Final

from lineshaft.schema.model.catalogue import Shock
from lineshaft.solve.drivetrain import Drivetrain

CLASSES: Final[tuple[Shock, ...]] = ("uniform", "light", "moderate", "heavy")
TABLE: Final = (
    (1.00, 1.25, 1.50, 1.75),
    (1.10, 1.35, 1.60, 1.85),
    (1.25, 1.50, 1.75, 2.00),
    (1.50, 1.75, 2.00, 2.25),
)
"""Rows: the driver, columns: the driven machine, both from uniform to heavy.

Source: the lower ends of Jiang, *Analysis and Design of Machine Elements*, Table 2.1; as ISO 6336-6 (from memory).
"""


def application_factors(train: Drivetrain) -> tuple[float, ...]:
    """K_A for each part: the worst driver above it, or itself, and the worst machine below it; left out is uniform."""
    parts = train.parts
    driver, driven = [0] * len(parts), [0] * len(parts)
    for number in train.order:
        part = parts[number]
        if part.item.kind == "prime-mover":
            driver[number] = CLASSES.index(part.item.shock or "uniform")
        else:
            driver[number] = max((driver[source] for source, _ in part.inlets), default=0)
    for number in reversed(train.order):
        part = parts[number]
        if part.item.kind == "driven-machine":
            driven[number] = CLASSES.index(part.item.shock or "uniform")
        for source, _ in part.inlets:
            driven[source] = max(driven[source], driven[number])
    return tuple(TABLE[row][column] for row, column in zip(driver, driven, strict=True))
