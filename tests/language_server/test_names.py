"""From a name to where it is made known, to its uses, and to another name everywhere: in rigs, blueprints, lists."""

import json
import re
from pathlib import Path

import pytest
from command_runner import run
from editor import Editor, edit
from lsprotocol import types
from pygls.exceptions import JsonRpcException

WORKS = "whole-works.rig.yaml"
STONES = "three-stones.rig.yaml"
LEG = "blueprints/stone-leg.blueprint.yaml"
CATALOGUE = "catalogues/tern-harbour.catalogue.yaml"
STEP = "overloaded-step.rig.yaml"


async def defined(editor: Editor, name: str, where: types.Position) -> tuple[str, str] | None:
    """Where a definition leads: the file's name, and the line there from the definition on."""
    params = types.DefinitionParams(editor.document(name), where)
    found = await editor.answer(editor.client.text_document_definition_async(params))
    if found is None:
        return None
    assert isinstance(found, types.Location)
    path = Path(found.uri.removeprefix("file://"))
    start, end = found.range.start, found.range.end
    line = path.read_text("utf-8").split("\n")[start.line]
    return path.name, line[start.character : end.character] if end != start else ""


async def renamed(editor: Editor, name: str, where: types.Position, new: str) -> dict[str, str]:
    """Rename, and write every file as the client would: names of the files changed with their new texts."""
    params = types.RenameParams(editor.document(name), where, new)
    edit = await editor.answer(editor.client.text_document_rename_async(params))
    assert edit is not None and edit.document_changes is not None
    texts = {}
    for change in edit.document_changes:
        path = Path(change.text_document.uri.removeprefix("file://"))
        lines = path.read_text("utf-8").split("\n")
        for one in sorted(change.edits, key=lambda one: -one.range.start.character):
            line, start, end = one.range.start.line, one.range.start.character, one.range.end.character
            assert one.range.end.line == line
            lines[line] = lines[line][:start] + one.new_text + lines[line][end:]
        texts[path.name] = "\n".join(lines)
        path.write_text(texts[path.name], "utf-8")
    return texts


def test_a_name_leads_to_where_it_is_made_known(works: Path) -> None:
    """A part and its outlet, an item in the catalogue, a part that a circuit feeds, a lubricant."""

    async def work(editor: Editor) -> None:
        editor.open(WORKS)
        outlet = editor.at(WORKS, "fan.saws", len("fan.s"))
        assert await defined(editor, WORKS, outlet) == (WORKS, "saws")
        assert await defined(editor, WORKS, editor.at(WORKS, "fan.saws")) == (WORKS, "fan")
        item = editor.at(WORKS, "item: oil-press", len("item: o"))
        assert await defined(editor, WORKS, item) == ("tern-harbour.catalogue.yaml", "oil-press")
        assert await defined(editor, WORKS, editor.at(WORKS, "supplied-by: press", 14)) == (WORKS, "press")
        assert await defined(editor, WORKS, editor.at(WORKS, "lubricant: flax-oil", 12)) == (
            "tern-harbour.catalogue.yaml", "flax-oil",
        )
        assert await defined(editor, WORKS, editor.at(WORKS, "name: The")) is None

    edit(works, work)


def test_a_placed_blueprint_leads_into_its_file(works: Path) -> None:
    """Its file, its inlet, its parameter, its outlet; and inside it a parameter to where it is taken."""

    async def work(editor: Editor) -> None:
        text = editor.open(STONES)
        assert await defined(editor, STONES, editor.at(STONES, "blueprints/stone", 3)) == (
            "stone-leg.blueprint.yaml", "",
        )
        assert await defined(editor, STONES, editor.at(STONES, "{drive:", 2)) == ("stone-leg.blueprint.yaml", "drive")
        assert await defined(editor, STONES, editor.at(STONES, "ratio: 5/2", 2)) == (
            "stone-leg.blueprint.yaml", "ratio",
        )
        assert "driven-by: leg-a.on" in text
        assert await defined(editor, STONES, editor.at(STONES, "leg-a.on", 7)) == ("stone-leg.blueprint.yaml", "on")
        editor.open(LEG)
        for offset in (0, 3):  # at the sign before the name, too
            assert await defined(editor, LEG, editor.at(LEG, "$ratio", offset)) == ("stone-leg.blueprint.yaml", "ratio")

    edit(works, work)


def test_references_of_an_item_are_found_in_every_rig(works: Path) -> None:
    """As many as the files have lines that say so, and its place in the catalogue."""
    texts = [path.read_text("utf-8") for path in works.rglob("*.rig.yaml")]
    said = sum(len(re.findall(r"item: saw-frame\b", text)) for text in texts if f"{CATALOGUE}\n" in text)

    async def work(editor: Editor) -> None:
        editor.open(WORKS)
        where = editor.at(WORKS, "item: saw-frame", 8)
        for declared in (True, False):
            context = types.ReferenceContext(include_declaration=declared)
            params = types.ReferenceParams(context, editor.document(WORKS), where)
            found = await editor.answer(editor.client.text_document_references_async(params))
            assert len(found) == said + declared

    assert said > 8
    edit(works, work)


