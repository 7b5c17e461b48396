"""The outline of a file, what a repository makes known, links to other files, and what may be folded."""

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from lsprotocol import types

from lineshaft.api import Judgement, Route
from lineshaft.language_server.documents import OpenDocument, uri_of
from lineshaft.language_server.mentions import mentions_in
from lineshaft.language_server.names import Names
from lineshaft.language_server.server import RigServer
from lineshaft.run.discovery import walk
from lineshaft.schema.loading import kind_of
from lineshaft.schema.text.tree import Tree

MOST_FILES: Final = 500
"""How many files of a repository are looked through for a symbol."""
MOST_SYMBOLS: Final = 1_000
_KINDS: Final = {
    "parts": types.SymbolKind.Object,
    "items": types.SymbolKind.Class,
    "grades": types.SymbolKind.Constant,
    "components": types.SymbolKind.Struct,
    "raw": types.SymbolKind.Struct,
    "inlets": types.SymbolKind.Interface,
    "outlets": types.SymbolKind.Interface,
    "takes": types.SymbolKind.TypeParameter,
    "lubrication": types.SymbolKind.Package,
    "commissioning": types.SymbolKind.Event,
    "readings": types.SymbolKind.Number,
    "waivers": types.SymbolKind.Boolean,
}


def register(server: RigServer) -> None:
    """Answer requests for what a file, and a repository, consist of."""

    @server.feature(types.TEXT_DOCUMENT_DOCUMENT_SYMBOL)
    async def symbols(params: types.DocumentSymbolParams) -> list[types.DocumentSymbol]:
        found = await _tree(server, params.text_document.uri)
        return [] if found is None else list(_sections(*found))

    @server.feature(types.TEXT_DOCUMENT_DOCUMENT_LINK, types.DocumentLinkOptions(resolve_provider=False))
    async def links(params: types.DocumentLinkParams) -> list[types.DocumentLink]:
        judged = await server.judged(params.text_document.uri)
        if judged is None or judged.judgement.resolved is None:
            return []
        document, judgement, texts = judged.document, judged.judgement, server.documents.texts()
        found = await server.judgements.work(lambda: list(_links(judgement, texts, document)))
        first, content = document.content.start, document.content
        return [
            types.DocumentLink(content.range(start + first, end + first), uri_of(target), "open the file")
            for start, end, target in found
        ]

    @server.feature(types.TEXT_DOCUMENT_FOLDING_RANGE)
    async def folding(params: types.FoldingRangeParams) -> list[types.FoldingRange]:
        found = await _tree(server, params.text_document.uri)
        return [] if found is None else list(_folds(*found))

    @server.feature(types.WORKSPACE_SYMBOL)
    async def everywhere(params: types.WorkspaceSymbolParams) -> list[types.SymbolInformation]:
        found: list[types.SymbolInformation] = []
        for document in server.documents:
            judged = await server.judged(document.uri)
            if judged is not None and judged.judgement.resolved is not None:
                judgement, texts, places = judged.judgement, server.documents.texts(), server.places()
                spots = await server.judgements.work(lambda: _known(judgement, texts, params.query))  # noqa: B023
                for name, kind, path, start, end in spots:
                    uri, content = places.at(path)
                    place = types.Location(uri, content.range(start + content.start, end + content.start))
                    found.append(types.SymbolInformation(place, name, kind, container_name=path.name))
                break  # the files of one repository; that of the first document that is open
        return found


async def _tree(server: RigServer, uri: str) -> tuple[Tree, OpenDocument] | None:
    judged = await server.judged(uri)
    if judged is None or judged.judgement.resolved is None:
        return None
    judgement, document = judged.judgement, judged.document
    texts = {document.path: document.content.raw()}
    tree = await server.judgements.work(lambda: Names(judgement, texts).tree(document.path))
    return None if tree is None else (tree, document)


