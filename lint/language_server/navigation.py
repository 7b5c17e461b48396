"""From a name to where it is made known, to all places that name it, and to another name everywhere."""

import re
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Protocol, TypeVar

from lsprotocol import types
from pygls.exceptions import JsonRpcInvalidRequest

from lineshaft.language_server.judgements import Judged
from lineshaft.language_server.mentions import Mention
from lineshaft.language_server.names import Names, Spot, Symbol
from lineshaft.language_server.server import Places, RigServer
from lineshaft.schema.text.scalar_text import scalar_text

Found = TypeVar("Found")
_NAME = re.compile("[A-Za-z0-9_-]{1,64}")


def register(server: RigServer) -> None:
    """Answer requests that lead from a name to other places."""

    @server.feature(types.TEXT_DOCUMENT_DEFINITION)
    async def definition(params: types.DefinitionParams) -> types.Location | None:
        def look(names: Names, symbol: Symbol, _: Mention) -> Spot | None:
            return names.definition(symbol)

        found = await _asked(server, params, look)
        return None if found is None or found[1] is None else _location(server.places(found[0]), found[1])

    @server.feature(types.TEXT_DOCUMENT_REFERENCES)
    async def references(params: types.ReferenceParams) -> list[types.Location]:
        def look(names: Names, symbol: Symbol, _: Mention) -> list[Spot]:
            return list(names.spots(symbol))

        found = await _asked(server, params, look)
        if found is None:
            return []
        places, wanted = server.places(found[0]), params.context.include_declaration
        return [_location(places, spot) for spot in found[1] if wanted or not spot.defines]

    @server.feature(types.TEXT_DOCUMENT_DOCUMENT_HIGHLIGHT)
    async def highlight(params: types.DocumentHighlightParams) -> list[types.DocumentHighlight]:
        document = server.documents.get(params.text_document.uri)

        def look(names: Names, symbol: Symbol, _: Mention) -> list[Spot]:
            return [] if document is None else list(names.spots_in(document.path, symbol))

        found = await _asked(server, params, look)
        if found is None:
            return []
        places = server.places(found[0])
        kinds = types.DocumentHighlightKind
        return [
            types.DocumentHighlight(_location(places, spot).range, kinds.Write if spot.defines else kinds.Read)
            for spot in found[1]
        ]

    _register_rename(server)


def _register_rename(server: RigServer) -> None:
    @server.feature(types.TEXT_DOCUMENT_PREPARE_RENAME)
    async def prepare_rename(params: types.PrepareRenameParams) -> types.PrepareRenamePlaceholder | None:
        def look(names: Names, symbol: Symbol, mention: Mention) -> tuple[Symbol, Mention, bool]:
            return symbol, mention, names.definition(symbol) is not None

        found = await _asked(server, params, look)
        if found is None or not found[1][2] or found[1][0].kind in ("file", "rule"):
            return None
        content, mention = found[0].document.content, found[1][1]
        # Clients want the place that they asked about within it: before a parameter's name stands its sign.
        start = min(mention.start + content.start, content.index(params.position))
        shown = content.range(start, mention.end + content.start)
        return types.PrepareRenamePlaceholder(range=shown, placeholder=mention.name)

    @server.feature(types.TEXT_DOCUMENT_RENAME, types.RenameOptions(prepare_provider=True))
    async def rename(params: types.RenameParams) -> types.WorkspaceEdit | None:
        new = params.new_name

        def look(names: Names, symbol: Symbol, _: Mention) -> tuple[list[Spot], list[Path]]:
            refusal = _refusal(names, symbol, new)
            if refusal is not None:
                raise JsonRpcInvalidRequest(refusal)
            return list(names.spots(symbol)), names.unread

        found = await _asked(server, params, look)
        if found is None:
            return None
        spots, unread = found[1]
        if unread:
            left = ", ".join(path.name for path in unread[:5])
            server.say(f"{left} cannot be read as YAML and may have the old name still")
        return edits_at(server, server.places(found[0]), spots, new)


def _refusal(names: Names, symbol: Symbol, new: str) -> str | None:
    """Why a symbol cannot have another name."""
    if symbol.kind in ("file", "rule") or names.definition(symbol) is None:
        return f"{symbol.name} is not named in a rig, blueprint or catalogue of this repository"
    if not _NAME.fullmatch(new):
        return "a name is 1 to 64 letters, digits, _ and -"
    if scalar_text(new) != new:
        return f"YAML reads {new} as a number or a truth value: begin the name with a letter"
    if new in names.known_in(symbol.file, symbol.kind, symbol.owner):
        return f"there is {new} already; choose another name"
    return None


def edits_at(server: RigServer, places: Places, spots: Iterable[Spot], text: str) -> types.WorkspaceEdit:
    """The edit that puts a text in the place of all of some spots."""
    by_file: dict[Path, list[Spot]] = {}
    for spot in spots:
        by_file.setdefault(spot.file, []).append(spot)
    edits = {}
    for path, there in by_file.items():
        uri, content = places.at(path)
        first = content.start
        edits[uri] = [types.TextEdit(content.range(spot.start + first, spot.end + first), text) for spot in there]
    return server.workspace_edit(edits)


def _location(places: Places, spot: Spot) -> types.Location:
    uri, content = places.at(spot.file)
    return types.Location(uri, content.range(spot.start + content.start, spot.end + content.start))


class _AtPlace(Protocol):
    """What every request at a place has."""

    text_document: types.TextDocumentIdentifier
    position: types.Position


async def _asked(
    server: RigServer, params: _AtPlace, look: Callable[[Names, Symbol, Mention], Found]
) -> tuple[Judged, Found] | None:
    """What there is to see of the name at a place, looked for beside the loop; none where nothing is named there."""
    judged = await server.judged(params.text_document.uri)
    if judged is None or judged.judgement.resolved is None:
        return None
    content, path = judged.document.content, judged.document.path
    index = content.index(params.position) - content.start
    texts, judgement = server.documents.texts(), judged.judgement

    def work() -> tuple[Found] | None:
        names = Names(judgement, texts)
        found = names.symbol_at(path, index)
        return None if found is None else (look(names, *found),)

    seen = await server.judgements.work(work)
    return None if seen is None else (judged, seen[0])