def test_renaming_a_part_goes_to_its_list_and_to_the_snags(works: Path) -> None:
    """The rig's parts and start-up, and the snag that stands at the part; all of it holds as before."""

    def counted() -> dict[str, int]:
        given = ("--no-cache", "--no-repairs", "--snags", "taken-over.snags.yaml", "--write", "json=-", STEP)
        found: dict[str, int] = json.loads(run(works, "check", *given).stdout)["summary"]
        return found

    before = counted()
    assert before["snags"] == 1 and before["errors"] == 0

    async def work(editor: Editor) -> None:
        editor.open(STEP)
        texts = await renamed(editor, STEP, editor.at(STEP, "driven-by: step", 12), "first-step")
        assert set(texts) == {STEP, "taken-over.snags.yaml"}
        assert texts[STEP].count("first-step") == 3
        assert "part: first-step\n" in texts["taken-over.snags.yaml"]

    edit(works, work)
    assert counted() == before


def test_renaming_an_outlet_of_a_blueprint_goes_to_the_rigs_that_use_it(works: Path) -> None:
    """`on` of the stone leg; the part's own outlet of that name stays what it is."""

    async def work(editor: Editor) -> None:
        editor.open(STONES)
        texts = await renamed(editor, STONES, editor.at(STONES, "leg-b.on", 7), "onward")
        assert "outlets: {onward: divide.on}" in texts["stone-leg.blueprint.yaml"]
        assert texts[STONES].count(".onward") == 3 and ".on}" not in texts[STONES]

    edit(works, work)
    assert run(works, "check", "--no-cache", STONES).returncode == 0


def test_renaming_a_parameter_and_an_item_holds_in_every_file(works: Path) -> None:
    """In the blueprint's text, in the line that gives it a value, in the catalogue and in all rigs."""
    before = run(works, "check", "--no-cache", "--no-repairs", "--format", "short", ".").stdout

    async def work(editor: Editor) -> None:
        editor.open(LEG)
        texts = await renamed(editor, LEG, editor.at(LEG, "$ratio", 3), "gearing")
        assert "ratio: $gearing" in texts["stone-leg.blueprint.yaml"]
        assert "with: {gearing: 5/2}" in texts[STONES]
        editor.open(CATALOGUE)
        texts = await renamed(editor, CATALOGUE, editor.at(CATALOGUE, "saw-frame:", 2), "frame-saw")
        assert "item: frame-saw" in texts[WORKS]

    edit(works, work)
    after = run(works, "check", "--no-cache", "--no-repairs", "--format", "short", ".").stdout
    assert sorted(after.replace("frame-saw", "saw-frame").split()) == sorted(before.split())


@pytest.mark.parametrize(
    ("new", "why"), [("lay", "there is lay already"), ("a b", "letters, digits"), ("true", "YAML reads true")]
)
def test_a_name_that_cannot_be_is_refused_with_the_reason(works: Path, new: str, why: str) -> None:
    """One that is taken, one with a space, one that YAML takes for something else."""

    async def work(editor: Editor) -> None:
        editor.open(STEP)
        params = types.RenameParams(editor.document(STEP), editor.at(STEP, "step:"), new)
        with pytest.raises(JsonRpcException, match=why):
            await editor.answer(editor.client.text_document_rename_async(params))

    edit(works, work)


def test_what_can_be_renamed_is_marked_and_nothing_else(works: Path) -> None:
    """A part is; the name of a file is not."""

    async def work(editor: Editor) -> None:
        editor.open(STEP)
        params = types.PrepareRenameParams(editor.document(STEP), editor.at(STEP, "step:"))
        found = await editor.answer(editor.client.text_document_prepare_rename_async(params))
        assert found.placeholder == "step" and found.range.end.character - found.range.start.character == 4
        params = types.PrepareRenameParams(editor.document(STEP), editor.at(STEP, "catalogues/", 3))
        assert await editor.answer(editor.client.text_document_prepare_rename_async(params)) is None

    edit(works, work)


def test_outline_links_folds_and_symbols_of_the_repository(works: Path) -> None:
    """Sections with their parts; the catalogue as a link; the comment and the sections to fold; parts everywhere."""

    async def work(editor: Editor) -> None:
        editor.open(STEP)
        document = editor.document(STEP)
        outline = await editor.answer(
            editor.client.text_document_document_symbol_async(types.DocumentSymbolParams(document))
        )
        assert [each.name for each in outline] == ["parts", "commissioning"]
        assert [(each.name, each.detail) for each in outline[0].children][:2] == [
            ("wheel", "creek-wheel"), ("lay", "iron-shaft"),
        ]
        links = await editor.answer(editor.client.text_document_document_link_async(types.DocumentLinkParams(document)))
        assert [link.target for link in links] == [editor.uri(CATALOGUE)]
        folds = await editor.answer(
            editor.client.text_document_folding_range_async(types.FoldingRangeParams(document))
        )
        assert {(fold.start_line, fold.end_line) for fold in folds} == {(1, 3), (7, 12), (13, 15)}
        found = await editor.answer(editor.client.workspace_symbol_async(types.WorkspaceSymbolParams("PRESS")))
        assert {"press", "oil-press"} <= {each.name for each in found}
        params = types.DocumentHighlightParams(document, editor.at(STEP, "step:"))
        marked = await editor.answer(editor.client.text_document_document_highlight_async(params))
        assert len(marked) == 3

    edit(works, work)
