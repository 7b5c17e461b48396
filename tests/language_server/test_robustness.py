"""Nothing that a client does leaves it without an answer: half-typed files, odd letters, storms, files that vanish.

`LINESHAFT_LONG=1` takes every offset of every sample and two minutes of storm.
"""

import asyncio
import os
import signal
import sys
import time
from pathlib import Path
from random import Random
from typing import Any

import pytest
from editor import PUSHED_TO, Editor, edit
from lsprotocol import types

LONG = os.environ.get("LINESHAFT_LONG") == "1"
STEP = "overloaded-step.rig.yaml"
STONES = "three-stones.rig.yaml"
CATALOGUE = "catalogues/tern-harbour.catalogue.yaml"


async def everything(editor: Editor, name: str, where: types.Position) -> None:
    """One request of each family at a place; each has to be answered, none with an error."""
    client, document = editor.client, editor.document(name)
    whole = types.Range(types.Position(0, 0), types.Position(9_999, 0))
    await editor.answer(
        asyncio.gather(
            client.text_document_diagnostic_async(types.DocumentDiagnosticParams(document)),
            client.text_document_inlay_hint_async(types.InlayHintParams(document, whole)),
            client.text_document_hover_async(types.HoverParams(document, where)),
            client.text_document_completion_async(types.CompletionParams(document, where)),
            client.text_document_definition_async(types.DefinitionParams(document, where)),
            client.text_document_document_highlight_async(types.DocumentHighlightParams(document, where)),
            client.text_document_prepare_rename_async(types.PrepareRenameParams(document, where)),
            client.text_document_document_symbol_async(types.DocumentSymbolParams(document)),
            client.text_document_document_link_async(types.DocumentLinkParams(document)),
            client.text_document_folding_range_async(types.FoldingRangeParams(document)),
            client.text_document_code_lens_async(types.CodeLensParams(document)),
        )
    )


