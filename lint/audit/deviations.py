"""Ways in which what stands may differ from what is written, and what a part is like with one of them.

A deviation is a mode of a part in the sense of de Kleer and Williams, *Diagnosis with Behavioral Modes* (IJCAI 1989):
each has a forward model, so an explanation predicts every reading and does not only excuse the wrong ones.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Literal, NamedTuple, get_args

from lineshaft.schema.model.catalogue import Output
from lineshaft.schema.model.rig import Part
from lineshaft.schema.quantities.ratio import Ratio
from lineshaft.solve.drivetrain import Drivetrain, connect

Kind = Literal[
    "other-way",
    "clutch-open",
    "clutch-engaged",
    "not-coupled",
    "stopped",
    "other-ratio",
    "other-shares",
    "lower-head",
    "torque-lost",
    "lower-torque",
    "lower-speed",
    "estimated-shares",
    "wrong-reading",
]

ORDINARY: tuple[Kind, ...] = get_args(Kind)
"""The kinds, the most ordinary first.

What is set by hand on the spot comes first, then what is picked from the catalogue, then what time and water do, last
what has to be estimated. What leaves no number free comes before what has one free, and several free numbers come last:
a fixed value seldom fits a reading by chance, and a free one often does.
"""
RANK = {kind: rank for rank, kind in enumerate(ORDINARY)}


class Deviation(NamedTuple):
    """One difference at one part (index): its kind and, where the kind has one, the value that stands.

    ``ratio`` for another ratio; ``shares`` for other shares, in the order of the outlets; ``value`` for a head [m], or
    the part of torque or speed that is left, between 0 and 1; ``reading`` (from 0) for one that is wrong itself.
    """

    kind: Kind
    part: int
    ratio: Ratio | None = None
    shares: tuple[float, ...] = ()
    value: float = 1.0
    reading: int = -1


def with_deviation(part: Part, deviation: Deviation) -> Part:
    """The part as it stands with a deviation."""
    match deviation.kind:
        case "other-way":
            return part._replace(direction="reduce" if part.direction == "increase" else "increase")
        case "clutch-open" | "clutch-engaged":
            return part._replace(engaged=deviation.kind == "clutch-engaged")
        case "not-coupled":
            return part._replace(inlets=())
        case "stopped":
            return part._replace(item=part.item._replace(source=None))
        case "other-ratio":
            return part._replace(ratio=deviation.ratio)
        case "other-shares" | "estimated-shares":
            return part._replace(shares=deviation.shares)
        case "lower-head":
            return part._replace(head=deviation.value)
        case "torque-lost":
            return part._replace(item=part.item._replace(efficiency=part.item.efficiency * deviation.value))
        case "lower-torque" | "lower-speed":
            return _weaker(part, deviation)
        case "wrong-reading":
            return part


def _weaker(part: Part, deviation: Deviation) -> Part:
    source = part.item.source
    if not isinstance(source, Output):
        return part
    torque, speed = source.torque, source.speed
    if deviation.kind == "lower-torque":
        torque *= deviation.value
    else:
        speed *= deviation.value
    return part._replace(item=part.item._replace(source=Output(torque, speed)))


def parts_with(parts: Sequence[Part], deviations: Iterable[Deviation]) -> dict[int, Part]:
    """The parts that deviations change, as they stand, by their index."""
    changed: dict[int, Part] = {}
    for deviation in deviations:
        number = deviation.part
        changed[number] = with_deviation(changed.get(number, parts[number]), deviation)
    return changed


def as_it_stands(train: Drivetrain, deviations: Iterable[Deviation]) -> Drivetrain:
    """The drivetrain of the build with all these deviations."""
    changed = parts_with(train.parts, deviations)
    parts = tuple(changed.get(number, part) for number, part in enumerate(train.parts))
    return connect(replace(train.rig, parts=parts))


def renumbered(deviations: Iterable[Deviation], numbers: Sequence[int]) -> Iterator[Deviation]:
    """The deviations with each part's index looked up in ``numbers``."""
    return (deviation._replace(part=numbers[deviation.part]) for deviation in deviations)
