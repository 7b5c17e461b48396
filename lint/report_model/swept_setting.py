"""A drivetrain with one setting at another value: a head, a prime mover's output, a splitter's share, a ratio."""

from dataclasses import replace
from typing import NamedTuple

from lineshaft.report_model.record import Setting
from lineshaft.schema.model.catalogue import HeadTable, Hydraulic, Output
from lineshaft.schema.model.rig import Part
from lineshaft.solve.drivetrain import Drivetrain
from lineshaft.solve.prime_mover import output_of


class Sweepable(NamedTuple):
    """A setting of a part that can be swept: the rig's own value, and the range that a table allows (none: any).

    ``offered``: the only values that there are, rising; none where any within the range is one.
    """

    setting: Setting
    declared: float | None
    least: float | None = None
    most: float | None = None
    offered: tuple[float, ...] = ()


def sweepable(part: Part) -> tuple[Sweepable, ...]:
    """What can be swept at a part; nothing where neither head, output, shares nor ratios make sense."""
    if part.ratio is not None and part.item.ratios:
        offered = tuple(sorted({offer.ratio.factor for offer in part.item.ratios}))
        setting = Setting(part.name, "ratio", "1")
        return (Sweepable(setting, part.ratio.factor, offered[0], offered[-1], offered),)
    if part.item.kind == "splitter":
        shares = zip(part.outlets, part.shares, strict=True)
        return tuple(Sweepable(Setting(part.name, name, "1"), share) for name, share in shares)
    if part.item.kind != "prime-mover":
        return ()
    source = part.item.source
    if isinstance(source, HeadTable):
        return (Sweepable(Setting(part.name, "head", "m"), part.head, source.points[0][0], source.points[-1][0]),)
    if isinstance(source, Hydraulic):
        return (Sweepable(Setting(part.name, "head", "m"), part.head),)
    output = output_of(part)
    if output is None:
        return ()
    return (
        Sweepable(Setting(part.name, "torque", "N*m"), output.torque),
        Sweepable(Setting(part.name, "speed", "rad/s"), output.speed),
    )


def with_value(train: Drivetrain, number: int, key: str, value: float) -> Drivetrain:
    """The drivetrain with one setting of part ``number`` at ``value`` (SI); who drives whom stays."""
    parts = train.parts
    changed = _changed(parts[number], key, value)
    return train._replace(rig=replace(train.rig, parts=(*parts[:number], changed, *parts[number + 1 :])))


def _changed(part: Part, key: str, value: float) -> Part:
    if part.shares:
        at = part.outlets.index(key)
        return part._replace(shares=(*part.shares[:at], value, *part.shares[at + 1 :]))
    if key == "ratio":
        return part._replace(ratio=next(one.ratio for one in part.item.ratios if one.ratio.factor == value))
    if key == "head":
        return part._replace(head=value)
    output = output_of(part)
    assert output is not None  # what has none is not sweepable
    changed = Output(value, output.speed) if key == "torque" else Output(output.torque, value)
    return part._replace(item=part.item._replace(source=changed))
