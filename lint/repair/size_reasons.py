"""Why no chain of stages does for a machine, in one line: what the bounds, the ratios, the grades or the rules say.

It is reckoned at the machine, which may stand some way below the end of the line: in a placed blueprint.
"""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from lineshaft.check.finding import Measure, Text, power, times, torque
from lineshaft.check.finding import speed as turning
from lineshaft.repair.line.segment import MOST_LINES
from lineshaft.repair.line.tooth_counts import simplest_between
from lineshaft.repair.proof.context import RepairContext
from lineshaft.repair.size import Sizing, Wanted, line_for, wanted_by
from lineshaft.repair.strategies.strength import ENDLESS
from lineshaft.solve.limits import EQUAL, short
from lineshaft.solve.solved_rig import SolvedRig

_MORE_POWER = "only more power helps: a larger share, less loss or more from the prime mover"
_MOST_NEAR = 4000
"""Products of gains that are looked at for the nearest."""


def wanted_at(context: RepairContext, number: int) -> Wanted | str:
    """What a machine wants; or why it cannot be sized: it wants nothing, or nothing arrives that could be geared."""
    rig = context.rig
    part = rig.parts[number]
    if part.item.kind != "driven-machine":
        return f"{part.name} is a {part.item.kind}; name a driven machine"
    if part.faulty or not part.inlets or not rig.flows.solved[number]:
        return f"{part.name} is not solved or nothing drives it: see `lineshaft check {rig.file}`"
    line = line_for(rig, number)
    if line is None and part.tree is not rig.rig.tree and rig.flows.speed_in[number] > 0:
        place = part.tree.source.shown
        return (
            f"what drives {part.name} stands in {place} alone, and {rig.file} feeds it nowhere: see"
            f" `lineshaft repair {place}`"
        )
    if line is None or not (line.torque > 0 and rig.flows.speed_in[number] > 0):
        return f"nothing arrives at {part.name}: a clutch above is open, or what drives it stands still"
    wanted = wanted_by(part)
    if wanted is None:
        return f"no speed in the work table of {part.item.name} meets its target; give it another target"
    if not any(wanted[:3]):
        return f"{part.name} needs nothing and has no target: there is nothing to size it to"
    return wanted


def why_none(rig: SolvedRig, sizing: Sizing) -> Text:
    """The reason, of a sizing that found nothing."""
    line, wanted, wish = sizing.line, sizing.wanted, sizing.wish
    has = line.torque * line.speed * wish.by * wish.turns
    takes = max(wanted.power, wanted.torque * wanted.speed)
    if wish.plus == 0 and short(has, takes):
        return (*_need_of_power(sizing, takes), f"; {_MORE_POWER}")
    low, high = _window(rig, sizing)
    if low > high:
        return _excluded((low, high), alone=len(sizing.demand.needs) < 2)
    gains = {
        gain
        for item in rig.catalogue.items.values()
        if item.kind == "gear-stage"
        for offer in item.ratios
        for gain in (offer.ratio.value, 1 / offer.ratio.value)
    }
    if not any(True for _ in gains_within(gains, low, high, sizing.most)):
        return _no_such_ratio(gains, (low, high), sizing.most)
    if sizing.failed:
        return _failed(sizing)
    start = f"{_between((low, high))}, and there are chains of up to {sizing.most} stages"
    if not sizing.complete:
        return (f"{start}; the search stopped at its bound and found none that holds",)
    kinds = {item.kind for item in rig.catalogue.items.values()}
    sides = f", in one line and in up to {MOST_LINES} side by side" if {"splitter", "combiner"} <= kinds else ""
    return (f"{start}, but each carries more than its grades may{sides}, or loses too much",)


def gains_within(
    gains: Iterable[Fraction], low: Fraction, high: Fraction, most: int
) -> Iterator[tuple[Fraction, ...]]:
    """Every choice of at most ``most`` gains (one may come again) whose product lies within the bounds.

    Each is in rising order; the empty choice, whose product is 1, is one of them.
    """
    ordered = sorted(set(gains) - {Fraction(1)})
    if low <= 1 <= high:
        yield ()
    if most > 0 and ordered:
        yield from _more_gains(ordered, (low, high), (), Fraction(1), (0, most))


def _more_gains(
    ordered: Sequence[Fraction],
    bounds: tuple[Fraction, Fraction],
    chosen: tuple[Fraction, ...],
    so_far: Fraction,
    state: tuple[int, int],
) -> Iterator[tuple[Fraction, ...]]:
    """One to ``room`` more gains from place ``start`` on; the last of them is looked up, not tried."""
    start, room = state
    low, high = bounds
    first = max(start, bisect_left(ordered, low / so_far))
    for at in range(first, bisect_right(ordered, high / so_far)):
        yield (*chosen, ordered[at])
    if room == 1:
        return
    top = max(Fraction(1), ordered[-1])
    for at in range(start, len(ordered)):
        gain = ordered[at]
        if gain >= 1 and so_far * gain > high:
            return  # this one and all after it only make it larger
        if so_far * gain * top ** (room - 1) >= low:
            yield from _more_gains(ordered, bounds, (*chosen, gain), so_far * gain, (at, room - 1))


