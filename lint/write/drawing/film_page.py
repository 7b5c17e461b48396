"""The film of a start-up as an SVG file of its own: frames side by side, in rows."""

from collections.abc import Sequence
from datetime import date
from xml.etree import ElementTree as ET

from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.report_model.record import Checklist
from lineshaft.report_model.schematic_record import Schematic
from lineshaft.write.drawing.film import film_of, write_frame
from lineshaft.write.drawing.ink import coordinate, write_text
from lineshaft.write.drawing.page import finished
from lineshaft.write.drawing.picture_words import pictured
from lineshaft.write.drawing.svg import MARGIN
from lineshaft.write.drawing.text_width import wrapped
from lineshaft.write.drawing.title_block import sheet_name, write_findings, write_title_block, write_verdict
from lineshaft.write.escape import xml_text
from lineshaft.write.shown_units import Units

_WIDE = 1180.0
_GAP = 16.0
_KEY = (
    "Filled: turns. Ringed: begins to turn at this step. Thick edge: acted on. Dashed: at rest. Red, with a number: "
    "over its limit so many times."
)


def film_page(
    schematic: Schematic, checklist: Checklist, findings: Sequence[JudgedFinding], units: Units, day: date | None
) -> bytes:
    """The film of a rig's list, or of the safe one that it lacks, UTF-8."""
    film = film_of(schematic, checklist, findings, units)
    size = film.size
    across = max(1, int((_WIDE + _GAP) // (size.width + _GAP)))
    across = max(1, min(across, len(film.frames)))
    inner = max(520.0, across * (size.width + _GAP) - _GAP)
    page = ET.Element("svg", {"xmlns": "http://www.w3.org/2000/svg", "role": "img", "class": "ls-drawing ls-sheet"})
    page.set("aria-labelledby", "drawing-title drawing-desc")
    ET.SubElement(page, "title", {"id": "drawing-title"}).text = f"Start-up of {sheet_name(schematic)}, step by step"
    said = [f"{frame.title}: {xml_text(frame.caption)}." for frame in film.frames]
    ET.SubElement(page, "desc", {"id": "drawing-desc"}).text = " ".join(said).replace("\u00a0", " ")
    style, paper = ET.SubElement(page, "style"), ET.SubElement(page, "rect", {"class": "paper"})
    y = write_verdict(page, schematic, findings, MARGIN, inner)
    for line in wrapped(_what(checklist, film.left_out, units), inner, 12, 6):
        write_text(page, MARGIN, y, line, "strong")
        y += 17
    for line in wrapped(_KEY, inner, 12, 3):
        write_text(page, MARGIN, y, line, "soft")
        y += 17
    for number, frame in enumerate(film.frames):
        x, row = MARGIN + (number % across) * (size.width + _GAP), y + (number // across) * (size.height + _GAP)
        corner = f"translate({coordinate(x)} {coordinate(row)})"
        write_frame(ET.SubElement(page, "g", {"id": f"step-{frame.number}", "transform": corner}), film, frame)
    y += -(-len(film.frames) // across) * (size.height + _GAP) + 14
    y = write_findings(page, list(enumerate(findings, 1)), MARGIN, y, inner, units)
    y = write_title_block(page, schematic, findings, day, MARGIN, y + 4, inner)
    return finished(page, style, paper, inner + 2 * MARGIN, y + MARGIN)


def _what(checklist: Checklist, left_out: int, units: Units) -> str:
    if checklist.why_none:
        return f"No safe order exists: {pictured(checklist.why_none, units)}."
    more = f" {left_out} more steps are not drawn." if left_out else ""
    if checklist.proposed:
        return f"The rig has no start-up list; this one is safe.{more}"
    return f"The start-up as the rig's list has it, step by step.{more}"
