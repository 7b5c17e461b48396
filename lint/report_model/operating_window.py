"""Where in a sweep machines get what they need and parts keep to their limits; and the window in which both is so.

The window begins where the first machine starts and ends where the first part breaks.
"""

from collections.abc import Sequence

from lineshaft.report_model.record import Condition, Crossing, Sweep, SweepSpan, SweepWindow

Key = tuple[str, Condition]


def with_window(found: Sweep) -> Sweep:
    """The sweep with its spans and its window."""
    spans = tuple(_spans(found))
    return found._replace(spans=spans, window=_window(found, spans))


def _spans(found: Sweep) -> list[SweepSpan]:
    """Of each machine, and of each limit that fails somewhere, the ranges in which it holds; machines first."""
    failing: set[Key] = {*found.broken, *((name, "needs") for name in found.starved)}
    turns: dict[Key, list[Crossing]] = {}
    for one in found.crossings:
        turns.setdefault((one.part, one.condition), []).append(one)
    machines: list[Key] = [(rate.part, "needs") for rate in found.rates]
    needs = [key for key in (*turns, *found.broken) if key[1] == "needs" and key not in machines]
    limits = [key for key in (*turns, *found.broken) if key[1] != "needs"]
    starved: list[Key] = [(name, "needs") for name in found.starved]
    keys = dict.fromkeys((*machines, *needs, *starved, *limits))
    return [SweepSpan(*key, _holds(found, turns.get(key, ()), key not in failing)) for key in keys]


def _holds(found: Sweep, turns: Sequence[Crossing], holds: bool) -> tuple[tuple[float, float], ...]:
    ranges: list[tuple[float, float]] = []
    start = found.values[0] if holds else None
    for one in sorted(turns, key=lambda one: max(one.holds, one.fails)):
        if one.rises and start is not None:
            ranges.append((start, one.holds))
            start = None
        elif not one.rises and start is None:
            start = one.holds
    if start is not None:
        ranges.append((start, found.values[-1]))
    return tuple(ranges)


def _window(found: Sweep, spans: Sequence[SweepSpan]) -> SweepWindow | None:
    """None where no machine works before a part breaks."""
    starts = [(span.holds[0][0], span.part) for span in spans if span.condition == "needs" and span.holds]
    if not starts:
        return None
    low, first = min(starts, key=lambda pair: pair[0])
    ends = []
    for span in spans:
        if span.condition != "needs":
            inside = next((high for lower, high in span.holds if lower <= low <= high), None)
            if inside is None:
                return None
            ends.append((inside, span.part, span.condition))
    high, part, condition = min(ends, key=lambda end: end[0], default=(found.values[-1], None, None))
    begins = low > found.values[0]
    breaks = high < found.values[-1]
    return SweepWindow(low, high, first if begins else None, part if breaks else None, condition if breaks else None)