def _sections(tree: Tree, document: OpenDocument) -> Iterator[types.DocumentSymbol]:
    """The sections of a file with what each holds by name or number."""
    data = tree.data if isinstance(tree.data, dict) else {}
    for section, held in data.items():
        kind = _KINDS.get(section)
        if kind is None:
            continue
        keys: list[str | int] = list(held) if isinstance(held, dict) else []
        if isinstance(held, list):
            keys = list(range(len(held)))
        inner = [_symbol(tree, document, (section, key), kind, held[key]) for key in keys]  # type: ignore[index]
        yield _symbol(tree, document, (section,), types.SymbolKind.Namespace, None, inner)


def _symbol(
    tree: Tree,
    document: OpenDocument,
    route: Route,
    kind: types.SymbolKind,
    held: object,
    inner: list[types.DocumentSymbol] | None = None,
) -> types.DocumentSymbol:
    content, first = document.content, document.content.start
    key_start, key_end = tree.key_slice(route)
    start, end = tree.slice(route)
    name, detail = str(route[-1]), None
    if isinstance(held, dict):
        detail = str(held.get("item") or held.get("blueprint") or held.get("kind") or "") or None
    if isinstance(route[-1], int):
        name = next(iter(held)) if isinstance(held, dict) and held else f"{route[-1] + 1}"
    whole = content.range(min(start, key_start) + first, max(end, key_end) + first)
    named = content.range(key_start + first, key_end + first)
    return types.DocumentSymbol(name, kind, whole, named, detail, children=inner)


def _links(
    judgement: Judgement, texts: dict[Path, bytes], document: OpenDocument
) -> Iterator[tuple[int, int, Path]]:
    names = Names(judgement, texts)
    tree = names.tree(document.path)
    for mention in mentions_in(tree, document.kind) if tree is not None else ():
        symbol = names.symbol(tree, mention) if mention.kind == "file" and tree is not None else None
        if symbol is not None:
            yield mention.start, mention.end, symbol.file


def _folds(tree: Tree, document: OpenDocument) -> Iterator[types.FoldingRange]:
    """What goes over several lines: sections, entries, lists; and comments of several lines."""
    waiting: list[tuple[Route, object]] = [((), tree.data)]
    while waiting:
        route, data = waiting.pop()
        steps: list[tuple[str | int, object]] = []
        if isinstance(data, dict):
            steps = list(data.items())
        elif isinstance(data, list):
            steps = list(enumerate(data))
        for step, inner in steps:
            if isinstance(inner, dict | list):
                waiting.append(((*route, step), inner))
        if route:
            first = tree.source.position(tree.key_slice(route)[0]).line - 1
            start, end = tree.slice(route)
            while end > start and tree.source.text[end - 1].isspace():
                end -= 1
            last = tree.source.position(end).line - 1
            if last > first:
                yield types.FoldingRange(first, last)
    yield from _comments(document)


def _comments(document: OpenDocument) -> Iterator[types.FoldingRange]:
    begin = None
    for number, line in enumerate([*document.content.text.split("\n"), ""]):
        if line.lstrip().startswith("#"):
            begin = number if begin is None else begin
        else:
            if begin is not None and number - 1 > begin:
                yield types.FoldingRange(begin, number - 1, kind=types.FoldingRangeKind.Comment)
            begin = None


def _known(
    judgement: Judgement, texts: dict[Path, bytes], query: str
) -> list[tuple[str, types.SymbolKind, Path, int, int]]:
    """What the files of a repository make known under names with a text in them, in any case of letters."""
    names, wanted = Names(judgement, texts), query.casefold()
    found: list[tuple[str, types.SymbolKind, Path, int, int]] = []
    for number, (path, _) in enumerate(walk(names.loader.repository.root)):
        tree, kind = names.tree(path), kind_of(path)
        if number >= MOST_FILES or len(found) >= MOST_SYMBOLS:
            break
        if tree is None or kind not in ("rig", "blueprint", "catalogue"):
            continue
        for mention in mentions_in(tree, kind):
            section = {"part": "parts", "item": "items", "circuit": "lubrication"}.get(mention.kind)
            if mention.defines and section is not None and wanted in mention.name.casefold():
                found.append((mention.name, _KINDS[section], path, mention.start, mention.end))
    return found[:MOST_SYMBOLS]
