"""Lubricant circuits under a drawing: the press, the tank with its charge, the stages that it feeds."""

from collections.abc import Sequence
from xml.etree import ElementTree as ET

from lineshaft.check.finding import Measure
from lineshaft.report_model.schematic_record import DrawnCircuit
from lineshaft.write.drawing.ink import coordinate, write_text
from lineshaft.write.drawing.marks import Mark, Marks
from lineshaft.write.drawing.picture_words import shown
from lineshaft.write.drawing.signs import write_sign
from lineshaft.write.drawing.text_width import shortened, text_width, wrapped
from lineshaft.write.escape import xml_text
from lineshaft.write.shown_units import Units, duration

_PILL = 26.0
_TANK = 216.0
_GAP = 30.0
_LINE = 16.0
_TEXT = 12.0
_NAME = 150.0


def write_circuits(
    page: ET.Element, circuits: Sequence[DrawnCircuit], marks: Marks, left: float, y: float, width: float, units: Units
) -> float:
    """Each circuit in a row of its own; where the page goes on."""
    if circuits:
        write_text(page, left, y + 14, "Lubricant circuits", "strong")
        y += 26
    for circuit in circuits:
        y = _circuit(page, circuit, marks.circuits.get(circuit.name, ()), left, y, left + width, units) + 14
    return y


def _circuit(
    page: ET.Element, one: DrawnCircuit, marks: Sequence[Mark], left: float, y: float, end: float, units: Units
) -> float:
    group = ET.SubElement(page, "g", {"class": "circuit"})
    ET.SubElement(group, "title").text = f"Circuit {xml_text(one.name)} of {xml_text(one.lubricant)}"
    lines = _tank_lines(one, units)
    signs = [(mark, wrapped(f"{mark.tag} {xml_text(mark.words)}", _TANK - 40, _TEXT, 4, bold=True)) for mark in marks]
    tall = 34 + _LINE * (len(lines) + sum(len(words) for _, words in signs)) + 8
    x = left
    if one.supplied_by is not None:
        x = _pill(group, f"supplied by {one.supplied_by}", x, y + 12)
        ET.SubElement(group, "path", {"class": "oil", "d": f"M{coordinate(x)} {coordinate(y + 25)}h{_GAP:g}"})
        x += _GAP
    look = "card" + (" broken" if any(mark.kind == "error" for mark in marks) else "")
    size = {"x": coordinate(x), "y": coordinate(y), "width": f"{_TANK:g}", "height": coordinate(tall), "rx": "10"}
    ET.SubElement(group, "rect", {"class": look, **size})
    _level(group, x + 10, y + 10, tall - 20, one.charge / one.holds if one.holds > 0 else 0.0)
    write_text(group, x + 32, y + 22, shortened(xml_text(one.name), _TANK - 42, 14, bold=True), "strong")
    base = y + 40
    for line in lines:
        write_text(group, x + 32, base, line, "soft")
        base += _LINE
    for mark, words in signs:
        write_sign(group, mark.kind, x + 32, base - 13, "alarm" if mark.kind == "error" else "")
        for line in words:
            write_text(group, x + 54, base, line.replace("\u00a0", " "), "strong")
            base += _LINE
    start = x + _TANK
    return max(y + tall, _feeds(group, one.feeds, start, y, end))


def _tank_lines(one: DrawnCircuit, units: Units) -> list[str]:
    holds, charge = shown(Measure(one.holds, "L"), units), shown(Measure(one.charge, "L"), units)
    gains, loses = shown(Measure(one.supply, "L/s"), units), shown(Measure(one.use, "L/s"), units)
    lasts = "does not run dry" if one.runs_dry_after is None else f"dry after {duration(one.runs_dry_after)}"
    text = (f"{xml_text(one.lubricant)}, {charge} of {holds}", f"gains {gains}, loses {loses}", lasts)
    return [line.replace("\u00a0", " ") for words in text for line in wrapped(words, _TANK - 42, _TEXT, 2)]


def _level(group: ET.Element, left: float, top: float, tall: float, share: float) -> None:
    """A gauge that stands as high as the tank is full."""
    filled = tall * min(share, 1.0)
    size = {"x": coordinate(left), "width": "12"}
    full = {"y": coordinate(top + tall - filled), "height": coordinate(filled)}
    ET.SubElement(group, "rect", {"class": "bar", **size, **full})
    ET.SubElement(group, "rect", {"class": "track", **size, "y": coordinate(top), "height": coordinate(tall)})


def _feeds(group: ET.Element, names: Sequence[str], start: float, y: float, end: float) -> float:
    """The parts that are fed, in rows behind the tank; where they end."""
    x, row = start + _GAP, y + 12
    for name in names:
        width = text_width(_short(name), _TEXT) + 20
        if x > start + _GAP and x + width > end:
            x, row = start + _GAP, row + _PILL + 8
        if x == start + _GAP:
            line = f"M{coordinate(start)} {coordinate(y + 25)}C{coordinate(start + 20)} {coordinate(y + 25)} "
            line += f"{coordinate(start + 10)} {coordinate(row + 13)} {coordinate(x)} {coordinate(row + 13)}"
            ET.SubElement(group, "path", {"class": "oil", "d": line})
        x = _pill(group, name, x, row) + 8
    return row + _PILL


def _pill(group: ET.Element, name: str, left: float, top: float) -> float:
    """A part's name in a rounded box; where it ends."""
    text = _short(name)
    width = round(text_width(text, _TEXT) + 20, 2)
    size = {"x": coordinate(left), "y": coordinate(top), "width": coordinate(width), "height": f"{_PILL:g}", "rx": "13"}
    ET.SubElement(group, "rect", {"class": "card", **size})
    write_text(group, left + 10, top + 17, text)
    return left + width


def _short(name: str) -> str:
    return shortened(xml_text(name), _NAME, _TEXT)
