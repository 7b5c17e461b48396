"""What is wrong, at its places: asked for by clients that can, pushed to the others.

A document shows all that was found on it. What stands in another file (a fault in a blueprint that a rig places) is
shown at the line that brings it in, and in that file too while it is open.
"""

import asyncio
from collections.abc import Iterable, Iterator
from typing import Final

from lsprotocol import types

from lineshaft.api import Cause, JudgedFinding
from lineshaft.check.rule_pages import rule_address
from lineshaft.check.shared_findings import each_once
from lineshaft.language_server.documents import OpenDocument
from lineshaft.language_server.judgements import Judged
from lineshaft.language_server.server import Places, RigServer
from lineshaft.schema.text.span import TOP, Span
from lineshaft.write.escape import visible
from lineshaft.write.finding_words import accepted_words, headline, place_words
from lineshaft.write.shown_units import Units, sentence, words

_SEVERITY: Final = {
    "error": types.DiagnosticSeverity.Error,
    "warning": types.DiagnosticSeverity.Warning,
    "note": types.DiagnosticSeverity.Information,
}
_TAGS: Final = {
    "waiver-stale": [types.DiagnosticTag.Unnecessary],
    "edition-drift": [types.DiagnosticTag.Deprecated],
}


def register(server: RigServer) -> None:
    """Answer requests for diagnostics."""
    options = types.DiagnosticOptions(
        inter_file_dependencies=True, workspace_diagnostics=True, identifier="lineshaft"
    )

    @server.feature(types.TEXT_DOCUMENT_DIAGNOSTIC, options)
    async def diagnostic(params: types.DocumentDiagnosticParams) -> types.DocumentDiagnosticReport:
        found = await shown_on(server, params.text_document.uri)
        number, items = found or ("", [])
        if number and params.previous_result_id == number:
            return types.RelatedUnchangedDocumentDiagnosticReport(number)
        return types.RelatedFullDocumentDiagnosticReport(items, result_id=number or None)


async def shown_on(server: RigServer, uri: str) -> tuple[str, list[types.Diagnostic]] | None:
    """The diagnostics of an open document, under a text that no other state of them has."""
    judged = await server.judged(uri)
    if judged is None:
        return None
    others = await others_open(server, judged)
    number = ".".join(str(each.number) for each in (judged, *others))
    return f"{number}.{server.units}", list(_diagnostics(server, judged, others))


def tell(server: RigServer, document: OpenDocument | None) -> None:
    """See to it that the client gets to know what a change of a document makes of all that is open."""
    if document is not None:
        server.changed(document, lambda changed: _told(server, changed))


async def _told(server: RigServer, changed: dict[str, OpenDocument]) -> None:
    server.refresh_views(changed)
    if server.pulls:
        if any(document.kind != "rig" for document in changed.values()):
            server.ask_to_refresh()
        return
    for uri in changed:
        if server.documents.get(uri) is None and server.pushed.pop(uri, None) is not None:
            _push(server, uri, None, [])
    await asyncio.gather(*(_pushed(server, document.uri) for document in server.documents))


async def _pushed(server: RigServer, uri: str) -> None:
    found = await shown_on(server, uri)
    document = server.documents.get(uri)
    if found is not None and document is not None and server.pushed.get(uri) != (document.serial, found[0]):
        server.pushed[uri] = (document.serial, found[0])
        _push(server, uri, document.version, found[1])


def _push(server: RigServer, uri: str, version: int | None, items: list[types.Diagnostic]) -> None:
    server.text_document_publish_diagnostics(types.PublishDiagnosticsParams(uri, items, version))


async def others_open(server: RigServer, judged: Judged) -> list[Judged]:
    """The verdicts on the other open documents, for one that they may place: what they found may stand in it."""
    if judged.document.kind not in ("blueprint", "catalogue"):
        return []
    others = [document.uri for document in server.documents if document.uri != judged.document.uri]
    found = await asyncio.gather(*(server.judged(uri) for uri in others))
    return [other for other in found if other is not None]


def found_by_others(judged: Judged, others: Iterable[Judged]) -> Iterator[tuple[Judged, JudgedFinding]]:
    """What other verdicts found in the file of this one, which it did not find itself."""
    known = {(finding.rule, finding.span, finding.message) for finding in judged.judgement.findings}
    for other in others:
        for finding in other.judgement.findings:
            if finding.file == judged.judgement.file and (finding.rule, finding.span, finding.message) not in known:
                yield other, finding


def _diagnostics(server: RigServer, judged: Judged, others: Iterable[Judged]) -> Iterator[types.Diagnostic]:
    places = server.places(judged)
    theirs = (finding for _, finding in found_by_others(judged, others))
    for finding in each_once([*judged.judgement.findings, *theirs]):
        yield diagnostic_of(judged, finding, places, server.units)


def diagnostic_of(judged: Judged, finding: JudgedFinding, places: Places, units: Units) -> types.Diagnostic:
    """A finding as the client shows it, in the words of a check."""
    message = message_of(finding, units)
    if finding.file != judged.judgement.file:
        message = f"{place_words(finding.file, finding.span)}: {message}"
    address = rule_address(finding.rule)
    return types.Diagnostic(
        range=judged.document.content.range_of(span_in(judged, finding)),
        message=message,
        severity=types.DiagnosticSeverity.Hint if finding.passes else _SEVERITY[finding.level],
        code=finding.rule,
        code_description=types.CodeDescription(address) if address else None,
        source="lineshaft",
        tags=_TAGS.get(finding.rule),
        related_information=[*_related(judged, finding, places, units)] or None,
        data={"fingerprint": finding.fingerprint, "part": finding.home[1]},
    )


def message_of(finding: JudgedFinding, units: Units) -> str:
    """What is wrong as a sentence, and why it does not count where it does not."""
    accepted = accepted_words(finding)
    said = sentence(headline(finding), units)
    return visible(f"{said} ({accepted})" if accepted else said)


def span_in(judged: Judged, finding: JudgedFinding) -> Span:
    """Where a finding stands in a document: at its place, or at the line that brings in the file where that is."""
    file = judged.judgement.file
    if finding.file == file:
        return finding.span
    lines: tuple[Cause, ...] = finding.placement.lines if finding.placement is not None else ()
    for cause in (*lines, *finding.because):
        if cause.file == file:
            return cause.span
    inspected = judged.judgement.inspected
    tree = None if inspected is None else inspected.loaded.tree
    if tree is not None and tree.at(("catalogue",)) is not None:
        return tree.span(("catalogue",))
    return TOP


def _related(
    judged: Judged, finding: JudgedFinding, places: Places, units: Units
) -> Iterator[types.DiagnosticRelatedInformation]:
    """The chain of causes; first the very place, where that is in another file."""
    if finding.file != judged.judgement.file:
        place = places.location(finding.file, finding.span)
        yield types.DiagnosticRelatedInformation(place, visible(sentence(finding.message, units)))
    for cause in finding.because:
        who = f"{cause.part} " if cause.part else ""
        said = visible(f"{who}{words(cause.message, units)}")
        yield types.DiagnosticRelatedInformation(places.location(cause.file, cause.span), said)
