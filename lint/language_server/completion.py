"""What may be written at a place: keys, and the names, ratios, grades and units that fit there."""

from collections.abc import Iterator
from typing import Final

from lsprotocol import types

from lineshaft.language_server.documents import OpenDocument
from lineshaft.language_server.proposals import Proposal, proposals
from lineshaft.language_server.server import RigServer
from lineshaft.language_server.typing_place import TypingPlace, typing_place

_KINDS: Final = {
    "key": types.CompletionItemKind.Property,
    "value": types.CompletionItemKind.EnumMember,
    "item": types.CompletionItemKind.Class,
    "part": types.CompletionItemKind.Variable,
    "file": types.CompletionItemKind.File,
    "rule": types.CompletionItemKind.Constant,
    "unit": types.CompletionItemKind.Unit,
    "snippet": types.CompletionItemKind.Snippet,
}
_TRIGGERS: Final = ": .{[,$/"
MOST: Final = 500
"""How many proposals are sent; whoever types on gets those that fit."""


def register(server: RigServer) -> None:
    """Answer requests for what may be written."""
    options = types.CompletionOptions(trigger_characters=[*_TRIGGERS], resolve_provider=False)

    @server.feature(types.TEXT_DOCUMENT_COMPLETION, options)
    async def completion(params: types.CompletionParams) -> types.CompletionList:
        judged = await server.judged(params.text_document.uri)
        document = server.documents.get(params.text_document.uri)
        if judged is None or document is None:
            return types.CompletionList(False, [])
        content = document.content
        place = typing_place(content.text, content.index(params.position))
        if place is None:
            return types.CompletionList(False, [])
        known = server.judgements.last_solved(document.uri) or judged
        found = await server.judgements.work(lambda: proposals(document.kind, place, judged.judgement, known.judgement))
        fitting = _fitting(found, place)
        items = [*_items(document, place, fitting[:MOST], server.takes_snippets())]
        return types.CompletionList(len(fitting) > MOST, items)


def _fitting(found: list[Proposal], place: TypingPlace) -> list[Proposal]:
    """Those that have what is typed in them; clients sort and narrow further."""
    typed = place.prefix.strip("\"'").casefold()
    return [each for each in found if typed in each.label.casefold() or each.kind == "unit"]


def _items(
    document: OpenDocument, place: TypingPlace, found: list[Proposal], snippets: bool
) -> Iterator[types.CompletionItem]:
    content = document.content
    for number, each in enumerate(found):
        if each.kind == "snippet" and not snippets:
            continue
        start = place.start if each.start is None else place.start + each.start
        shown = content.range(start, place.start + len(place.prefix))
        form = types.InsertTextFormat.Snippet if each.kind == "snippet" else types.InsertTextFormat.PlainText
        said = types.MarkupContent(types.MarkupKind.PlainText, each.said) if each.said else None
        yield types.CompletionItem(
            each.label,
            kind=_KINDS[each.kind],
            detail=each.detail or None,
            documentation=said,
            sort_text=f"{number:05d}",
            insert_text_format=form,
            text_edit=types.TextEdit(shown, each.text),
        )
