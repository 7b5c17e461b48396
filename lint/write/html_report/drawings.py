"""Drawings in the page: of a rig, of a rig without and with a repair, of a start-up step by step."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple
from xml.etree import ElementTree as ET

from markupsafe import Markup

from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.report_model.schematic_record import Schematic
from lineshaft.write.drawing.circuits import write_circuits
from lineshaft.write.drawing.film import Film, write_frame
from lineshaft.write.drawing.ink import coordinate
from lineshaft.write.drawing.marks import marked, nodes_by_name
from lineshaft.write.drawing.page import description
from lineshaft.write.drawing.svg import MARGIN, body, laid_out
from lineshaft.write.escape import xml_text
from lineshaft.write.html_report.charts import Most
from lineshaft.write.html_report.pictures import inline
from lineshaft.write.shown_units import Units

_LEAST_WIDTH = 470.0


class Leads(NamedTuple):
    """What the ids of a drawing begin with; the beginning of the findings' ids that its marks lead to, if they do."""

    name: str
    findings: str | None = None


def part_ids(schematic: Schematic, name: str) -> dict[str, str]:
    """The id of each part's card in the drawing of a rig."""
    return {part: f"{name}-part-{number}" for part, number in nodes_by_name(schematic).items()}


def drawing(
    schematic: Schematic, findings: Sequence[JudgedFinding], leads: Leads, most: Most, units: Units, what: str
) -> Markup:
    """A drawing with its circuits: its parts can be led to, and its marks lead to the findings."""
    drawn = laid_out(schematic, marked(schematic, findings, units, leads.findings), units)
    page = ET.Element("svg", {"role": "group", "class": "ls-drawing"})
    page.set("aria-labelledby", f"{leads.name}-title {leads.name}-desc")
    ET.SubElement(page, "title", {"id": f"{leads.name}-title"}).text = f"{what} {xml_text(schematic.name)}"
    ET.SubElement(page, "desc", {"id": f"{leads.name}-desc"}).text = description(drawn, findings, units)
    group = body(drawn, f"{leads.name}-part")
    page.append(group)
    wide = max(drawn.width, _LEAST_WIDTH if schematic.circuits else 0.0)
    y = write_circuits(page, schematic.circuits, drawn.marks, MARGIN, drawn.height, wide - 2 * MARGIN, units)
    width, height = coordinate(wide), coordinate(y)
    page.attrib.update({"width": width, "height": height, "viewBox": f"0 0 {width} {height}"})
    if leads.findings is None or not findings:
        page.set("role", "img")
        return most.still(page)
    for card in group.iterfind("g[@id]"):
        card.set("tabindex", "-1")
    return inline(page)


def film_pictures(film: Film, name: str, most: Most) -> Iterator[Markup]:
    """A picture a step of the start-up."""
    for frame in film.frames:
        page = ET.Element("svg", {"role": "img", "class": "ls-drawing"})
        width, height = coordinate(film.size.width), coordinate(film.size.height)
        page.attrib.update({"width": width, "height": height, "viewBox": f"0 0 {width} {height}"})
        step = f"{name}-step-{frame.number}"
        page.set("aria-labelledby", f"{step}-title {step}-desc")
        title = ET.SubElement(page, "title", {"id": f"{step}-title"})
        title.text = xml_text(frame.title.replace("\u00a0", " "))
        said = ET.SubElement(page, "desc", {"id": f"{step}-desc"})
        said.text = xml_text(frame.caption.replace("\u00a0", " "))
        write_frame(page, film, frame)
        yield most.still(page)
