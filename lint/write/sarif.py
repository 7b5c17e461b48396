"""Findings as SARIF 2.1.0 (OASIS Standard, 2020): one run, the rules with help, causes as related places and a flow.

Columns count code points, ends are exclusive, as ours. Waived findings and recorded snags are suppressed
results.
"""

from urllib.parse import quote

from lineshaft.check.finding import Cause
from lineshaft.check.judged_finding import Repair, RepairedFinding
from lineshaft.schema.text.span import Span
from lineshaft.write.escape import visible
from lineshaft.write.finding_words import accepted_words, uses_words
from lineshaft.write.json_text import json_text
from lineshaft.write.shown_units import Units, sentence, words
from lineshaft.write.summary import Run, counts
from lineshaft.write.worst_first import kept_by_level

MOST = 5000
"""Most results; the rest is left out by level, with a note."""
MOST_CAUSES = 100
"""Most causes of one result."""
MOST_PAGE = 1000
"""Most characters of a full description."""
_SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
_BASE = "ROOT"
# Section 3.11: a brace begins a placeholder unless doubled, a bracket a link unless behind a backslash.
_ESCAPES = str.maketrans({"\\": "\\\\", "[": "\\[", "]": "\\]", "{": "{{", "}": "}}"})


def sarif(run: Run) -> bytes:
    """The log file."""
    every = run.findings
    kept = kept_by_level(every, MOST)
    names = sorted({*run.pages, *(finding.rule for finding in kept)})
    index = {name: at for at, name in enumerate(names)}
    notes = [*run.notices]
    if len(kept) < len(every):
        notes.append(f"{len(kept)} of {len(every)} findings are shown, errors first; the JSON output holds them all")
    rules = [_rule(name, run.pages.get(name, ""), run.addresses.get(name, "")) for name in names]
    driver = {"name": "lineshaft", "version": run.version, "rules": rules}
    if run.documentation:
        driver["informationUri"] = run.documentation
    document = {
        "$schema": _SCHEMA,
        "version": "2.1.0",
        "runs": [
            {
                "tool": {"driver": driver},
                "invocations": [{"executionSuccessful": True, "toolExecutionNotifications": list(map(_note, notes))}],
                "originalUriBaseIds": {_BASE: {"description": {"text": "The folder in which lineshaft was run."}}},
                "columnKind": "unicodeCodePoints",
                "results": [_result(finding, index[finding.rule], run.units) for finding in kept],
                "properties": {"summary": counts(run)._asdict()},
            }
        ],
    }
    return json_text(document)


def escaped(text: str) -> str:
    """Text for a message: no control character, no placeholder, no link."""
    return "\n".join(visible(line) for line in text.split("\n")).translate(_ESCAPES)


def _message(text: str) -> dict[str, str]:
    return {"text": escaped(text)}


def _note(text: str) -> dict[str, object]:
    return {"level": "note", "message": _message(visible(text))}


def _rule(name: str, page: str, address: str) -> dict[str, object]:
    """A rule: the first line of its page, its beginning, and the whole as help."""
    text = page.strip() or name
    return {
        "id": visible(name),
        "shortDescription": _message(_bounded(text.split("\n", 1)[0])),
        "fullDescription": _message(_bounded(text)),
        "help": _message(text),
        **({"helpUri": address} if address else {}),
    }


def _bounded(text: str) -> str:
    """The text, or its beginning and an ellipsis, that is within bounds once it is escaped."""
    short = text[:MOST_PAGE]
    while len(escaped(short)) > MOST_PAGE - (len(short) < len(text)):
        short = short[:-1]
    return short if short == text else short + "…"


def _result(finding: RepairedFinding, index: int, units: Units) -> dict[str, object]:
    causes = finding.because[:MOST_CAUSES]
    suggested = finding.proved_suggestion
    mend = f" Mend: {_line(sentence(suggested, units))}" if suggested else ""
    part = f"{_line(finding.part)}: " if finding.part else ""
    where = uses_words(finding)
    mend = f" It shows {_line(where)}.{mend}" if where else mend
    result: dict[str, object] = {
        "ruleId": visible(finding.rule),
        "ruleIndex": index,
        "level": finding.level,
        "message": _message(f"{part}{_line(sentence(finding.message, units))}{mend}"),
        "locations": [_place(finding.file, finding.span, finding.part)],
        "partialFingerprints": {"lineshaftFinding/v1": finding.fingerprint},
    }
    if causes:
        result["relatedLocations"] = [{"id": at, **_cause(cause, units)} for at, cause in enumerate(causes, 1)]
        steps = [{"location": _cause(cause, units)} for cause in causes]
        result["codeFlows"] = [{"threadFlows": [{"locations": [*steps, _last(finding, units)]}]}]
    fixes = [_fix(repair) for repair in finding.repairs if repair.edits]
    if fixes:
        result["fixes"] = fixes
    if finding.passes:
        reason = visible(accepted_words(finding))
        result["suppressions"] = [{"kind": "external", "status": "accepted", "justification": reason}]
    return result


def _place(file: str, span: Span, part: str | None) -> dict[str, object]:
    place: dict[str, object] = {"physicalLocation": {"artifactLocation": _artifact(file), "region": _region(span)}}
    if part:
        place["logicalLocations"] = [{"name": visible(part), "kind": "element"}]
    return place


def _cause(cause: Cause, units: Units) -> dict[str, object]:
    who = f"{cause.part} " if cause.part else ""
    return {**_place(cause.file, cause.span, cause.part), "message": _message(_line(who + words(cause.message, units)))}


def _last(finding: RepairedFinding, units: Units) -> dict[str, object]:
    place = _place(finding.file, finding.span, finding.part)
    return {"location": {**place, "message": _message(_line(words(finding.message, units)))}}


def _fix(repair: Repair) -> dict[str, object]:
    changes: dict[str, list[object]] = {}
    for edit in repair.edits:
        # The text is what goes into the file: as it is.
        replacement = {"deletedRegion": _region(edit.span), "insertedContent": {"text": edit.text}}
        changes.setdefault(edit.file, []).append(replacement)
    return {
        "description": _message(_line(f"{repair.title} ({repair.effect})")),
        "properties": {"safe": repair.safe},
        "artifactChanges": [
            {"artifactLocation": _artifact(file), "replacements": replacements}
            for file, replacements in changes.items()
        ],
    }


def _region(span: Span) -> dict[str, int]:
    start, end = span
    return {
        "startLine": start.line,
        "startColumn": start.column,
        "endLine": end.line,
        "endColumn": end.column,
    }


def _artifact(file: str) -> dict[str, str]:
    """A relative URI reference (RFC 3986); a colon is coded, so that nothing looks like a scheme."""
    try:
        raw = file.encode("utf-8", "surrogateescape")  # the very bytes of a name that is not UTF-8
    except UnicodeEncodeError:
        raw = file.encode("utf-8", "surrogatepass")
    return {"uri": quote(raw), "uriBaseId": _BASE}


def _line(text: str) -> str:
    return text.replace("\n", "\\n")
