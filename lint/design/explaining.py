"""Why a machine of a wish cannot be served, and what would do: less of it, more power, a higher head, another ratio.

Each answer was searched for as a design is, with the outlet as it would be then; none of them is a promise of a rule.
"""

import math
from collections.abc import Callable, Iterator
from typing import NamedTuple

from lineshaft.check.finding import Measure, Text, power
from lineshaft.check.rounding_up import rounded_up
from lineshaft.design.alone import sized_alone
from lineshaft.design.search import DesignSearch
from lineshaft.design.wish import Served, Source, Wish
from lineshaft.repair.proof.context import RepairContext
from lineshaft.repair.size_reasons import why_none
from lineshaft.schema.model.catalogue import HeadTable, Hydraulic
from lineshaft.schema.model.rig import Part
from lineshaft.solve.limits import short
from lineshaft.solve.prime_mover import output_of

_STEPS = 60_000
"""Steps of the search for one answer."""
_POINTS, _HALVINGS = 12, 24
_MOST_TIMES = 9.0
_HIGHEST = 100.0
"""Bounds: values that are tried between the least and the most, halvings behind that, times the power, head [m]."""


class Explanation(NamedTuple):
    """Whether a machine can be served by itself, and what is to be said of it, sentence by sentence."""

    served: bool
    lines: tuple[Text, ...]


def explained(context: RepairContext, wish: Wish, machine: Served) -> Explanation:
    """What serves a machine by itself; or why nothing does, and what would."""
    name = context.rig.parts[machine.part].name
    found = _served(context, machine, wish.sources)
    if found is not None:
        lines: list[Text] = [(f"{name} by itself can be served: {found}",)]
        takes, has = sum(one.power for one in wish.machines), sum(source.power for source in wish.sources)
        if short(has, takes):
            all_of_it = ("all machines together take at least ", power(takes), " of the ", power(has), " that are free")
            fewer = _fewer(wish, has)
            less = "one machine" if fewer == 1 else f"{fewer} machines"
            lines.append((*all_of_it, ": at least ", power(takes - has), f" more, or at least {less} less"))
        return Explanation(True, tuple(lines))
    return Explanation(False, tuple(_lines(context, wish, machine)))


def _fewer(wish: Wish, has: float) -> int:
    """How many machines have to go at least, so that those that are left take no more power [W] than there is."""
    takes = sorted((machine.power for machine in wish.machines), reverse=True)
    return next(count for count in range(len(takes) + 1) if not short(has, sum(takes[count:])))


def _lines(context: RepairContext, wish: Wish, machine: Served) -> Iterator[Text]:
    name = context.rig.parts[machine.part].name
    has = sum(source.power for source in wish.sources)
    if short(has, machine.power):
        yield (f"{name} needs at least ", power(machine.power), ", and ", power(has), " is free")
    for source in wish.sources:
        yield from _of_source(context, machine, source)


def _of_source(context: RepairContext, machine: Served, source: Source) -> Iterator[Text]:
    """Why one outlet does not serve a machine, and what of it would."""
    part = context.rig.parts[source.part]
    name = f"{part.name}.{part.outlets[source.outlet]}" if part.outlets else part.name
    connected = sized_alone(context, machine, source)
    yield (f"on {name}: ", *why_none(context.rig, connected))

    def serves(more: float) -> str | None:
        torque = source.torque * (1 + more / source.power)
        return _served(context, machine, (source._replace(torque=torque),))

    times = _least(lambda k: serves((k - 1) * source.power), 1.0, _MOST_TIMES)
    if times is not None:
        more = (times - 1) * source.power
        # Rounded up to what is shown, since less would not do.
        shown = rounded_up(more)
        yield (f"on {name} ", power(shown if serves(shown) is not None else more), " more at the same speed would do")
    head = _head(context, machine, source, part)
    if head is not None:
        yield ("a head of ", Measure(head, "m"), f" at {part.name} would do; it has ", Measure(part.head or 0.0, "m"))


def _head(context: RepairContext, machine: Served, source: Source, part: Part) -> float | None:
    """The smallest head of a prime mover, above the present one, that serves a machine; none within its table."""
    if part.head is None:
        return None
    highest = part.item.source.points[-1][0] if isinstance(part.item.source, HeadTable) else _HIGHEST
    if not isinstance(part.item.source, HeadTable | Hydraulic):
        return None

    def serves(head: float) -> str | None:
        output = output_of(part._replace(head=head))
        if output is None:
            return None
        return _served(context, machine, (source._replace(torque=output.torque, speed=output.speed),))

    found = _least(serves, part.head, highest)
    # Rounded up to what is read off a level, where that does as well.
    rounded = None if found is None else math.ceil(found * 100 - 1e-9) / 100
    return rounded if rounded is not None and rounded <= highest and serves(rounded) is not None else found


def _least(serves: Callable[[float], str | None], least: float, most: float) -> float | None:
    """The least value between two with which something serves, nearly; none where no value that is tried does."""
    step = (most / least) ** (1 / _POINTS) if least > 0 else 1.0
    low = least
    for _ in range(_POINTS):
        high = min(low * step, most)
        if high > low and serves(high) is not None:
            for _ in range(_HALVINGS):
                middle = (low + high) / 2
                if serves(middle) is not None:
                    high = middle
                else:
                    low = middle
            return high
        low = high
    return None


def _served(context: RepairContext, machine: Served, sources: tuple[Source, ...]) -> str | None:
    """The cheapest design for a machine alone in words, by some outlets of those that there are; none where none is."""
    search = DesignSearch(context, Wish((machine,), sources))
    return search.cheapest_in_words(_STEPS)
