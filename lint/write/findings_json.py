"""Findings to JSON, `lineshaft-findings/1`: its published form, kept apart from the types inside."""

from collections.abc import Iterable

from lineshaft.check.finding import Cause, Measure, Values
from lineshaft.check.judged_finding import JudgedFinding, Repair, RepairedFinding
from lineshaft.schema.text.span import Span, pointer
from lineshaft.write.json_text import json_text
from lineshaft.write.shown_units import words
from lineshaft.write.summary import Run, counts

FORMAT = "lineshaft-findings/1"


def findings_json(run: Run) -> bytes:
    """One document, UTF-8, ASCII only inside, so that no reader sees a raw control character."""
    found = counts(run)
    document = {
        "format": FORMAT,
        "version": run.version,
        "summary": found._asdict(),
        "findings": [finding_document(finding) for finding in run.findings],
        "rigs": [verdict._asdict() for verdict in run.rigs],
        "includes": list(run.includes),
    }
    return json_text(document)


def finding_document(finding: RepairedFinding) -> dict[str, object]:
    """A finding as plain data."""
    message = words(finding.message)
    uses = finding.uses or ((finding,) if finding.placement is not None else ())
    return {
        "rule": finding.rule,
        "level": finding.level,
        "file": finding.file,
        **_span(finding.span),
        "pointer": pointer(finding.route),
        "part": finding.part,
        "message": message,
        "values": _values(finding.values),
        "because": [_cause(cause) for cause in finding.because],
        "suggestion": words(finding.proved_suggestion) or None,
        "repairs": [repair_document(repair) for repair in finding.repairs],
        "no_repair": finding.no_repair,
        **({"group": finding.group} if finding.group is not None else {}),
        **_accepted(finding),
        "fingerprint": finding.fingerprint,
        **({"uses": [_use(use) for use in uses]} if uses else {}),
        **({"alike": [_alike(one) for one in finding.alike]} if finding.alike else {}),
    }


def _accepted(finding: JudgedFinding) -> dict[str, object]:
    return {
        "waived": None if finding.waived is None else finding.waived._asdict(),
        "snag": None if finding.snag is None else finding.snag._asdict(),
    }


def _use(finding: JudgedFinding) -> dict[str, object]:
    """A finding where one line puts its blueprint in place; or, among such, where it stands by itself."""
    file, part = finding.home
    span = finding.span if finding.placement is None else finding.placement.lines[0].span
    values = _values(finding.values)
    return {"file": file, "part": part, **_span(span), "level": finding.level, "values": values, **_accepted(finding)}


def _alike(finding: JudgedFinding) -> dict[str, object]:
    """One of the findings that are told as one, since they have one cause."""
    return {
        "part": finding.part,
        "pointer": pointer(finding.route),
        **_span(finding.span),
        "level": finding.level,
        "message": words(finding.message),
        "values": _values(finding.values),
        **_accepted(finding),
        "fingerprint": finding.fingerprint,
    }


def _span(span: Span) -> dict[str, object]:
    return {
        "start": {"line": span.start.line, "column": span.start.column},
        "end": {"line": span.end.line, "column": span.end.column},
    }


def _values(values: Iterable[tuple[str, Measure]] | Values) -> dict[str, object]:
    return {name: {"value": measure.value, "unit": measure.unit} for name, measure in values}


def _cause(cause: Cause) -> dict[str, object]:
    return {
        "file": cause.file,
        **_span(cause.span),
        "part": cause.part,
        "message": words(cause.message),
        "values": _values(cause.values),
    }


def repair_document(repair: Repair) -> dict[str, object]:
    """A proved repair as plain data."""
    return {
        "title": repair.title,
        "effect": repair.effect,
        "safe": repair.safe,
        "worth": repair.worth,
        "bill": dict(repair.bill),
        "machines": [change._asdict() for change in repair.machines],
        "edits": [{"file": edit.file, **_span(edit.span), "text": edit.text} for edit in repair.edits],
    }