def _need_of_power(sizing: Sizing, takes: float) -> Text:
    line, wanted = sizing.line, sizing.wanted
    words: list[str | Measure] = ["no ratio helps: ", torque(line.torque), " at ", turning(line.speed), " are "]
    words.append(power(line.torque * line.speed))
    reaching = sizing.wish.by * sizing.wish.turns
    if short(reaching, 1.0):
        words += [", of which ", power(line.torque * line.speed * reaching), " reach it"]
    if wanted.power >= takes:
        return (*words, ", and it needs ", power(takes))
    return (*words, ", and ", torque(wanted.torque), " at ", turning(wanted.speed), " take ", power(takes))


def _window(rig: SolvedRig, sizing: Sizing) -> tuple[Fraction, Fraction]:
    """The least and greatest times that the stages may make the speed, losses at their best."""
    line, demand, wanted = sizing.line, sizing.demand, sizing.wanted
    kept = [rig.parts[number] for number in line.parts if number not in line.stages]
    factors = (1.0 if part.ratio is None else part.ratio.factor for part in kept)
    turned = math.prod(1 / f if part.direction == "reduce" else f for f, part in zip(factors, kept, strict=True))
    speed, has = line.speed * turned, line.torque / turned
    slowest = max([demand.speed[0], wanted.speed / sizing.wish.turns, *(n.speed / n.turns for n in demand.needs)])
    low, high = slowest / speed, demand.speed[1] / speed
    for need in demand.needs:
        if short(need.plus, need.torque):
            high = min(high, has * need.by / (need.torque - need.plus))
    items = rig.catalogue.items.values()
    if demand.torque[1] < ENDLESS and all(item.efficiency == 1.0 for item in items):
        low = max(low, has / demand.torque[1])
    return Fraction(low) * Fraction(1 - EQUAL), Fraction(min(high, 1e60)) * Fraction(1 + EQUAL)


def _excluded(bounds: tuple[Fraction, Fraction], *, alone: bool) -> Text:
    low, high = bounds
    needs = "its needs" if alone else "its needs, those of what else the line leads to"
    return (
        f"{needs} and the limits of the line exclude each other: the speed must become at least ",
        times(float(low)),
        " times what it is, and may become at most ",
        times(float(high)),
        " times that",
    )


def _no_such_ratio(gains: set[Fraction], bounds: tuple[Fraction, Fraction], most: int) -> Text:
    """The ratios on either side of the bounds, and the smallest tooth counts that would do."""
    low, high = bounds
    none = "the catalogue has no stage that changes speed" if gains <= {Fraction(1)} else ""
    words = f"{_between(bounds)}, and {none or f'no chain of up to {most} stages of the catalogue has such a ratio'}"
    near: list[Fraction] = []
    for chosen in gains_within(gains, low / 2, high * 2, most):
        near.append(math.prod(chosen, start=Fraction(1)))
        if len(near) == _MOST_NEAR:
            return (words,)
    below = max((gain for gain in near if gain < low), default=None)
    above = min((gain for gain in near if gain > high), default=None)
    nearest = [words_of_gain(gain) for gain in (below, above) if gain is not None]
    if nearest:
        words += f"; the nearest are {' and '.join(nearest)}"
    would = _simplest_stage(low, high)
    return (f"{words}; a stage {words_of_gain(would)} would be within that",)


def _simplest_stage(low: Fraction, high: Fraction) -> Fraction:
    """The gain of the one stage with the smallest tooth counts within bounds, both above 1 or both below."""
    if low > 1:
        return simplest_between(low, high)
    slowest = 1 / low if low > 0 else Fraction(math.ceil(1 / high))  # without a least speed the next whole ratio does
    return 1 / simplest_between(1 / high, slowest)


def _between(bounds: tuple[Fraction, Fraction]) -> str:
    low, high = bounds
    if not low:
        return f"the speed must become at most {float(high):.4g} times what it is"
    if high > 10**50:
        return f"the speed must become at least {float(low):.4g} times what it is"
    return f"the speed must become {float(low):.4g} to {float(high):.4g} times what it is"


def words_of_gain(gain: Fraction | None) -> str:
    """An overall ratio in words: `increasing 5 : 1`, `reducing 5/2 : 1`, `1 : 1`."""
    if gain is None or gain == 1:
        return "1 : 1"
    ratio = gain if gain > 1 else 1 / gain
    exact = str(ratio) if len(str(ratio)) <= 15 else f"{float(ratio):.6g}"
    return f"{'increasing' if gain > 1 else 'reducing'} {exact} : 1"


def _failed(sizing: Sizing) -> Text:
    count = len(sizing.failed)
    chain, finding = sizing.failed[0]
    chains = f"{count} chains do" if count > 1 else "one chain does"
    each = "each brings" if count > 1 else "it brings"
    more = "" if sizing.complete else " (more were not tried)"
    if finding is None:
        return (f"{chains} by the numbers{more}, but the file cannot be changed so where it stands: {chain.words}",)
    part = f" at {finding.part}" if finding.part else ""
    return (f"{chains} by the numbers{more}, but {each} a finding: {chain.words} brings {finding.rule}{part}",)
