"""Causes that all prime movers of a train have in common: the water stands lower at each, or all turn more slowly.

Where two of them meet at a combiner one alone cannot be slower than the other, so what looks like two deviations is
mostly one: the tide, the river, the load.
"""

from collections.abc import Iterator
from itertools import pairwise

from lineshaft.audit.candidate import LEAST_LEFT, PossibleDeviation, Span
from lineshaft.audit.deviations import Deviation
from lineshaft.audit.survey import Survey
from lineshaft.schema.model.catalogue import HeadTable, Hydraulic, Output


def common_causes(survey: Survey) -> Iterator[PossibleDeviation]:
    """All heads lower by as much, and all speeds lower in proportion; of a train with two prime movers or more."""
    parts = survey.train.parts
    movers = [number for number, part in enumerate(parts) if part.item.kind == "prime-mover"]
    by_head = [n for n in movers if parts[n].head is not None]
    if len(by_head) > 1:
        lower = tuple(Deviation("lower-head", n) for n in by_head)
        tables = any(isinstance(parts[n].item.source, HeadTable) for n in by_head)
        mask = _mask(survey, by_head, speed=tables)
        for low, high in pairwise(_drops(survey, by_head)):
            yield PossibleDeviation((lower,), mask, ("head", by_head[0]), (Span(low, high),), common=True)
    if len(movers) > 1 and all(isinstance(parts[n].item.source, Output) for n in movers):
        slower = tuple(Deviation("lower-speed", n) for n in movers)
        mask = _mask(survey, movers, speed=True)
        yield PossibleDeviation((slower,), mask, ("speed", movers[0]), (Span(LEAST_LEFT, 1.0),), common=True)


def _mask(survey: Survey, numbers: list[int], *, speed: bool) -> int:
    """The numbers read at or below these parts, those of torque alone where no speed changes."""
    bits = 0
    for number in numbers:
        bits |= survey.reach[number]
    torque = sum(1 << k for k, m in enumerate(survey.measured) if m.quantity == "torque")
    return bits if speed else bits & torque


def _drops(survey: Survey, numbers: list[int]) -> list[float]:
    """From no drop [m] to the largest that leaves every part a head, and between them where a table has a point."""
    most = float("inf")
    found = {0.0}
    for number in numbers:
        part = survey.train.parts[number]
        head, source = part.head or 0.0, part.item.source
        if isinstance(source, HeadTable):
            heads = [one for one, _, _ in source.points if one < head]
            most = min(most, max((head - one for one in heads), default=0.0))
            found.update(head - one for one in heads)
        elif isinstance(source, Hydraulic):
            most = min(most, (1 - LEAST_LEFT) * head)
    return sorted({drop for drop in found if drop < most} | {most})
