"""Connections as they are drawn: as wide as their power, as dark as their torque, each with its head and label."""

from typing import NamedTuple
from xml.etree import ElementTree as ET

from lineshaft.check.finding import power, speed, torque
from lineshaft.report_model.schematic_record import Link, Node, Schematic
from lineshaft.write.drawing.geometry import Box, Points, Size
from lineshaft.write.drawing.ink import coordinate, write_text
from lineshaft.write.drawing.picture_words import shown
from lineshaft.write.drawing.text_width import shortened, text_width
from lineshaft.write.escape import xml_text
from lineshaft.write.shown_units import Units

TINTS = 5
THIN, WIDE = 2.0, 12.0
"""Width [px] of a line with no power, and of one with the most."""
_HEAD = 11.0
_LINE = 15.0
_TEXT = 12.0
_OUTLET = 120.0


class Label(NamedTuple):
    """What stands at a connection: the outlet where it is one of several, then torque, speed, power."""

    lines: tuple[str, ...]
    size: Size
    named: bool


class Scales(NamedTuple):
    """The most power [W] and torque [N*m] on any connection of a drawing."""

    power: float
    torque: float

    def width(self, link: Link) -> float:
        """How wide a connection is drawn [px]."""
        share = link.torque * link.speed / self.power if self.power > 0 else 0.0
        return THIN + (WIDE - THIN) * min(share, 1.0)

    def tint(self, link: Link) -> int:
        """How dark it is drawn, from 1 to 5: its torque in fifths of the largest."""
        share = link.torque / self.torque if self.torque > 0 else 0.0
        return min(TINTS, int(share * TINTS * (1 - 1e-9)) + 1)


def scales_of(schematic: Schematic) -> Scales:
    """The scales of a drawing."""
    most_power = max((link.torque * link.speed for link in schematic.links), default=0.0)
    return Scales(most_power, max((link.torque for link in schematic.links), default=0.0))


def label(link: Link, source: Node, units: Units, *, ring: bool) -> Label:
    """The label of a connection; of one that closes a ring, where it comes from."""
    lines = _carried(link, units)
    if link.outlet is not None:
        lines = [shortened(xml_text(link.outlet), _OUTLET, _TEXT, bold=True), *lines]
    if ring:
        lines = [shortened(f"from {xml_text(source.name)}", _OUTLET, _TEXT), "closes a ring"]
    width = max(text_width(line, _TEXT, bold=n == 0 and link.outlet is not None) for n, line in enumerate(lines))
    rows = len(lines) + len(lines) % 2  # half of them above a line that runs across
    return Label(tuple(lines), Size(round(width, 2), rows * _LINE), link.outlet is not None and not ring)


def _carried(link: Link, units: Units) -> list[str]:
    if not link.solved:
        return ["not solved"]
    if link.torque == 0 and link.speed == 0:
        return ["at rest"]
    each = (torque(link.torque), speed(link.speed), power(link.torque * link.speed))
    return [shown(one, units).replace("\u00a0", " ") for one in each]


def write_connection(group: ET.Element, link: Link, points: Points, scales: Scales, *, down: bool, path: bool) -> None:
    """A connection with its head; on the path to a break there is a second line on either side."""
    width = scales.width(link)
    still = link.solved and link.torque * link.speed == 0
    look = "unsolved" if not link.solved else "rest" if still else f"t{scales.tint(link)}"
    shaft = _route(_cut(points, down), down)
    if path:
        ET.SubElement(group, "path", {"class": "casing", "d": shaft, "stroke-width": coordinate(width + 9)})
        ET.SubElement(group, "path", {"class": "gap", "d": shaft, "stroke-width": coordinate(width + 4)})
    wire = {"class": f"wire {look}" + (" path" if path else ""), "d": shaft, "stroke-width": coordinate(width)}
    ET.SubElement(group, "path", wire)
    half = width / 2 + 4
    x, y = (coordinate(value) for value in points[-1])
    head = f"l-{coordinate(half)} -{_HEAD:g}h{coordinate(2 * half)}z"
    if not down:
        head = f"l-{_HEAD:g} -{coordinate(half)}v{coordinate(2 * half)}z"
    ET.SubElement(group, "path", {"class": f"arrow {'alarm' if path else look}", "d": f"M{x} {y}{head}"})


def _cut(points: Points, down: bool) -> Points:
    """The line without what its head covers."""
    x, y = points[-1]
    return (*points[:-1], (x, y - _HEAD + 1) if down else (x - _HEAD + 1, y))


def _route(points: Points, down: bool) -> str:
    """Straight along the rows, bent like an S between them."""
    x, y = points[0]
    text = f"M{coordinate(x)} {coordinate(y)}"
    for to_x, to_y in points[1:]:
        if abs(to_x - x) < 0.05 or abs(to_y - y) < 0.05:
            text += f"L{coordinate(to_x)} {coordinate(to_y)}"
        else:
            middle = coordinate((y + to_y) / 2 if down else (x + to_x) / 2)
            first = f"{coordinate(x)} {middle}" if down else f"{middle} {coordinate(y)}"
            last = f"{coordinate(to_x)} {middle}" if down else f"{middle} {coordinate(to_y)}"
            text += f"C{first} {last} {coordinate(to_x)} {coordinate(to_y)}"
        x, y = to_x, to_y
    return text


def write_label(group: ET.Element, one: Label, box: Box, *, down: bool) -> None:
    """Four lines at most; where the connection runs across, the first half above it and the rest below."""
    count = len(one.lines)
    upper = max(1, count // 2)
    for number, text in enumerate(one.lines):
        if down:
            base = box.middle - _LINE / 2 * count + 11.5 + _LINE * number
        elif number < upper:
            base = box.middle - 10 - _LINE * (upper - 1 - number)
        else:
            base = box.middle + 19 + _LINE * (number - upper)
        write_text(group, box.left, base, text, "strong" if one.named and number == 0 else "soft")
