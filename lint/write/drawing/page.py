"""A drawing as an SVG file of its own: heading, schematic, circuits, key, the list of findings, title block."""

from collections.abc import Sequence
from datetime import date
from xml.etree import ElementTree as ET

from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.report_model.schematic_record import Node, Schematic
from lineshaft.write.drawing.cards import share_words
from lineshaft.write.drawing.circuits import write_circuits
from lineshaft.write.drawing.ink import coordinate
from lineshaft.write.drawing.marks import marked, tag, told
from lineshaft.write.drawing.picture_words import pictured
from lineshaft.write.drawing.style import COLOURS, PRINTED, STYLE
from lineshaft.write.drawing.svg import MARGIN, Drawing, body, laid_out
from lineshaft.write.drawing.title_block import (
    sheet_name,
    write_findings,
    write_heading,
    write_key,
    write_title_block,
)
from lineshaft.write.escape import xml_text
from lineshaft.write.shown_units import Units
from lineshaft.write.worst_first import rank

_LEAST_WIDTH = 560.0
MOST_AT_ONCE = 6
"""Findings that stand above the drawing, the gravest first; the others stand below it."""
_DESCRIBED = 60  # parts that the description names one by one


def svg_page(
    schematic: Schematic, findings: Sequence[JudgedFinding], units: Units = "si", day: date | None = None
) -> bytes:
    """The drawing of a rig with its findings, UTF-8; the same bytes for the same rig and day."""
    drawing = laid_out(schematic, marked(schematic, findings, units), units)
    width = max(drawing.width, _LEAST_WIDTH)
    inner = width - 2 * MARGIN
    page = ET.Element("svg", {"xmlns": "http://www.w3.org/2000/svg", "role": "img", "class": "ls-drawing ls-sheet"})
    page.set("aria-labelledby", "drawing-title drawing-desc")
    ET.SubElement(page, "title", {"id": "drawing-title"}).text = f"Drawing of {sheet_name(schematic)}"
    said = [description(drawing, findings, units), *(_listed(n, one, units) for n, one in enumerate(findings, 1))]
    ET.SubElement(page, "desc", {"id": "drawing-desc"}).text = " ".join(said)
    style = ET.SubElement(page, "style")
    paper = ET.SubElement(page, "rect", {"class": "paper"})
    y = write_heading(page, schematic, findings, MARGIN, inner, units)
    numbered = sorted(enumerate(findings, 1), key=lambda pair: rank(pair[1]))
    if numbered:
        y = write_findings(page, numbered[:MOST_AT_ONCE], MARGIN, y + 10, inner, units) - 8
    group = body(drawing)
    group.set("transform", f"translate({coordinate((width - drawing.places.width) / 2)} {coordinate(y + 14)})")
    page.append(group)
    y += drawing.places.height + 34
    y = write_circuits(page, schematic.circuits, drawing.marks, MARGIN, y, inner, units)
    y = write_key(page, MARGIN, y + 14, inner)
    y = write_findings(page, numbered[MOST_AT_ONCE:], MARGIN, y + 8, inner, units)
    y = write_title_block(page, schematic, findings, day, MARGIN, y + 4, inner)
    return finished(page, style, paper, width, y + MARGIN)


def finished(page: ET.Element, style: ET.Element, paper: ET.Element, width: float, height: float) -> bytes:
    """A page of SVG with its size [px] and style sheet, as a file, UTF-8."""
    size = {"width": coordinate(width), "height": coordinate(height)}
    style.text = COLOURS + PRINTED + STYLE + _sheet(width, height)
    paper.attrib.update(size)
    page.attrib.update({**size, "viewBox": f"0 0 {size['width']} {size['height']}"})
    ET.indent(page, " ")
    text: bytes = ET.tostring(page, encoding="utf-8", xml_declaration=True)
    return text + b"\n"


def _sheet(width: float, height: float) -> str:
    """As wide as the window, but no larger than drawn nor too small to be read; on paper one sheet, as it lies best."""
    lies = "landscape" if width > height else "portrait"
    least = coordinate(min(width, max(360.0, 0.7 * width)))
    return (
        f".ls-sheet{{width:100%;height:auto;max-width:{coordinate(width)}px;min-width:{least}px}}"
        f"@page{{size:{lies};margin:10mm}}"
        "@media print{.ls-sheet{min-width:0;max-width:100%;width:100vw;max-height:99vh}}"
    )


def description(drawing: Drawing, findings: Sequence[JudgedFinding], units: Units) -> str:
    """What the drawing says, in words: every part of a rig that is not too large, else the counts."""
    nodes = drawing.schematic.nodes
    many = f"{len(nodes)} parts from prime movers to machines, {len(findings)} findings."
    if drawing.schematic.state:
        many = f"{many} Drawn is {pictured(drawing.schematic.state, units)}."
    if len(nodes) > _DESCRIBED:
        return f"{many} Too many to name one by one: see `lineshaft trace`."
    parts = (f"{xml_text(node.name)} {_said(node, units)}" for node in nodes)
    return f"{many} {'; '.join(parts)}.".replace("\u00a0", " ")


def _said(node: Node, units: Units) -> str:
    facts = "".join(f", {pictured(fact.words, units)}" for fact in node.facts)
    return f"({xml_text(node.item)}) {pictured(node.does, units)}{facts}, {xml_text(share_words(node))}"


def _listed(number: int, finding: JudgedFinding, units: Units) -> str:
    """A finding of the list as a sentence of the description: who hears the picture sees no list."""
    passes = " (waived)" if finding.waived is not None else " (a snag)" if finding.snag is not None else ""
    return f"{tag(finding.level, number)}{passes}: {xml_text(told(finding, units))}.".replace("\u00a0", " ")
