"""Why no chain of stages does for a machine, in one line: what the bounds, the ratios, the grades or the rules say."""

from collections.abc import Sequence
from fractions import Fraction

from lineshaft.check.finding import Measure, Text, power, times, torque
from lineshaft.check.finding import speed as turning
from lineshaft.repair.chain_search import MOST_WAYS, gains_within, window
from lineshaft.repair.line.tooth_counts import simplest_between
from lineshaft.repair.machine_line import Place
from lineshaft.repair.size import Sizing
from lineshaft.solve.limits import short
from lineshaft.solve.solved_rig import SolvedRig


def why_none(rig: SolvedRig, sizing: Sizing) -> Text:
    """The reason, of a sizing that found nothing."""
    supply, wanted = sizing.supply, sizing.wanted
    has = supply.torque * supply.speed
    takes = max(wanted.power, wanted.torque * wanted.speed)
    if short(has, takes):
        return (*_need_of_power(sizing, takes), "; only a larger share or another prime mover helps")
    if not sizing.places:
        return ("what arrives is more than the parts at the start of the line may carry, wherever a chain stands",)
    windows = [_window(sizing, place) for place in sizing.places]
    possible = [(low, high) for low, high in windows if low <= high]
    if not possible:
        return _excluded(windows[0])
    bounds = (min(low for low, _ in possible), max(high for _, high in possible))
    gains = {stage.gain for stage in sizing.offers.stages}
    most = sizing.offers.most
    if not any(True for low, high in possible for _ in gains_within(gains, low, high, most)):
        return _no_such_ratio(gains, bounds, most)
    if sizing.failed:
        return _failed(sizing)
    lines = f", in one line and in up to {MOST_WAYS} side by side" if sizing.offers.branchings else ""
    start = f"{_between(bounds)} there are chains of up to {most} stages, but each carries more than its grades may"
    return (f"{start}{lines}, or loses too much",)


def _need_of_power(sizing: Sizing, takes: float) -> Text:
    supply, wanted = sizing.supply, sizing.wanted
    words: list[str | Measure] = ["no ratio helps: ", torque(supply.torque), " at ", turning(supply.speed), " are "]
    words.append(power(supply.torque * supply.speed))
    if wanted.power >= takes:
        return (*words, ", and it needs ", power(takes))
    return (*words, ", and ", torque(wanted.torque), " at ", turning(wanted.speed), " take ", power(takes))


def _window(sizing: Sizing, place: Place) -> tuple[Fraction, Fraction]:
    offers = sizing.offers
    return window(offers.stages, offers.branchings, place.supply, place.wanted, offers.most)


def _excluded(bounds: tuple[Fraction, Fraction]) -> Text:
    low, high = bounds
    return (
        "its needs and the limits of the line exclude each other: the speed must become at least ",
        times(float(low)),
        " times what it is, and may become at most ",
        times(float(high)),
        " times that",
    )


def _no_such_ratio(gains: set[Fraction], bounds: tuple[Fraction, Fraction], most: int) -> Text:
    """The ratios on either side of the bounds, and the smallest tooth counts that would do."""
    low, high = bounds
    words = f"{_between(bounds)}, and no chain of up to {most} stages of the catalogue has such a ratio"
    near = [_product(chosen) for chosen in gains_within(gains, low / 2, high * 2, most)]
    below = max((gain for gain in near if gain < low), default=None)
    above = min((gain for gain in near if gain > high), default=None)
    nearest = [words_of_gain(gain) for gain in (below, above) if gain is not None]
    if nearest:
        words += f"; the nearest are {' and '.join(nearest)}"
    would = simplest_between(low, high) if low >= 1 else 1 / simplest_between(1 / high, 1 / low) if high <= 1 else None
    return (f"{words}; a stage {words_of_gain(would)} would do" if would not in (None, 1) else words,)


def _between(bounds: tuple[Fraction, Fraction]) -> str:
    low, high = bounds
    if high > 10**50:
        return f"the speed must become at least {float(low):.4g} times what it is"
    return f"the speed must become {float(low):.4g} to {float(high):.4g} times what it is"


def _product(chosen: Sequence[Fraction]) -> Fraction:
    made = Fraction(1)
    for gain in chosen:
        made *= gain
    return made


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
    more = "" if sizing.all_tried else " (more were not tried)"
    if finding is None:
        return (f"{chains} by the numbers{more}, but the file cannot be changed so where it stands: {chain.words}",)
    part = f" at {finding.home[1]}" if finding.part else ""
    return (f"{chains} by the numbers{more}, but {each} a finding: {chain.words} brings {finding.rule}{part}",)