def end_of(text: str) -> types.Position:
    """The place behind a text, in UTF-16."""
    line = text[text.rfind("\n") + 1 :]
    return types.Position(text.count("\n"), len(line.encode("utf-16-le")) // 2)


def test_every_request_is_answered_on_the_beginnings_of_every_sample(works: Path) -> None:
    """A file is typed from its first letter to its last; in the short form every 211th letter."""

    async def work(editor: Editor) -> None:
        names = sorted(path.relative_to(works).as_posix() for path in works.rglob("*.yaml"))
        for number, name in enumerate(names):
            text = editor.open(name)
            for offset in range(0 if LONG else number * 7, len(text), 1 if LONG else 211):
                editor.write(name, text[:offset])
                await everything(editor, name, end_of(text[:offset]))
            editor.close(name)

    edit(works, work)


ODD = (
    "rig: 1\r\nname: \"🌊 Fähre\"\r\ncatalogue: {catalogue}\r\nparts:\r\n"
    "  wheel: {{item: creek-wheel}}\r\n"
    "  \"mill\": {{label: \"🌊🌊 é\", item: saw-frme, driven-by: wheel}}\r\n"
)


@pytest.mark.parametrize(("encoding", "column"), [("utf-16", 34), ("utf-8", 39), ("utf-32", 32)])
def test_places_are_counted_in_the_units_that_are_agreed_on(works: Path, encoding: str, column: int) -> None:
    """The misspelt item stands behind two waves and an é: 32 letters, each wave two units of UTF-16 and four bytes."""
    text = ODD.format(catalogue=CATALOGUE)
    line = text.split("\r\n")[5]
    assert line[:32].endswith("item: ")

    async def work(editor: Editor) -> None:
        editor.open("odd.rig.yaml", text)
        (found,) = await editor.diagnostics("odd.rig.yaml")
        assert found.code == "unknown-reference"
        assert found.range.start == types.Position(5, column)
        assert found.range.end == types.Position(5, column + len("saw-frme"))
        actions = await editor.actions("odd.rig.yaml", found.range.start, ["quickfix"])
        edits = [e for c in actions[0].edit.document_changes for e in c.edits]  # type: ignore[union-attr]
        assert [(e.range.start, e.new_text) for e in edits] == [(found.range.start, "saw-frame")]

    edit(works, work, encodings=[encoding])


def test_a_lone_carriage_return_ends_a_line_of_the_client(works: Path) -> None:
    """The file is refused where it stands, and the client sees that at the end of its first line."""

    async def work(editor: Editor) -> None:
        editor.open("cr.rig.yaml", "rig: 1\rname: x\n")
        (found,) = await editor.diagnostics("cr.rig.yaml")
        assert found.code == "not-yaml" and "carriage return" in found.message
        assert (found.range.start, found.range.end) == (types.Position(0, 6), types.Position(1, 0))
        await everything(editor, "cr.rig.yaml", types.Position(1, 3))

    edit(works, work)


@pytest.mark.parametrize("text", ["", "\ufeff", "\x00", "\ud83c", "- \t\u2028", "{" * 100, "parts: *a", "a: &a [*a]"])
def test_a_text_that_is_no_rig_at_all_is_answered(works: Path, text: str) -> None:
    """Nothing, a mark, a control, half a surrogate pair, brackets, aliases that lead nowhere."""

    async def work(editor: Editor) -> None:
        editor.open("odd.rig.yaml", text)
        await everything(editor, "odd.rig.yaml", types.Position(0, 1))
        assert await editor.diagnostics("odd.rig.yaml")

    edit(works, work)


def test_the_server_goes_when_its_client_has_gone(works: Path) -> None:
    """Its input is closed without a word; it ends by itself."""

    async def work(editor: Editor) -> None:
        editor.open(STEP)
        await editor.hints(STEP)
        server = editor.client._server
        assert server is not None and server.stdin is not None
        server.stdin.close()
        assert await asyncio.wait_for(server.wait(), 20) is not None

    with pytest.raises(Exception):  # noqa: B017 - what the library raises when it cannot say goodbye
        edit(works, work)


def test_a_client_that_refuses_what_is_asked_of_it_is_served_all_the_same(works: Path) -> None:
    """It says that it watches files and keeps settings, and then answers neither: no error is shown to the person."""

    async def work(editor: Editor) -> None:
        editor.open(STEP)
        assert [each.code for each in await editor.diagnostics(STEP)] == ["torque-over-limit"]
        await asyncio.sleep(0.2)
        assert editor.client.messages == []

    edit(works, work)


def test_the_server_ends_at_once_when_it_is_told_to(works: Path) -> None:
    """With its input still open, as some editors leave it; 0, for it was asked to shut down first."""

    async def work(editor: Editor) -> None:
        editor.open(STEP)
        await editor.hints(STEP)
        server = editor.client._server
        assert server is not None
        await editor.client.shutdown_async(None)
        editor.client.exit(None)
        assert await asyncio.wait_for(server.wait(), 5) == 0
        raise Gone

    with pytest.raises(Gone):
        edit(works, work)


@pytest.mark.skipif(sys.platform == "win32", reason="there are no such signals")
def test_the_server_ends_when_it_is_interrupted(works: Path) -> None:
    """Though the thread that reads waits for the client; 2, for nobody asked it to shut down."""

    async def work(editor: Editor) -> None:
        editor.open(STEP)
        await editor.hints(STEP)
        server = editor.client._server
        assert server is not None
        server.send_signal(signal.SIGTERM)
        assert await asyncio.wait_for(server.wait(), 10) == 2
        raise Gone

    with pytest.raises(Gone):
        edit(works, work)


class Gone(Exception):
    """That the server has ended, and nobody has to say goodbye to it."""


async def storm(editor: Editor, works: Path, seconds: float) -> None:
    """Edits as fast as they go out, requests some of which are called off, a catalogue that changes, files that go."""
    names = [STEP, STONES, "whole-works.rig.yaml"]
    texts = {name: editor.open(name) for name in names}
    catalogue = editor.open(CATALOGUE)
    rng, until, asked, edits = Random(3), time.monotonic() + seconds, [], 0
    while time.monotonic() < until:
        name = rng.choice(names)
        for _ in range(50):
            cut = rng.randrange(len(texts[name]))
            editor.write(name, texts[name][:cut] + rng.choice(["", "{", "\n", " x: ", "🌊"]) + texts[name][cut:])
            edits += 1
        if edits % 400 == 0:
            limit = rng.choice(["1200 N*m", "700 N*m", "2500 N*m", "x"])
            editor.write(CATALOGUE, catalogue.replace("1200 N*m", limit, 1))
        if edits % 600 == 0:
            gone = works / "blueprints/stone-leg.blueprint.yaml"
            kept = gone.read_bytes()
            gone.unlink()
            asked.append(asyncio.ensure_future(editor.diagnostics(STONES)))
            await asyncio.sleep(0.01)
            gone.write_bytes(kept)
        asked.append(asyncio.ensure_future(everything(editor, name, types.Position(rng.randrange(20), 4))))
        if edits % 150 == 0:
            editor.client.protocol.notify("$/cancelRequest", types.CancelParams(next(iter(_pending(editor)), 0)))
        await asyncio.sleep(0.05)
    for name in names:
        editor.write(name, texts[name])
    editor.write(CATALOGUE, catalogue)
    done = await asyncio.wait_for(asyncio.gather(*asked, return_exceptions=True), 60)
    assert all(one is None or isinstance(one, list) or "cancel" in str(one).lower() for one in done)


def _pending(editor: Editor) -> list[Any]:
    return list(editor.client.protocol._request_futures)


def test_after_a_storm_all_is_right_and_no_request_is_left(works: Path) -> None:
    """What is shown is what a check finds, by clients that ask and by those that are told."""

    async def work(editor: Editor) -> None:
        await storm(editor, works, 120 if LONG else 4)
        assert [each.code for each in await editor.diagnostics(STEP)] == ["torque-over-limit"]
        assert await editor.diagnostics(STONES) == []
        assert (await editor.hints(STEP))[10] == "2.25 kN·m  8 rad/s  188 %"
        assert not _pending(editor)

    edit(works, work)


def test_a_client_that_is_told_hears_the_last_of_many_edits(works: Path) -> None:
    """A thousand edits in a row; what is pushed last is on the last of them."""

    async def work(editor: Editor) -> None:
        text = editor.open(STEP)
        for number in range(1000):
            editor.write(STEP, text if number % 2 else text.replace("iron-stage", "steel-stage"))
        seen = None
        for _ in range(100):  # until what is shown rests for as long as ten answers take
            before, seen = seen, [each.code for each in editor.client.diagnostics.get(editor.uri(STEP), ())]
            if before == seen == ["torque-over-limit"]:
                break
            await asyncio.sleep(0.3)
        assert seen == ["torque-over-limit"]

    edit(works, work, like=PUSHED_TO)
