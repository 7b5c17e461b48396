"""What is run by name: a machine sized, a rig's drawing, a rig with its blueprints' parts; and the lens above machines.

Texts that can only be read have addresses of the scheme `lineshaft`: `lineshaft:/drawing.svg?ADDRESS` and
`lineshaft:/expanded.yaml?ADDRESS`, where ADDRESS is the rig's, percent-encoded.
"""

from typing import Any, Final
from urllib.parse import unquote

from lsprotocol import types

from lineshaft.api import sizes_of
from lineshaft.language_server.code_actions import edit_of, title_of
from lineshaft.language_server.figures import parts_written_in
from lineshaft.language_server.judgements import Judged
from lineshaft.language_server.repair_search import RepairSearch
from lineshaft.language_server.server import SCHEME, VIEWS, RigServer
from lineshaft.language_server.views import drawing, expanded
from lineshaft.write.escape import visible
from lineshaft.write.shown_units import words

SIZE: Final = "lineshaft.size"
DRAWING: Final = "lineshaft.drawing"
EXPANDED: Final = "lineshaft.expanded"
_MOST_CHOICES: Final = 5


def register(server: RigServer) -> None:
    """Offer the commands, the lens that runs one, and the texts that can only be read."""
    search = RepairSearch(server)

    @server.command(SIZE)
    async def size(uri: str, machine: str) -> dict[str, Any]:
        return await _sized(server, search, str(uri), str(machine))

    @server.command(DRAWING)
    async def draw(uri: str) -> dict[str, Any] | None:
        judged = await server.judged(str(uri))
        made = None if judged is None else await search.beside(judged, lambda: drawing(judged.judgement, server.units))
        if judged is None or made is None:
            return None
        return {"svg": made.svg, "lines": made.lines, "version": judged.document.version}

    @server.command(EXPANDED)
    async def expand(uri: str) -> str | None:
        return await _expanded(server, str(uri))

    @server.feature(types.TEXT_DOCUMENT_CODE_LENS, types.CodeLensOptions(resolve_provider=False))
    async def code_lens(params: types.CodeLensParams) -> list[types.CodeLens]:
        judged = await server.judged(params.text_document.uri)
        return [] if judged is None else _lenses(judged)

    @server.feature(types.WORKSPACE_TEXT_DOCUMENT_CONTENT, types.TextDocumentContentOptions([SCHEME]))
    async def content(params: types.TextDocumentContentParams) -> types.TextDocumentContentResult:
        view, _, address = params.uri.removeprefix(f"{SCHEME}:").lstrip("/").partition("?")
        uri = unquote(address)
        if view == VIEWS[0]:
            return types.TextDocumentContentResult(await _expanded(server, uri) or "# nothing could be solved\n")
        made = await draw(uri) if view == VIEWS[1] else None
        return types.TextDocumentContentResult(str(made["svg"]) if made is not None else "")


async def _expanded(server: RigServer, uri: str) -> str | None:
    judged = await server.judged(uri)
    if judged is None:
        return None
    return await server.judgements.work(lambda: expanded(judged.judgement, server.units))


def _lenses(judged: Judged) -> list[types.CodeLens]:
    """`size…` above each machine that a rig itself writes down."""
    found, content = judged.judgement.inspected, judged.document.content
    if found is None or judged.document.kind != "rig" or found.loaded.tree is None:
        return []
    lenses = []
    for _, part in parts_written_in(found.rig, judged.judgement.file):
        if part.item.kind == "driven-machine" and part.inlets:
            start, end = part.tree.key_slice(part.route)
            shown = content.range(start + content.start, end + content.start)
            command = types.Command("size…", SIZE, arguments=[judged.document.uri, part.name])
            lenses.append(types.CodeLens(shown, command))
    return lenses


async def _sized(server: RigServer, search: RepairSearch, uri: str, machine: str) -> dict[str, Any]:
    """Have a person choose among the chains of stages for a machine, and put the chosen one into the text."""
    judged = await server.judged(uri)
    if judged is None:
        return {"machine": machine, "choices": [], "reason": "the rig is not open"}
    found = await search.beside(judged, lambda: sizes_of(judged.judgement, machine))
    if not found:
        return {"machine": machine, "choices": [], "reason": "the text has changed"}
    if isinstance(found[0], str):
        reason = visible(words(found, server.units))
        server.say(f"{machine}: {reason}")
        return {"machine": machine, "choices": [], "reason": reason}
    titles = [title_of(repair) for repair in found[:_MOST_CHOICES]]
    asked = types.ShowMessageRequestParams(
        types.MessageType.Info, f"Stages for {machine}", [types.MessageActionItem(title) for title in titles]
    )
    chosen = await server.asked(server.window_show_message_request_async(asked))
    if chosen is not None and chosen.title in titles and server.is_open(judged):
        edit = edit_of(server, found[titles.index(chosen.title)], server.places(judged))
        applied = types.ApplyWorkspaceEditParams(edit, f"stages for {machine}")
        await server.asked(server.workspace_apply_edit_async(applied))
    return {"machine": machine, "choices": titles, "reason": None}
