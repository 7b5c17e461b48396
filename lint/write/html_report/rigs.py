"""One file of a run as the report shows it: verdict, drawing, findings, curves, checklist, tables."""

from collections.abc import Sequence
from typing import NamedTuple
from xml.etree import ElementTree as ET

from markupsafe import Markup

from lineshaft.check.finding import Measure
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.report_model.record import Checklist, ReportModel
from lineshaft.report_model.schematic_record import Schematic
from lineshaft.write.checklist_words import at_words, turns_words, worst_words
from lineshaft.write.drawing.circuits import write_circuits
from lineshaft.write.drawing.ink import coordinate
from lineshaft.write.drawing.marks import marked, nodes_by_name
from lineshaft.write.drawing.page import description
from lineshaft.write.drawing.picture_words import pictured
from lineshaft.write.drawing.svg import MARGIN, body, laid_out
from lineshaft.write.escape import xml_text
from lineshaft.write.html_report.charts import Most, Picture, left_out, pictures
from lineshaft.write.html_report.findings import FindingView, finding_view
from lineshaft.write.html_report.pictures import inline
from lineshaft.write.shown_units import Units, duration, figures, measure, words
from lineshaft.write.summary import FileReport, worst
from lineshaft.write.worst_first import counted_levels

MOST_PARTS = 400
"""Parts of the largest rig that is drawn in a report; a larger one is drawn by itself."""
_LEAST_WIDTH = 470.0
_VERDICTS = {"error": "does not hold", "warning": "holds, with warnings", "note": "holds", None: "holds"}


class CheckView(NamedTuple):
    """A row of the checklist."""

    number: int
    does: str
    at: str
    turns: str
    worst: str


class TableView(NamedTuple):
    """A table: names in its first column, numbers in the others."""

    title: str
    head: Sequence[str]
    rows: Sequence[Sequence[str]]


class RigView(NamedTuple):
    """One file; texts are empty and rows missing where there is nothing to show."""

    id: str
    file: str
    name: str
    verdict: str
    mood: str
    counted: str
    size: str
    findings: tuple[FindingView, ...]
    worst: str = ""
    drawing: Markup | None = None
    drawn: str = ""
    no_drawing: str = ""
    checks: tuple[CheckView, ...] = ()
    checks_from: str = ""
    no_checks: str = ""
    charts: tuple[Picture, ...] = ()
    charts_left_out: str = ""
    tables: tuple[TableView, ...] = ()


def rig_view(report: FileReport, number: int, found: ReportModel | None, most: Most, units: Units) -> RigView:
    """The view of a report; without a report model (no rig, or one that could not be read) its findings alone."""
    name = f"rig-{number}"
    drawn = found is not None and len(found.schematic.nodes) <= MOST_PARTS
    ids = _part_ids(found.schematic, name) if found is not None and drawn else {}
    findings = tuple(finding_view(one, n, name, ids, report.file, units) for n, one in enumerate(report.findings, 1))
    level = worst(report.findings)
    size = f"{report.parts} part{'s' if report.parts != 1 else ''}"
    view = RigView(
        id=name,
        file=report.file,
        name=report.name or report.file,
        verdict=_VERDICTS[level],
        mood="bad" if level == "error" else "good",
        counted=counted_levels(report.findings),
        size=size + (f", {report.unsolved} not solved" if report.unsolved else ""),
        findings=findings,
    )
    if found is None:
        is_rig = report.file.endswith((".rig.yaml", ".rig.yml"))
        why = "There is no drawing, since the rig could not be read." if is_rig else ""
        return view._replace(no_drawing=why)
    large = f"This rig has more than {MOST_PARTS} parts: draw it by itself with lineshaft draw."
    return view._replace(
        worst=_worst_share(found.schematic),
        drawing=_drawing(found.schematic, report.findings, name, most, units) if drawn else None,
        drawn=f"Drawn is the state that fails: {state}." if (state := pictured(found.schematic.state, units)) else "",
        no_drawing="" if drawn else large,
        checks=_checks(found.checklist, units),
        checks_from=_checks_from(found.checklist),
        no_checks=words(found.checklist.why_none, units),
        charts=tuple(pictures(found, name, most, units)),
        charts_left_out=left_out(found, most),
        tables=tuple(table for table in (_lubricants(found), _bill(found)) if table.rows),
    )


def _part_ids(schematic: Schematic, name: str) -> dict[str, str]:
    return {part: f"{name}-part-{number}" for part, number in nodes_by_name(schematic).items()}


def _drawing(schematic: Schematic, findings: Sequence[JudgedFinding], name: str, most: Most, units: Units) -> Markup:
    """The drawing in the page: its marks lead to the findings, its parts can be led to."""
    drawing = laid_out(schematic, marked(schematic, findings, units, f"{name}-finding"), units)
    page = ET.Element("svg", {"role": "group", "class": "ls-drawing"})
    page.set("aria-labelledby", f"{name}-title {name}-desc")
    ET.SubElement(page, "title", {"id": f"{name}-title"}).text = f"Drawing of {xml_text(schematic.name)}"
    ET.SubElement(page, "desc", {"id": f"{name}-desc"}).text = description(drawing, findings, units)
    group = body(drawing, f"{name}-part")
    page.append(group)
    wide = max(drawing.width, _LEAST_WIDTH if schematic.circuits else 0.0)
    y = drawing.height
    y = write_circuits(page, schematic.circuits, drawing.marks, MARGIN, y, wide - 2 * MARGIN, units)
    width, height = coordinate(wide), coordinate(y)
    page.attrib.update({"width": width, "height": height, "viewBox": f"0 0 {width} {height}"})
    if not findings:
        return most.still(page)
    for card in group.iterfind("g[@id]"):
        card.set("tabindex", "-1")
    return inline(page)


def _worst_share(schematic: Schematic) -> str:
    known = [node for node in schematic.nodes if node.share is not None]
    if not known:
        return "no limit"
    largest = max(known, key=lambda node: node.share or 0.0)
    when = f", {largest.when}" if largest.when else ""
    return f"{figures((largest.share or 0.0) * 100)} % at {largest.name}{when}"


def _checks(found: Checklist, units: Units) -> tuple[CheckView, ...]:
    return tuple(
        CheckView(step.number, words(step.does, units), at_words(step), turns_words(step), worst_words(step))
        for step in found.steps
    )


def _checks_from(found: Checklist) -> str:
    if not found.proposed:
        return "The list as written in the rig, each step simulated."
    return "The rig has no list. This one is safe, each step simulated; lineshaft commission puts it in with --apply."


def _lubricants(found: ReportModel) -> TableView:
    rows = []
    for one in found.lubricants:
        flows = (measure(Measure(flow, "L/s")) for flow in (one.supply, one.use, one.net))
        dry = "does not run dry" if one.runs_dry_after is None else duration(one.runs_dry_after)
        kind = "circuit" if one.circuit else "filled part"
        rows.append([one.name, kind, one.lubricant, measure(Measure(one.charge, "L")), *flows, dry])
    head = ("name", "what", "lubricant", "charge", "supply", "use", "net", "time to dry")
    return TableView("Lubricants", head, rows)


def _bill(found: ReportModel) -> TableView:
    rows = [
        [
            one.name,
            f"{one.needed:,}",
            "raw good" if one.makings is None else f"{one.makings:,} makings",
            "" if one.worth is None else figures(one.worth),
        ]
        for one in found.bill
    ]
    if rows:
        rows.append(["in all", "", "", figures(found.worth)])
    return TableView("Bill of materials", ("good", "count", "what", "worth"), rows)
