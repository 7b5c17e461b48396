"""The curves of one rig: shares of limits along its lines, machines at their working points, heads swept."""

from collections.abc import Callable, Iterator
from typing import NamedTuple
from xml.etree import ElementTree as ET

from markupsafe import Markup

from lineshaft.check.finding import Measure
from lineshaft.report_model.record import Line, LinePoint, MachineCurve, ReportModel
from lineshaft.write.html_report.pictures import image, inline
from lineshaft.write.plots.chart import Chart, Series, chart
from lineshaft.write.plots.sweep_chart import first_to_break, sweep_chart
from lineshaft.write.shown_units import Units, axis, figures, hourly, measure


class Most(NamedTuple):
    """How many lines and machines of a rig get a curve; how still pictures are put in; how many frames a film has."""

    lines: int
    machines: int
    still: Callable[[ET.Element], Markup]
    frames: int


FULL = Most(2, 3, inline, 40)
BRIEF = Most(1, 1, image, 0)
"""For a report on so many files that its size counts."""


class Picture(NamedTuple):
    """A chart and what it shows, in words."""

    picture: Markup
    caption: str


def pictures(found: ReportModel, name: str, most: Most, units: Units) -> Iterator[Picture]:
    """The charts of a rig; ``name`` begins their ids."""
    for number, line in enumerate(_curved(found)[:most.lines]):
        yield _picture(_along(line), f"{name}-line-{number}", most)
    for number, machine in enumerate(found.machines[:most.machines]):
        yield _picture(_machine(machine, units), f"{name}-machine-{number}", most)
    for number, swept in enumerate(found.sweeps):
        setting = f"{swept.setting.part}.{swept.setting.key}"
        caption = f"Sweep of {setting}: {first_to_break(swept, units)}."
        yield Picture(most.still(sweep_chart(swept, f"{name}-sweep-{number}", units)), caption)


def left_out(found: ReportModel, most: Most) -> str:
    """What is not shown, so that nobody takes silence for a clean line."""
    words = []
    more = len(_curved(found)) - most.lines
    if more > 0:
        words.append(f"{more} more line{'s' if more > 1 else ''}, further from any limit, not drawn")
    more = len(found.machines) - most.machines
    if more > 0:
        words.append(f"the rates of {more} more machine{'s' if more > 1 else ''} not drawn")
    if found.unswept:
        words.append(f"{found.unswept} more heads not swept: see lineshaft sweep")
    return "; ".join(words)


def _curved(found: ReportModel) -> list[Line]:
    """The lines with limits at two parts or more: of fewer there is no curve."""
    return [line for line in found.lines if sum(_limited(point) for point in line.points) > 1]


def _limited(point: LinePoint) -> bool:
    return point.torque_share is not None or point.speed_share is not None


def _picture(what: Chart, name: str, most: Most) -> Picture:
    return Picture(most.still(chart(what, name)), f"{what.title}: {what.description}")


def _along(line: Line) -> Chart:
    names = [point.part for point in line.points]
    torques = [None if p.torque_share is None else (float(n), p.torque_share * 100) for n, p in enumerate(line.points)]
    speeds = [None if p.speed_share is None else (float(n), p.speed_share * 100) for n, p in enumerate(line.points)]
    series = [Series("torque", torques), Series("speed", speeds)]
    worst = max(line.points, key=lambda point: max(point.torque_share or 0.0, point.speed_share or 0.0))
    share = max(worst.torque_share or 0.0, worst.speed_share or 0.0)
    said = f"the largest share is {figures(share * 100)} %, at {worst.part}"
    title = f"Along the line to {line.end}" + (f", {line.when}" if line.when else "")
    return Chart(title, said, "parts in driving order", "share of limit [%]", series, (100.0, "limit"), names=names)


def _machine(one: MachineCurve, units: Units) -> Chart:
    many = f" and {len(one.parts) - 3} more" if len(one.parts) > 3 else ""
    who = ", ".join(one.parts[:3]) + many
    speed = measure(Measure(one.speed, "rad/s"), units)
    unit, factor = axis("rad/s", units)
    here = one.speed * factor
    said = hourly(one.rate, f" {one.unit}s an hour") + ("" if one.rate is None else f" at {speed}")
    does = "works" if one.rate else "stalled"
    upright = (here, f"{does} at {speed}") if one.rate is not None else None
    dot = None if one.rate is None else (here, one.rate)
    series = [Series(one.item, [(at * factor, rate) for at, rate in one.curve])]
    ends = ((one.needs, "needs"), (one.limit, "limit"))
    bounds = [(v * factor, f"{name} {measure(Measure(v, 'rad/s'), units)}") for v, name in ends if v is not None]
    rate, across = f"{one.unit}s an hour", f"speed [{unit}]"
    return Chart(f"Rate of {who}", said, across, rate, series, None, upright, dot=dot, bounds=bounds)
