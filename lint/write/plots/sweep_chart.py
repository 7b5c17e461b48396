"""A sweep as a chart: the limits that come nearest to breaking, against the setting."""

from collections.abc import Iterator, Sequence
from xml.etree import ElementTree as ET

from lineshaft.check.finding import Measure
from lineshaft.report_model.record import Crossing, ShareCurve, Sweep
from lineshaft.write.drawing.style import CHART_STYLE, COLOURS, PRINTED, STYLE
from lineshaft.write.plots.chart import MOST_SERIES, Chart, Point, Series, chart
from lineshaft.write.plots.window_strip import window_words, with_window_above
from lineshaft.write.shown_units import Units, axis, measure

_FULL = 1 + 1e-9
"""A part that carries exactly its limit holds."""
_NAMED = 4
CONDITIONS = {"torque": "torque limit", "speed": "speed limit", "needs": "what it needs"}


def shown(swept: Sweep, value: float, units: Units = "si") -> str:
    """A value of the setting with its unit."""
    return measure(Measure(value, swept.setting.unit), units)


def first_to_break(swept: Sweep, units: Units = "si") -> str:
    """What happens first as the setting rises, in one sentence without its full stop.

    That is what breaks, or the machine that starves, or what is so from the first value on.
    """
    low, high = (shown(swept, value, units) for value in (swept.values[0], swept.values[-1]))
    said = []
    if swept.broken:
        said.append(f"at {low} already over a limit: {_some([f'{part} ({what})' for part, what in swept.broken])}")
    first = next(iter(swept.crossings), None)
    if swept.starved:
        when = f"at {low} already" if first is not None else f"from {low} to {high}"
        said.append(f"{when} short of what is needed: {_some(swept.starved)}")
    if swept.broken:
        return "; ".join(said)
    nothing = "nothing breaks" if said else f"nothing breaks from {low} to {high}"
    if first is None:
        found = [_over_alone(swept, units) or nothing]
    else:  # where a machine starts to run first, the window ends at what breaks
        ends = next((one for one in swept.crossings if one.rises), None)
        found = [_turn(swept, one, units) for one in dict.fromkeys((first, ends)) if one is not None]
    return "; ".join([*said, *found]) + _unsolved(swept)


def _turn(swept: Sweep, one: Crossing, units: Units) -> str:
    """What turns over, for example `pole breaks first: its torque limit holds at 3.67 m and not at 3.671 m`."""
    if one.rises:
        verb = "starves" if one.condition == "needs" else "breaks"
        return f"{one.part} {verb} first: {crossing_words(swept, one, units)}"
    what = "gets what it needs" if one.condition == "needs" else f"keeps to its {CONDITIONS[one.condition]}"
    own = (span.holds for span in swept.spans if (span.part, span.condition) == (one.part, one.condition))
    last = next((high for ranges in own for low, high in ranges if low == one.holds), swept.values[-1])
    at = shown(swept, one.holds, units)
    if last == swept.values[-1]:
        return f"{one.part} {what} from {at} on"
    to = "" if last == one.holds else f" to {shown(swept, last, units)}"
    return f"{one.part} {what} {'from' if to else 'at'} {at}{to}"


def _some(names: Sequence[str]) -> str:
    more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
    return ", ".join(names[:_NAMED]) + more


def _over_alone(swept: Sweep, units: Units) -> str | None:
    """A limit that is passed at a value whose neighbours have no solution, so that no crossing was looked for."""
    for at, value in enumerate(swept.values):
        for curve in swept.curves:
            share = curve.shares[at]
            if share is not None and share > _FULL:
                return f"{curve.part} is over its {curve.quantity} limit at {shown(swept, value, units)}"
    return None


def _unsolved(swept: Sweep) -> str:
    count = swept.unsolved
    return f"; at {count} of {len(swept.values)} values not every part can be solved" if count else ""


def crossing_words(swept: Sweep, one: Crossing, units: Units = "si") -> str:
    """For example `its torque limit holds at 3.67 m and not at 3.671 m`."""
    begin = "it gets what it needs" if one.condition == "needs" else f"its {CONDITIONS[one.condition]} holds"
    return f"{begin} at {shown(swept, one.holds, units)} and not at {shown(swept, one.fails, units)}"


def sweep_chart(swept: Sweep, name: str, units: Units = "si") -> ET.Element:
    """The chart: the curves that reach highest, a line at the limit, the rig's own setting upright."""
    unit, factor = axis(swept.setting.unit, units)
    curves = _equal_as_one(swept.curves)
    kept = sorted(curves, key=lambda named: _reach(named[1]), reverse=True)[:MOST_SERIES]
    setting = f"{swept.setting.part}.{swept.setting.key}"
    series = [Series(name, list(_points(swept, curve, factor))) for name, curve in kept]
    left_out = len(curves) - len(kept)
    said = f"{window_words(swept, units)}; {first_to_break(swept, units)}.".replace("\u00a0", " ")
    said += f" {left_out} lower curves are left out." if left_out else ""
    own = swept.declared
    inside = own is not None and swept.values[0] <= own <= swept.values[-1]
    upright = (own * factor, f"as declared: {shown(swept, own, units)}") if own is not None and inside else None
    title = f"Operating window of {setting}"
    across = setting if swept.setting.key == "ratio" else f"{setting} [{unit}]"
    plot = chart(Chart(title, said, across, "share of limit [%]", series, (100.0, "limit"), upright), name)
    return with_window_above(plot, swept, factor, units)


def _equal_as_one(curves: Sequence[ShareCurve]) -> list[tuple[str, ShareCurve]]:
    """Curves of equal shares as one, with the names of all."""
    found: dict[tuple[float | None, ...], list[ShareCurve]] = {}
    for curve in curves:
        key = tuple(None if share is None else float(f"{share:.9g}") for share in curve.shares)
        found.setdefault(key, []).append(curve)
    return [(_some([f"{one.part} ({one.quantity})" for one in same]), same[0]) for same in found.values()]


def sweep_svg(swept: Sweep, units: Units = "si") -> bytes:
    """The chart as a file of its own, UTF-8."""
    page = sweep_chart(swept, "sweep", units)
    page.set("xmlns", "http://www.w3.org/2000/svg")
    style = ET.Element("style")
    style.text = COLOURS + PRINTED + STYLE + CHART_STYLE
    page.set("class", "ls-drawing ls-chart ls-sheet")
    style.text += f".ls-sheet{{width:100%;height:auto;max-width:{page.get('width')}px}}"
    page.insert(2, style)
    page.insert(3, ET.Element("rect", {"class": "paper", "width": "100%", "height": "100%"}))
    ET.indent(page, " ")
    text: bytes = ET.tostring(page, encoding="utf-8", xml_declaration=True)
    return text + b"\n"


def _reach(curve: ShareCurve) -> float:
    return max((share for share in curve.shares if share is not None), default=0.0)


def _points(swept: Sweep, curve: ShareCurve, factor: float) -> Iterator[Point | None]:
    for value, share in zip(swept.values, curve.shares, strict=True):
        yield None if share is None else (value * factor, share * 100)
