"""A drawing as an SVG file of its own: heading, schematic, key, and the list of findings by their numbers."""

from collections.abc import Mapping, Sequence
from xml.etree import ElementTree as ET

from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.report_model.record import Node, Schematic
from lineshaft.write.drawing.cards import SMALLEST, TEXT_WIDTH, Mark, mark_kind, mark_words, share_words
from lineshaft.write.drawing.ink import coordinate, write_text
from lineshaft.write.drawing.style import COLOURS, STYLE
from lineshaft.write.drawing.svg import MARGIN, Drawing, body, laid_out, write_bar
from lineshaft.write.drawing.text_width import text_width, wrapped
from lineshaft.write.escape import xml_text
from lineshaft.write.shown_units import Units, words

_LEAST_WIDTH = 560.0
_LINE = 17.0
_DESCRIBED = 60  # parts that the description names one by one
_KEY = (
    "Bar: share of the limit; the stroke marks the limit. At each connection: torque, speed, power. "
    "Symbols: our own, after the manner of ISO 3952."
)


def svg_page(schematic: Schematic, findings: Sequence[JudgedFinding], units: Units = "si") -> bytes:
    """The drawing of a rig with its findings, UTF-8; the same bytes for the same rig."""
    drawing = laid_out(schematic, marks_of(findings), units)
    width = max(drawing.width, _LEAST_WIDTH)
    page = ET.Element("svg", {"xmlns": "http://www.w3.org/2000/svg", "role": "img", "class": "ls-drawing"})
    page.set("aria-labelledby", "drawing-title drawing-desc")
    ET.SubElement(page, "title", {"id": "drawing-title"}).text = f"Drawing of {_name(schematic)}"
    said = [description(drawing, findings, units), *(_listed(n, one, units) for n, one in enumerate(findings, 1))]
    ET.SubElement(page, "desc", {"id": "drawing-desc"}).text = " ".join(said)
    ET.SubElement(page, "style").text = COLOURS + STYLE
    paper = ET.SubElement(page, "rect", {"class": "paper"})
    y = _heading(page, schematic, width)
    group = body(drawing)
    group.set("transform", f"translate({coordinate((width - drawing.places.width) / 2)} {coordinate(y)})")
    page.append(group)
    y += drawing.places.height + 30
    y = _key(page, y, width)
    y = _list(page, findings, y, width, units)
    size = {"width": coordinate(width), "height": coordinate(y + MARGIN)}
    paper.attrib.update(size)
    page.attrib.update({**size, "viewBox": f"0 0 {size['width']} {size['height']}"})
    ET.indent(page, " ")
    text: bytes = ET.tostring(page, encoding="utf-8", xml_declaration=True)
    return text + b"\n"


def marks_of(findings: Sequence[JudgedFinding], target: str | None = None) -> Mapping[str, list[Mark]]:
    """The marks of findings at their parts, numbered from 1 in the list's order; linked to ``TARGET-number``."""
    marks: dict[str, list[Mark]] = {}
    for number, finding in enumerate(findings, 1):
        part = finding.home[1]
        if part is not None:
            where = None if target is None else f"{target}-{number}"
            mark = Mark(number, mark_kind(finding), where)
            marks.setdefault(part, []).append(mark)
    return marks


def description(drawing: Drawing, findings: Sequence[JudgedFinding], units: Units) -> str:
    """What the drawing says, in words: every part of a rig that is not too large, else the counts."""
    nodes = drawing.schematic.nodes
    many = f"{len(nodes)} parts from prime movers to machines, {len(findings)} findings."
    if len(nodes) > _DESCRIBED:
        return f"{many} Too many to name one by one: see `lineshaft trace`."
    parts = (f"{xml_text(node.name)} {_said(node, units)}" for node in nodes)
    return f"{many} {'; '.join(parts)}."


def _said(node: Node, units: Units) -> str:
    return f"({xml_text(node.item)}) {xml_text(words(node.does, units))}, {share_words(node)}"


def _name(schematic: Schematic) -> str:
    return xml_text(schematic.name or schematic.file)


def _heading(page: ET.Element, schematic: Schematic, width: float) -> float:
    y = 34.0
    for line in wrapped(_name(schematic), width - 2 * MARGIN, 18, 3, bold=True):
        write_text(page, MARGIN, y, line, "head")
        y += 24
    for line in wrapped(xml_text(schematic.file), width - 2 * MARGIN, SMALLEST, 3):
        write_text(page, MARGIN, y, line, "soft")
        y += _LINE
    return y + 8


def _key(page: ET.Element, y: float, width: float) -> float:
    write_bar(page, MARGIN, y - 9, 0.75)
    left = MARGIN + TEXT_WIDTH + 16
    for line in wrapped(_KEY, width - left - MARGIN, SMALLEST, 4):
        write_text(page, left, y, line, "soft")
        y += _LINE
    return y + 6


def _list(page: ET.Element, findings: Sequence[JudgedFinding], y: float, width: float, units: Units) -> float:
    """The findings by number, each wrapped to the page."""
    for number, finding in enumerate(findings, 1):
        head = mark_words(Mark(number, mark_kind(finding)))
        write_text(page, MARGIN, y, head, "strong")
        left = MARGIN + max(96.0, text_width(head, SMALLEST, bold=True) + 8)
        for line in wrapped(_told(finding, units), width - left - MARGIN, SMALLEST, 6):
            write_text(page, left, y, line)
            y += _LINE
        y += 4
    return y


def _listed(number: int, finding: JudgedFinding, units: Units) -> str:
    """A finding of the list as a sentence of the description: who hears the picture sees no list."""
    return f"{mark_words(Mark(number, mark_kind(finding)))}: {_told(finding, units)}."


def _told(finding: JudgedFinding, units: Units) -> str:
    part = f" at {finding.home[1]}" if finding.part else ""
    return xml_text(f"{finding.rule}{part}: {words(finding.message, units)}")
