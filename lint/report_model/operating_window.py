"""Where in a sweep machines get what they need and parts keep to their limits; and the window in which both is so.

The window is the first range in which a machine works and no part is over a limit.
"""

from collections.abc import Iterator, Mapping, Sequence

from lineshaft.report_model.record import Condition, Crossing, Sweep, SweepSpan, SweepWindow

Key = tuple[str, Condition]
Range = tuple[float, float]
States = Mapping[Key, bool]
"""Whether each condition fails at a value; what is not solved there, and a machine at rest, is left out."""


def with_window(found: Sweep, states: Sequence[States]) -> Sweep:
    """The sweep with its spans and its window; ``states`` are those of each of its values."""
    spans = tuple(_spans(found, states))
    return found._replace(spans=spans, window=_window(found, spans))


def _spans(found: Sweep, states: Sequence[States]) -> Iterator[SweepSpan]:
    """Of each machine, and each limit that does not hold everywhere, the ranges in which it holds; machines first."""
    turns: dict[Key, list[Crossing]] = {}
    for one in found.crossings:
        turns.setdefault((one.part, one.condition), []).append(one)
    known = dict.fromkeys(key for at in states for key in at)
    limits = dict.fromkeys(key for key in (*turns, *known) if key[1] != "needs")
    everywhere = {key for key in limits if all(at.get(key) is False for at in states)}
    machines = [key for key in known if key[1] == "needs"]
    for key in (*machines, *(key for key in limits if key not in everywhere)):
        yield SweepSpan(*key, tuple(_holds(found.values, [at.get(key) for at in states], turns.get(key, ()))))


def _holds(values: Sequence[float], fails: Sequence[bool | None], turns: Sequence[Crossing]) -> Iterator[Range]:
    """The ranges in which a condition holds: to its crossings, or to the last value that is solved."""
    turning = iter(sorted(turns, key=lambda one: max(one.holds, one.fails)))
    start: float | None = None
    before: bool | None = None
    for at, (value, failing) in enumerate(zip(values, fails, strict=True)):
        turned = None not in (before, failing) and before != failing
        turn = next(turning).holds if turned else None
        if failing is False and start is None:
            start = value if turn is None else turn
        elif failing is not False and start is not None:
            yield start, values[at - 1] if turn is None else turn
            start = None
        before = failing
    if start is not None:
        yield start, values[-1]


def _window(found: Sweep, spans: Sequence[SweepSpan]) -> SweepWindow | None:
    """None where at no value a machine works with every part within its limits."""
    machines = [span for span in spans if span.condition == "needs"]
    limits = [span for span in spans if span.condition != "needs"]
    starts = sorted({low for span in spans for low, _ in span.holds})
    low = next((at for at in starts if _to(machines, at) is not None and None not in _ends(limits, at)), None)
    if low is None:
        return None
    ends = [end for end in (_to(machines, low), *_ends(limits, low)) if end is not None]
    high = min(ends)
    turns = {(one.part, one.condition, one.holds, one.rises) for one in found.crossings}
    first = next((span for span in spans if (*span[:2], low, False) in turns), None)
    last = next((span for span in (*limits, *machines) if (*span[:2], high, True) in turns), None)
    begins, starts_with = (None, None) if first is None else first[:2]
    breaks, ends_with = (None, None) if last is None else last[:2]
    return SweepWindow(low, high, begins, breaks, ends_with, starts_with)


def _ends(spans: Sequence[SweepSpan], at: float) -> list[float | None]:
    """For each span where the range ends that a value is in; none where it does not hold there."""
    return [next((high for low, high in span.holds if low <= at <= high), None) for span in spans]


def _to(machines: Sequence[SweepSpan], at: float) -> float | None:
    """How far from a value on one machine or another works; none where none does there."""
    reached = None
    while True:
        further = max((end for end in _ends(machines, at) if end is not None), default=None)
        if further is None or further == reached:
            return reached
        reached = at = further
