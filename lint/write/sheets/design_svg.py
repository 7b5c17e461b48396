"""The drawings of designs side by side, as one SVG file."""

from xml.etree import ElementTree as ET

from lineshaft.design.plan import Designs
from lineshaft.report_model.schematic import schematic
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.write.drawing.ink import coordinate, write_text
from lineshaft.write.drawing.page import svg_page
from lineshaft.write.drawing.style import COLOURS, STYLE
from lineshaft.write.escape import xml_text
from lineshaft.write.shown_units import Units, figures

_SVG = "{http://www.w3.org/2000/svg}"
_GAP = 24.0
_HEAD = 44.0


def design_svg(rig: SolvedRig, found: Designs, units: Units) -> bytes:
    """One drawing a design from left to right, each under its number; the same bytes for the same rig."""
    page = ET.Element("svg", {"xmlns": _SVG[1:-1], "role": "img", "class": "ls-drawing"})
    ET.SubElement(page, "title").text = f"Designs for {xml_text(rig.rig.name or rig.file)}"
    ET.SubElement(page, "style").text = COLOURS + STYLE
    paper = ET.SubElement(page, "rect", {"class": "paper"})
    left, height = _GAP, _HEAD
    for number, one in enumerate(found.shown, 1):
        drawing = ET.fromstring(svg_page(schematic(one.proposal.rig), one.proposal.notes, units))
        cost = figures(one.proposal.repair.worth)
        label = ET.SubElement(page, "g")
        write_text(label, left, 30.0, f"Design {number}: {', '.join(one.kinds)}; cost {cost}", "head")
        drawing.attrib.update({"x": coordinate(left), "y": coordinate(_HEAD)})
        _without_names(drawing)
        page.append(drawing)
        left += float(drawing.attrib["width"]) + _GAP
        height = max(height, _HEAD + float(drawing.attrib["height"]))
    if not found.shown:
        label = ET.SubElement(page, "g")
        write_text(label, left, 30.0, "No design", "head")
        left += 240.0
    size = {"width": coordinate(left), "height": coordinate(height + _GAP)}
    paper.attrib.update(size)
    page.attrib.update({**size, "viewBox": f"0 0 {size['width']} {size['height']}"})
    text: bytes = ET.tostring(page, encoding="utf-8", xml_declaration=True)
    return text + b"\n"


def _without_names(drawing: ET.Element) -> None:
    """Names for references have to be unique in a file, and nothing refers into one of several drawings."""
    for element in drawing.iter():
        element.tag = element.tag.removeprefix(_SVG)  # the page around them says what they are
        for name in ("id", "aria-labelledby", "role"):
            element.attrib.pop(name, None)
