"""The operating window above a sweep's curves: a bar with both ends and their values, and rows of what holds where."""

from collections.abc import Sequence
from xml.etree import ElementTree as ET

from lineshaft.check.finding import Measure
from lineshaft.report_model.record import Sweep, SweepSpan, SweepWindow
from lineshaft.write.drawing.ink import coordinate, write_text
from lineshaft.write.drawing.text_width import shortened, text_width
from lineshaft.write.escape import xml_text
from lineshaft.write.plots.chart import HEIGHT, WIDTH, across_scale
from lineshaft.write.plots.scale import Scale
from lineshaft.write.shown_units import Units, measure

MOST_ROWS = 8
"""Machines and limits that have a row; the rest is counted."""
_SIZE = 12.0
_BAR, _ROW = 20.0, 18.0
_NAMES = 160.0
_NONE = "no machine works with every part within its limits"
_SOLVED, _UNSOLVED = "all is solved", "not all is solved"


def window_words(swept: Sweep, units: Units) -> str:
    """For example `works from 0.892 m, where saw starts, to 3.21 m, above which pole breaks (torque limit)`."""
    window = swept.window
    if window is None:
        return f"no window: {_NONE}"
    low, high = (_value(swept, value, units) for value in (window.low, window.high))
    start, end = _start(swept, window), _end(swept, window)
    limit = "" if window.condition in (None, "needs") else f" ({window.condition} limit)"
    where, above = f", where {start}," if start else "", f", above which {end}{limit}" if end else ""
    return f"works at {low}{where.rstrip(',')}{above}" if low == high else f"works from {low}{where} to {high}{above}"


def _start(swept: Sweep, window: SweepWindow) -> str:
    """What a window begins with; nothing where that is the first value."""
    if window.first is not None:
        return f"{window.first} {'starts' if window.begins == 'needs' else 'holds'}"
    return _SOLVED if window.low > swept.values[0] else ""


def _end(swept: Sweep, window: SweepWindow) -> str:
    """What a window ends with; nothing where that is the last value."""
    if window.breaks is not None:
        return f"{window.breaks} {'starves' if window.condition == 'needs' else 'breaks'}"
    return _UNSOLVED if window.high < swept.values[-1] else ""


def with_window_above(plot: ET.Element, swept: Sweep, factor: float, units: Units) -> ET.Element:
    """The chart with the window's bar and its rows above it."""
    page = ET.Element("svg", plot.attrib)
    scale = across_scale(swept.values[0] * factor, swept.values[-1] * factor)
    texts = [child for child in plot if child.tag in ("title", "desc")]
    page.extend(texts)
    write_text(page, 8, 16, "operating window", "strong")
    y = _bar(page, swept, scale, factor, units, 40.0)
    y = _rows(page, swept.spans, scale, factor, y)
    lower = ET.SubElement(page, "g", {"transform": f"translate(0 {coordinate(y + 8)})"})
    lower.extend([child for child in plot if child.tag not in ("title", "desc")])
    height = coordinate(y + 8 + HEIGHT)
    page.attrib.update({"height": height, "viewBox": f"0 0 {coordinate(WIDTH)} {height}"})
    return page


def _bar(page: ET.Element, swept: Sweep, scale: Scale, factor: float, units: Units, y: float) -> float:
    ends = {"x": coordinate(scale.start), "y": coordinate(y), "width": coordinate(scale.end - scale.start)}
    ET.SubElement(page, "rect", {"class": "outside", **ends, "height": coordinate(_BAR)})
    window = swept.window
    if window is None:
        write_text(page, scale.start + 6, y + 14, _NONE, "strong")
        return y + _BAR + 12
    left, right = scale.at(window.low * factor), scale.at(window.high * factor)
    inside = {"x": coordinate(left), "y": coordinate(y), "width": coordinate(max(right - left, 1.0))}
    ET.SubElement(page, "rect", {"class": "window", **inside, "height": coordinate(_BAR)})
    marks = [
        (left, _value(swept, window.low, units), _start(swept, window) or "works at the start"),
        (right, _value(swept, window.high, units), _end(swept, window) or "holds to the end"),
    ]
    cut = [shortened(xml_text(f"{value}: {what}"), 190, _SIZE, bold=True) for _, value, what in marks]
    wide = [text_width(text, _SIZE, bold=True) for text in cut]
    first = max(scale.start - 40, min(left - wide[0] / 2, right - wide[0]))
    second = min(max(right - wide[1] / 2, first + wide[0] + 14), WIDTH - wide[1] - 4)
    first = min(first, second - wide[0] - 14)
    for at, x, text in ((left, first, cut[0]), (right, second, cut[1])):
        ET.SubElement(page, "path", {"class": "limit", "d": f"M{coordinate(at)} {coordinate(y - 5)}v{_BAR + 10:g}"})
        write_text(page, max(4.0, x), y - 8, text.replace("\u00a0", " "), "strong")
    return y + _BAR + 12


def _rows(page: ET.Element, spans: Sequence[SweepSpan], scale: Scale, factor: float, y: float) -> float:
    """A row for each machine and each limit that fails somewhere: thick where it holds, a dotted line elsewhere."""
    for span in spans[:MOST_ROWS]:
        middle = y + 8
        line = f"M{coordinate(scale.start)} {coordinate(middle)}H{coordinate(scale.end)}"
        ET.SubElement(page, "path", {"class": "elsewhere", "d": line})
        for low, high in span.holds:
            left, right = scale.at(low * factor), scale.at(high * factor)
            size = {"x": coordinate(left), "y": coordinate(middle - 4), "width": coordinate(max(right - left, 1.0))}
            ET.SubElement(page, "rect", {"class": "bar", **size, "height": "8"})
        what = "works" if span.condition == "needs" else f"{span.condition} holds"
        write_text(page, scale.end + 10, middle + 4, shortened(xml_text(f"{span.part}: {what}"), _NAMES - 6, _SIZE))
        y += _ROW
    if len(spans) > MOST_ROWS:
        write_text(page, scale.start, y + 12, f"{len(spans) - MOST_ROWS} more rows are left out", "soft")
        y += _ROW
    return y


def _value(swept: Sweep, value: float, units: Units) -> str:
    return measure(Measure(value, swept.setting.unit), units).replace(" ", "\u00a0")
