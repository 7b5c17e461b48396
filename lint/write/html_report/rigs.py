"""One file of a run as the report shows it: verdict, drawing, findings, curves, checklist, tables."""

import shlex
from typing import NamedTuple

from markupsafe import Markup

from lineshaft.check.level import gravity
from lineshaft.report_model.record import Checklist, ReportModel
from lineshaft.report_model.schematic_record import Schematic
from lineshaft.write.checklist_words import at_words, turns_words, worst_words
from lineshaft.write.drawing.film import film_of
from lineshaft.write.drawing.picture_words import pictured
from lineshaft.write.html_report.charts import Most, Picture, left_out, pictures
from lineshaft.write.html_report.drawings import Leads, drawing, film_pictures, part_ids
from lineshaft.write.html_report.findings import FindingView, finding_view
from lineshaft.write.html_report.repairs import PictureView, repair_views
from lineshaft.write.html_report.tables import TableView, tables_of
from lineshaft.write.shown_units import Units, figures, words
from lineshaft.write.summary import FileReport, worst
from lineshaft.write.worst_first import counted_levels

MOST_PARTS = 400
"""Parts of the largest rig that is drawn in a report; a larger one is drawn by itself."""
_VERDICTS = {"error": "does not hold", "warning": "holds, with warnings", "note": "holds", None: "holds"}
_IN_ORDER = {"error": "is at fault", "warning": "has warnings", "note": "is in order", None: "is in order"}
_MOODS = {"error": "bad", "warning": "warned", "note": "good", None: "good"}


class CheckView(NamedTuple):
    """A row of the checklist."""

    number: int
    does: str
    at: str
    turns: str
    worst: str


class RigView(NamedTuple):
    """One file; texts are empty and rows missing where there is nothing to show."""

    id: str
    file: str
    name: str
    verdict: str
    mood: str
    counted: str
    size: str
    parts: int
    findings: tuple[FindingView, ...]
    worse: int = 0
    worst: str = ""
    drawing: Markup | None = None
    drawn: str = ""
    repairs: tuple[PictureView, ...] = ()
    more_repairs: str = ""
    no_drawing: str = ""
    checks: tuple[CheckView, ...] = ()
    checks_from: str = ""
    film: tuple[Markup, ...] = ()
    film_left_out: str = ""
    no_checks: str = ""
    charts: tuple[Picture, ...] = ()
    charts_left_out: str = ""
    tables: tuple[TableView, ...] = ()


def rig_view(report: FileReport, number: int, found: ReportModel | None, most: Most, units: Units) -> RigView:
    """The view of a report; without a report model (no rig, or one that could not be read) its findings alone."""
    name = f"rig-{number}"
    drawn = found is not None and len(found.schematic.nodes) <= MOST_PARTS
    ids = part_ids(found.schematic, name) if found is not None and drawn else {}
    repairs = repair_views(found.repairs if found else (), report.findings, report.file, name, most, units)
    findings = tuple(
        finding_view(one, n, name, ids, report.file, units, repairs) for n, one in enumerate(report.findings, 1)
    )
    level = worst(report.findings)
    size = f"{report.parts} part{'s' if report.parts != 1 else ''}"
    view = RigView(
        id=name,
        file=report.file,
        name=report.name or report.file,
        verdict=(_VERDICTS if report.kind in ("rig", "blueprint") else _IN_ORDER)[level],
        mood=_MOODS[level],
        worse=gravity(level) + 1 if level else 0,
        counted=counted_levels(report.findings),
        size=size + (f", {report.unsolved} not solved" if report.unsolved else ""),
        parts=report.parts,
        findings=findings,
    )
    if found is None:
        is_rig = report.file.endswith((".rig.yaml", ".rig.yml"))
        why = "There is no drawing, since the rig could not be read." if is_rig else ""
        return view._replace(no_drawing=why)
    leads = Leads(name, f"{name}-finding")
    film = film_of(found.schematic, found.checklist, report.findings, units, most.frames)
    large = f"This rig has more than {MOST_PARTS} parts: draw it by itself with lineshaft draw."
    return view._replace(
        worst=_worst_share(found.schematic),
        drawing=drawing(found.schematic, report.findings, leads, most, units, "Drawing of") if drawn else None,
        repairs=repairs,
        more_repairs=_more_repairs(found.more_repairs, report.file),
        drawn=f"Drawn is the state that fails: {state}." if (state := pictured(found.schematic.state, units)) else "",
        no_drawing="" if drawn else large,
        checks=_checks(found.checklist, units),
        checks_from=_checks_from(found.checklist),
        film=tuple(film_pictures(film, name, most)),
        film_left_out=f"{film.left_out} more steps are not drawn." if film.left_out and film.frames else "",
        no_checks=words(found.checklist.why_none, units),
        charts=tuple(pictures(found, name, most, units)),
        charts_left_out=left_out(found, most),
        tables=tuple(table for table in tables_of(found, units) if table.rows),
    )


def _more_repairs(more: int, file: str) -> str:
    return f"{more} more, not drawn: lineshaft repair {shlex.quote(file)} lists all." if more else ""


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
