"""What is wrong, as an editor shows it: the findings of a check, no more and no fewer, of the text that is open."""

from pathlib import Path

import pytest
from editor import PUSHED_TO, Editor, edit
from lsprotocol import types

STEP = "overloaded-step.rig.yaml"


def test_a_text_that_is_not_saved_is_what_is_judged(works: Path) -> None:
    """A stage of forged steel stands 6 kN·m: the finding is gone, while the disk still has it."""

    async def work(editor: Editor) -> None:
        text = editor.open(STEP)
        assert [each.code for each in await editor.diagnostics(STEP)] == ["torque-over-limit"]
        editor.write(STEP, text.replace("item: iron-stage", "item: steel-stage"))
        assert await editor.diagnostics(STEP) == []
        editor.close(STEP)
        editor.open(STEP)
        assert [each.code for each in await editor.diagnostics(STEP)] == ["torque-over-limit"]

    edit(works, work)


def test_a_catalogue_that_is_not_saved_judges_the_rigs_that_use_it(works: Path) -> None:
    """Cast iron that stands 2,500 N·m holds 2,250 N·m; and what is saved counts again once it is closed."""
    catalogue = "catalogues/tern-harbour.catalogue.yaml"

    async def work(editor: Editor) -> None:
        editor.open(STEP)
        assert len(await editor.diagnostics(STEP)) == 1
        text = editor.open(catalogue)
        assert "torque-limit: 1200 N*m" in text
        editor.write(catalogue, text.replace("torque-limit: 1200 N*m", "torque-limit: 2500 N*m"))
        assert await editor.diagnostics(STEP) == []
        editor.close(catalogue)
        assert len(await editor.diagnostics(STEP)) == 1

    edit(works, work)


def test_a_catalogue_that_changes_on_the_disk_is_read_again(works: Path) -> None:
    """By another program, while only the rig is open."""
    catalogue = works / "catalogues/tern-harbour.catalogue.yaml"

    async def work(editor: Editor) -> None:
        text = editor.open(STEP)
        assert len(await editor.diagnostics(STEP)) == 1
        was = catalogue.read_text("utf-8")
        catalogue.write_text(was.replace("torque-limit: 1200 N*m", "torque-limit: 2500 N*m"), "utf-8")
        editor.write(STEP, text + "# \n")
        assert await editor.diagnostics(STEP) == []
        catalogue.unlink()
        editor.write(STEP, text)
        assert [each.code for each in await editor.diagnostics(STEP)] == ["unknown-reference"]

    edit(works, work)


def test_a_fault_inside_a_blueprint_shows_at_the_line_that_places_it_and_in_its_own_file(works: Path) -> None:
    """The rig's line leads to the blueprint's; the blueprint, open too, shows the finding at its very place."""
    leg = "blueprints/stone-leg.blueprint.yaml"

    async def work(editor: Editor) -> None:
        text = editor.open("three-stones.rig.yaml")
        broken = editor.open(leg).replace("step:   {item: open-stage", "step:   {item: no-such-stage")
        editor.write(leg, broken)
        here = await editor.diagnostics("three-stones.rig.yaml")
        assert {each.code for each in here} == {"unknown-reference"}
        first = here[0]
        assert text.split("\n")[first.range.start.line].startswith("  leg-")
        assert first.message.startswith("blueprints/stone-leg.blueprint.yaml:")
        assert first.related_information is not None
        assert first.related_information[0].location.uri == editor.uri(leg)
        there = await editor.diagnostics(leg)
        assert [each.code for each in there] == ["unknown-reference"]
        assert there[0].range.start == editor.at(leg, "no-such-stage")

    edit(works, work)


def test_a_client_that_cannot_ask_gets_them_pushed(works: Path) -> None:
    """On opening, after a change, and nothing is left when the file is closed."""

    async def work(editor: Editor) -> None:
        text = editor.open(STEP)
        found = await editor.pushed(STEP, bool)
        assert [each.code for each in found] == ["torque-over-limit"]
        editor.write(STEP, text.replace("item: iron-stage", "item: steel-stage"))
        await editor.pushed(STEP, lambda found: not found)
        editor.write(STEP, text)
        await editor.pushed(STEP, bool)
        editor.close(STEP)
        await editor.pushed(STEP, lambda found: not found)

    edit(works, work, like=PUSHED_TO)


def test_an_answer_that_is_still_true_is_not_sent_again(works: Path) -> None:
    """The second time the client hears that nothing has changed."""

    async def work(editor: Editor) -> None:
        editor.open(STEP)
        params = types.DocumentDiagnosticParams(editor.document(STEP))
        first = await editor.answer(editor.client.text_document_diagnostic_async(params))
        params.previous_result_id = first.result_id
        again = await editor.answer(editor.client.text_document_diagnostic_async(params))
        assert isinstance(again, types.RelatedUnchangedDocumentDiagnosticReport)

    edit(works, work)


@pytest.mark.parametrize("name", ["notes.txt", "a.yaml"])
def test_a_file_of_another_kind_is_let_be(works: Path, name: str) -> None:
    """It is answered, with nothing."""

    async def work(editor: Editor) -> None:
        editor.open(name, "rig: 1\n")
        assert await editor.diagnostics(name) == []
        assert await editor.hints(name) == {}
        assert await editor.hover(name, types.Position(0, 1)) is None

    edit(works, work)
