"""Findings as JUnit XML: a suite for each file that was judged, a case for each finding in it and in what it places.

An error is a failure, a waived finding or recorded snag is skipped, a warning or note passes and says so in its output.
A file without findings has one case that passes. No times: the same input gives the same bytes.
"""

from collections.abc import Iterable
from xml.etree import ElementTree as ET

from lineshaft.check.judged_finding import RepairedFinding
from lineshaft.check.shared_causes import by_cause
from lineshaft.write.escape import xml_text
from lineshaft.write.finding_words import accepted_words
from lineshaft.write.shown_units import Units, sentence, words
from lineshaft.write.summary import Run


def junit(run: Run) -> bytes:
    """The document, UTF-8."""
    root = ET.Element("testsuites", {"name": "lineshaft"})
    for report in run.reports:
        root.append(_suite(report.file, report.findings, run.units))
    for name in ("tests", "failures", "errors", "skipped"):
        root.set(name, str(sum(int(suite.get(name, "0")) for suite in root)))
    ET.indent(root)
    document: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return document + b"\n"


def _suite(file: str, findings: Iterable[RepairedFinding], units: Units) -> ET.Element:
    cases = [_case(finding, units) for finding in by_cause(findings)]
    if not cases:
        cases = [ET.Element("testcase", {"classname": xml_text(file), "name": "nothing found"})]
    numbers = {
        "tests": len(cases),
        "failures": sum(case.find("failure") is not None for case in cases),
        "errors": 0,
        "skipped": sum(case.find("skipped") is not None for case in cases),
    }
    shown = {name: str(number) for name, number in numbers.items()}
    suite = ET.Element("testsuite", {"name": xml_text(file), **shown})
    suite.extend(cases)
    return suite


def _case(finding: RepairedFinding, units: Units) -> ET.Element:
    start = finding.span.start
    part = f" {finding.home[1]}" if finding.home[1] else ""
    name = f"{finding.level}: {finding.rule}{part} (line {start.line}, column {start.column})"
    case = ET.Element("testcase", {"classname": xml_text(finding.file), "name": xml_text(name)})
    message = xml_text(words(finding.message, units))
    if finding.passes:
        ET.SubElement(case, "skipped", {"message": xml_text(accepted_words(finding))})
    elif finding.level == "error":
        failure = ET.SubElement(case, "failure", {"type": xml_text(finding.rule), "message": message})
        failure.text = _text(finding, units)
        return case
    ET.SubElement(case, "system-out").text = _text(finding, units)
    return case


def _text(finding: RepairedFinding, units: Units) -> str:
    lines = [f"{finding.file} line {finding.span.start.line}: {sentence(finding.message, units)}"]
    for cause in finding.because:
        who = f"{cause.part} " if cause.part else ""
        lines.append(f"| {who}{words(cause.message, units)}  [{cause.file} line {cause.span.start.line}]")
    if finding.suggestion:
        lines.append(f"mend: {sentence(finding.suggestion, units)}")
    lines += [f"proved repair: {repair.title}" for repair in finding.repairs[:2]]
    return "\n".join(map(xml_text, lines))
