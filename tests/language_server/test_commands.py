"""What runs by name: a machine sized, the drawing, the expanded rig; and what is wrong in files that are not open."""

import asyncio
import xml.etree.ElementTree as ET
from pathlib import Path
from urllib.parse import quote

from command_runner import run
from editor import Editor, edit
from lsprotocol import types

PLANKS = "late-planks.rig.yaml"
STONES = "three-stones.rig.yaml"
STEP = "overloaded-step.rig.yaml"


def test_a_machine_has_a_lens_that_sizes_it(works: Path) -> None:
    """The README's two chains are offered; the one that is chosen goes into the text, as `size --apply 1` writes it."""
    written: list[str] = []

    async def work(editor: Editor) -> None:
        chosen: list[str] = []

        @editor.client.feature(types.WINDOW_SHOW_MESSAGE_REQUEST)
        def choose(params: types.ShowMessageRequestParams) -> types.MessageActionItem:
            chosen.extend(action.title for action in params.actions or ())
            return types.MessageActionItem(chosen[0])

        @editor.client.feature(types.WORKSPACE_APPLY_EDIT)
        def apply(params: types.ApplyWorkspaceEditParams) -> types.ApplyWorkspaceEditResult:
            edits = [e for change in params.edit.document_changes or () for e in change.edits]  # type: ignore[union-attr]
            editor.write(PLANKS, editor.applied(PLANKS, edits))
            return types.ApplyWorkspaceEditResult(True)

        editor.open(PLANKS)
        lenses = await editor.answer(
            editor.client.text_document_code_lens_async(types.CodeLensParams(editor.document(PLANKS)))
        )
        (lens,) = lenses
        assert lens.command.title == "size…" and lens.range.start == editor.at(PLANKS, "saw:")
        params = types.ExecuteCommandParams(lens.command.command, lens.command.arguments)
        found = await editor.answer(editor.client.workspace_execute_command_async(params))
        assert found["choices"] == chosen and len(chosen) == 2
        written.append(editor.texts[PLANKS])

    edit(works, work)
    assert run(works, "size", PLANKS, "saw", "--apply", "1").returncode == 0
    assert written == [(works / PLANKS).read_text("utf-8")]


def test_the_drawing_is_that_of_the_text_with_the_line_of_each_card(works: Path) -> None:
    """Five cards; each leads to the line that places its part."""

    async def work(editor: Editor) -> None:
        text = editor.open(STEP)
        params = types.ExecuteCommandParams("lineshaft.drawing", [editor.uri(STEP)])
        found = await editor.answer(editor.client.workspace_execute_command_async(params))
        titles = [each.text or "" for each in ET.fromstring(found["svg"]).iter("{http://www.w3.org/2000/svg}title")]
        for part, line in found["lines"].items():
            assert text.split("\n")[line].startswith(f"  {part}:")
            assert any(title.startswith(f"{part}: ") for title in titles)
        assert list(found["lines"]) == ["wheel", "lay", "step", "cross", "roller"]

    edit(works, work)


def test_the_expanded_rig_and_the_drawing_are_texts_that_can_be_read(works: Path) -> None:
    """Each part of a placed blueprint in its place, with what it carries: by the file 58.78 N·m at the second."""

    async def work(editor: Editor) -> None:
        editor.open(STONES)
        address = quote(editor.uri(STONES), safe="")
        params = types.TextDocumentContentParams(f"lineshaft:/expanded.yaml?{address}")
        found = await editor.answer(editor.client.workspace_text_document_content_async(params))
        row = next(line for line in found.text.split("\n") if line.startswith("  leg-b/stone:"))
        assert row.startswith("  leg-b/stone: {item: grindstone, driven-by: leg-b/step}  # 58.78 N·m  24 rad/s")
        params = types.TextDocumentContentParams(f"lineshaft:/drawing.svg?{address}")
        found = await editor.answer(editor.client.workspace_text_document_content_async(params))
        assert ET.fromstring(found.text).tag == "{http://www.w3.org/2000/svg}svg"

    edit(works, work)


def test_files_that_are_not_open_are_told_of_and_told_again_when_they_change(works: Path) -> None:
    """All samples that a check finds something in; once the client knows them, an answer waits for a change."""

    async def work(editor: Editor) -> None:
        asked = types.WorkspaceDiagnosticParams([])
        report = await editor.answer(editor.client.workspace_diagnostic_async(asked))
        found = {Path(each.uri).name: each for each in report.items}
        assert [each.code for each in found[STEP].items] == ["torque-over-limit"]
        assert "lagoon.rig.yaml" not in found
        asked.previous_result_ids = [types.PreviousResultId(each.uri, each.result_id) for each in report.items]
        waiting = asyncio.ensure_future(editor.client.workspace_diagnostic_async(asked))
        await asyncio.sleep(0.5)
        assert not waiting.done()
        text = (works / STEP).read_text("utf-8")
        (works / STEP).write_text(text.replace("iron-stage", "steel-stage"), "utf-8")
        report = await editor.answer(waiting)
        changed = {Path(each.uri).name: each for each in report.items if each.kind == "full"}
        assert set(changed) == {STEP} and not changed[STEP].items

    edit(works, work)
