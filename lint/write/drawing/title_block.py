"""What stands round a drawing on its sheet: heading and verdict, the key, the list of findings, the title block."""

from collections.abc import Sequence
from datetime import date
from xml.etree import ElementTree as ET

from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.report_model.schematic_record import Schematic
from lineshaft.write.drawing.bars import write_bar
from lineshaft.write.drawing.cards import SMALLEST, TRACK
from lineshaft.write.drawing.ink import coordinate, write_text
from lineshaft.write.drawing.marks import mark_kind, tag, told, verdict_words
from lineshaft.write.drawing.picture_words import pictured
from lineshaft.write.drawing.signs import write_sign
from lineshaft.write.drawing.text_width import text_width, wrapped
from lineshaft.write.escape import xml_text
from lineshaft.write.shown_units import Units

_LINE = 17.0
_MANY = 60
_KEY = (
    "Bar: share of the limit, which the stroke marks; hatched past it. Connections: torque, speed, power; "
    "wide for much power, of a strong tint for much torque, edged where they lead to an error. Symbols: our own, "
    "after the manner of ISO 3952."
)


def sheet_name(schematic: Schematic) -> str:
    """The rig's name; its file's where it has none."""
    return xml_text(schematic.name or schematic.file)


def write_verdict(
    page: ET.Element, schematic: Schematic, findings: Sequence[JudgedFinding], left: float, width: float
) -> float:
    """Name and verdict; where the page goes on."""
    y = 38.0
    for line in wrapped(sheet_name(schematic), width, 20, 3, bold=True):
        write_text(page, left, y, line, "head")
        y += 26
    holds, said = verdict_words(findings)
    worst = "error" if not holds else mark_kind(findings[0]) if findings else "note"
    if not holds or findings:
        write_sign(page, worst, left, y - 14, "alarm" if not holds else "")
    indent = 24 if not holds or findings else 0
    for line in wrapped(said, width - indent, 16, 2, bold=True):
        write_text(page, left + indent, y, line, "verdict" if holds else "verdict alarm-words")
        y += 22
    return y


def write_heading(
    page: ET.Element, schematic: Schematic, findings: Sequence[JudgedFinding], left: float, width: float, units: Units
) -> float:
    """Name, verdict, and which state is drawn; where the page goes on."""
    y = write_verdict(page, schematic, findings, left, width)
    drawn = pictured(schematic.state, units)
    words = f"Drawn is the state that fails: {drawn}." if drawn else "Drawn as declared."
    for line in wrapped(words, width, SMALLEST, 3, bold=bool(drawn)):
        write_text(page, left, y, line, "strong" if drawn else "soft")
        y += _LINE
    for line in wrapped(_left_out(schematic), width, SMALLEST, 2):
        write_text(page, left, y, line, "soft")
        y += _LINE
    return y


def _left_out(schematic: Schematic) -> str:
    """What is not drawn part by part, and how to see it; nothing where all is drawn and it is not large."""
    if schematic.only:
        return f"Only the paths to {xml_text(schematic.only)} are drawn."
    nodes = schematic.nodes
    folded = sum(len(node.stands_for) - (node.figure == "blueprint") for node in nodes if node.stands_for)
    if folded:
        some = f"{folded} of {len(nodes) + folded} parts are folded into others"
        return f"{some}: `--whole` draws each, `--only PART` what leads to one."
    return f"{len(nodes)} parts: `--only PART` draws what leads to one." if len(nodes) > _MANY else ""


def write_key(page: ET.Element, left: float, y: float, width: float) -> float:
    """What bars and connections mean; where the page goes on."""
    write_bar(page, left, y - 9, 1.25, "1.25×")
    start = left + TRACK + 64
    for line in wrapped(_KEY, width - TRACK - 64, SMALLEST, 6):
        write_text(page, start, y, line, "soft")
        y += _LINE
    return y + 8


def write_findings(
    page: ET.Element, findings: Sequence[tuple[int, JudgedFinding]], left: float, y: float, width: float, units: Units
) -> float:
    """Findings with their numbers, each wrapped to the page; where the page goes on."""
    for number, finding in findings:
        kind = mark_kind(finding)
        write_sign(page, kind, left, y - 12, "alarm" if kind == "error" else "")
        head = tag(finding.level, number) + (f" {kind}" if finding.passes else "")
        write_text(page, left + 22, y, head, "strong")
        start = left + max(64.0, 22 + text_width(head, SMALLEST, bold=True) + 8)
        for line in wrapped(xml_text(told(finding, units)), width - (start - left), SMALLEST, 8):
            write_text(page, start, y, line.replace("\u00a0", " "))
            y += _LINE
        y += 4
    return y


def write_title_block(
    page: ET.Element,
    schematic: Schematic,
    findings: Sequence[JudgedFinding],
    day: date | None,
    left: float,
    y: float,
    width: float,
) -> float:
    """The block by which a printed sheet is known: rig, file, edition, date, verdict; where the page ends."""
    cells = [("rig", sheet_name(schematic)), ("file", xml_text(schematic.file))]
    if schematic.edition:
        cells.append(("edition", xml_text(schematic.edition)))
    if day is not None:
        cells.append(("date", day.isoformat()))
    cells.append(("verdict", verdict_words(findings)[1]))
    x, top, tall = left, y, 40.0
    for name, text in cells:
        room = max(96.0, text_width(text, SMALLEST, bold=True) + 20)
        if x > left and x + room > left + width:
            x, top = left, top + tall
        lines = wrapped(text, min(room, width) - 14, SMALLEST, 1, bold=True)
        write_text(page, x + 8, top + 15, name, "soft")
        write_text(page, x + 8, top + 32, "".join(lines), "strong")
        edge = f"M{coordinate(x)} {coordinate(top)}h{coordinate(min(room, left + width - x))}v{tall:g}"
        ET.SubElement(page, "path", {"class": "rule", "d": f"{edge}H{coordinate(x)}Z"})
        x += room
    return top + tall
