"""A chart of lines as an SVG element: told apart by dashes, marks and the names at their ends, not by colour."""

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple
from xml.etree import ElementTree as ET

from lineshaft.write.drawing.ink import coordinate, write_text
from lineshaft.write.drawing.spacing import settled
from lineshaft.write.drawing.text_width import shortened, text_width
from lineshaft.write.escape import xml_text
from lineshaft.write.plots.scale import Scale, marks
from lineshaft.write.shown_units import figures

WIDTH, HEIGHT = 640.0, 300.0
MOST_SERIES = 6
_LEFT, _TOP, _BOTTOM = 64.0, 30.0, 46.0
_NAMES = 170.0
_SIZE = 12.0
_DASHES = ("", "9 4", "3 3", "12 4 3 4", "6 2", "2 5")
_SHAPES = (
    "m-3.5 -3.5h7v7h-7z",
    "m0 -4.5l4.5 4.5l-4.5 4.5l-4.5 -4.5z",
    "m0 -4.5l4.2 8h-8.4z",
    "m0 4.5l4.2 -8h-8.4z",
    "m-4 0a4 4 0 1 0 8 0a4 4 0 1 0 -8 0z",
    "m-1.2 -4h2.4v2.8h2.8v2.4h-2.8v2.8h-2.4v-2.8h-2.8v-2.4h2.8z",
)

Point = tuple[float, float]


class Series(NamedTuple):
    """A named line; it is broken where a point is none."""

    name: str
    points: Sequence[Point | None]


class Chart(NamedTuple):
    """What a chart shows.

    ``limit`` is a level with its name, ``upright`` a value across with its name, ``dot`` one point to point out.
    ``bounds`` are further values across, a need or a limit, with their names.
    ``names`` stand along the axis in place of numbers, at 0, 1, 2 and so on. ``shown`` words the marks upwards.
    """

    title: str
    description: str
    across: str
    up: str
    series: Sequence[Series]
    limit: tuple[float, str] | None = None
    upright: tuple[float, str] | None = None
    names: Sequence[str] = ()
    dot: Point | None = None
    shown: Callable[[float], str] = figures
    bounds: Sequence[tuple[float, str]] = ()


def chart(what: Chart, name: str) -> ET.Element:
    """The chart; ``name`` begins the ids of its title and description, which must be its own on the page."""
    page = ET.Element("svg", {"role": "img", "class": "ls-drawing ls-chart"})
    page.set("viewBox", f"0 0 {coordinate(WIDTH)} {coordinate(HEIGHT)}")
    page.attrib.update({"width": coordinate(WIDTH), "height": coordinate(HEIGHT)})
    page.set("aria-labelledby", f"{name}-title {name}-desc")
    ET.SubElement(page, "title", {"id": f"{name}-title"}).text = xml_text(what.title)
    ET.SubElement(page, "desc", {"id": f"{name}-desc"}).text = xml_text(what.description)
    across, up = _scales(what)
    _axes(page, what, across, up)
    for number, series in enumerate(what.series[:MOST_SERIES]):
        _line(page, number, series, across, up)
    if what.dot is not None:
        centre = {"cx": coordinate(across.at(what.dot[0])), "cy": coordinate(up.at(what.dot[1]))}
        ET.SubElement(page, "circle", {"class": "bar", "r": "6", **centre})
    _names(page, what.series[:MOST_SERIES], up, across.end + 10)
    return page


def across_scale(low: float, high: float) -> Scale:
    """The scale across a chart of values from ``low`` to ``high``."""
    if low == high:
        low, high = low - 0.5, high + 0.5
    return Scale(low, high, _LEFT, WIDTH - _NAMES)


def _scales(what: Chart) -> tuple[Scale, Scale]:
    points = [point for series in what.series for point in series.points if point is not None]
    xs = [x for x, _ in points] + ([what.upright[0]] if what.upright else []) + [value for value, _ in what.bounds]
    if what.names:
        xs = [0.0, len(what.names) - 1.0]
    ys = [0.0, *(y for _, y in points), *([what.limit[0]] if what.limit else [])]
    low, high = (min(xs), max(xs)) if xs else (0.0, 1.0)
    top = max(ys) * 1.08 or 1.0
    return across_scale(low, high), Scale(0.0, top, HEIGHT - _BOTTOM, _TOP)


def _axes(page: ET.Element, what: Chart, across: Scale, up: Scale) -> None:
    heights = [up.at(value) for value in marks(up.low, up.high, 5)]
    rules = [_rule(across.start, y, across.end, y) for y in heights]
    places = list(_named_marks(page, what.names, across, up) if what.names else _marks(page, across, up))
    rules += [_rule(x, up.start, x, up.start + 5) for x in places]
    ET.SubElement(page, "path", {"class": "grid", "d": "".join(rules)})
    for value, y in zip(marks(up.low, up.high, 5), heights, strict=True):
        write_text(page, 8, y + 4, what.shown(value), "soft")
    write_text(page, 8, 16, shortened(xml_text(what.up), across.end, _SIZE), "strong")
    write_text(page, across.start, HEIGHT - 8, shortened(xml_text(what.across), across.end, _SIZE), "strong")
    if what.limit is not None:
        y = up.at(what.limit[0])
        ET.SubElement(page, "path", {"class": "limit", "d": _rule(across.start, y, across.end, y)})
        write_text(page, across.start + 4, y - 4, xml_text(what.limit[1]))
    for number, (value, said) in enumerate(what.bounds):
        x = across.at(value)
        ET.SubElement(page, "path", {"class": "limit", "d": _rule(x, up.start, x, up.end + 14)})
        text = shortened(xml_text(said), 150, _SIZE)
        beside = text_width(text, _SIZE)
        write_text(page, x + 4 if x + 4 + beside < across.end else x - 4 - beside, up.end + 26 + 16 * number, text)
    if what.upright is not None:
        x = across.at(what.upright[0])
        ET.SubElement(page, "path", {"class": "upright", "d": _rule(x, up.start, x, up.end)})
        text = shortened(xml_text(what.upright[1]), 150, _SIZE)
        width = text_width(text, _SIZE)
        write_text(page, x + 4 if x + 4 + width < across.end else x - 4 - width, up.end + 10, text)


def _marks(page: ET.Element, across: Scale, up: Scale) -> Iterator[float]:
    """Numbers along the axis; gives the places of their strokes."""
    for value in marks(across.low, across.high, 6):
        text = figures(value)
        write_text(page, across.at(value) - text_width(text, _SIZE) / 2, up.start + 18, text, "soft")
        yield across.at(value)


def _named_marks(page: ET.Element, names: Sequence[str], across: Scale, up: Scale) -> Iterator[float]:
    """Names in place of numbers along the axis, each cut to its room; where there is too little, their numbers."""
    room = (across.end - across.start) / max(1, len(names) - 1) - 6
    for number, name in enumerate(names):
        x = across.at(number)
        text = shortened(xml_text(name), room, _SIZE) if room >= 40 else str(number + 1)
        left = min(max(across.start - 8, x - text_width(text, _SIZE) / 2), across.end - room / 2)
        if room >= 16 or number % 5 == 4:
            write_text(page, left, up.start + 18, text, "soft")
        yield x


def _line(page: ET.Element, number: int, series: Series, across: Scale, up: Scale) -> None:
    runs: list[list[Point]] = [[]]
    for point in series.points:
        if point is None:
            runs.append([])
        else:
            runs[-1].append((across.at(point[0]), up.at(point[1])))
    line, dots = "", ""
    for run in filter(None, runs):
        line += "M" + "L".join(f"{coordinate(x)} {coordinate(y)}" for x, y in run)
        dots += "".join(f"M{coordinate(x)} {coordinate(y)}{_SHAPES[number]}" for x, y in run[:: max(1, len(run) // 8)])
    curve = ET.SubElement(page, "path", {"class": "curve", "d": line})
    if _DASHES[number]:
        curve.set("stroke-dasharray", _DASHES[number])
    ET.SubElement(page, "path", {"class": "dot", "d": dots})


def _names(page: ET.Element, series: Sequence[Series], up: Scale, left: float) -> None:
    """The names at the ends of the lines, pushed apart where they would overlap."""
    ends = [next((point[1] for point in reversed(one.points) if point is not None), 0.0) for one in series]
    order = sorted(range(len(series)), key=lambda number: (-ends[number], number))
    rows = settled([up.at(ends[number]) for number in order], [_SIZE + 4] * len(order), 0.0)
    for number, y in zip(order, rows, strict=True):
        ET.SubElement(page, "path", {"class": "dot", "d": f"M{coordinate(left + 5)} {coordinate(y)}{_SHAPES[number]}"})
        write_text(page, left + 14, y + 4, shortened(xml_text(series[number].name), _NAMES - 30, _SIZE))


def _rule(x1: float, y1: float, x2: float, y2: float) -> str:
    """A straight line as a piece of a path."""
    return f"M{coordinate(x1)} {coordinate(y1)}L{coordinate(x2)} {coordinate(y2)}"
