"""What is wrong, as an editor shows it: the findings of a check, no more and no fewer, of the text that is open."""

import json
from pathlib import Path
from typing import Any

import pytest
from command_runner import run
from editor import PUSHED_TO, Editor, edit
from lsprotocol import types

STEP = "overloaded-step.rig.yaml"
SEVERITY = {"error": 1, "warning": 2, "note": 3}


def checked(folder: Path, name: str) -> list[dict[str, Any]]:
    """The findings of a check of one file, without repairs."""
    ran = run(folder, "check", "--no-cache", "--no-repairs", "--write", "json=-", name)
    found: list[dict[str, Any]] = json.loads(ran.stdout)["findings"]
    return found


def told(findings: list[dict[str, Any]], file: str) -> list[tuple[Any, ...]]:
    """What a finding of a check tells, for a comparison; lines and columns from 0. ASCII files only."""
    rows = []
    for finding in findings:
        place = [finding[end][axis] - 1 for end in ("start", "end") for axis in ("line", "column")]
        accepted = finding["waived"] is not None or finding["snag"] is not None
        severity = 4 if accepted else SEVERITY[finding["level"]]
        rows.append((finding["rule"], severity, place if finding["file"] == file else None, len(finding["because"])))
    return sorted(rows, key=repr)


def shown(diagnostics: list[types.Diagnostic], findings: list[dict[str, Any]], file: str) -> list[tuple[Any, ...]]:
    """The same of what the editor shows; each in the words of the finding with its fingerprint."""
    rows = []
    for diagnostic in diagnostics:
        ours = next(f for f in findings if f["fingerprint"] == diagnostic.data["fingerprint"])
        assert ours["message"] in diagnostic.message
        here, (start, end) = ours["file"] == file, (diagnostic.range.start, diagnostic.range.end)
        place = [start.line, start.character, end.line, end.character] if here else None
        related = len(diagnostic.related_information or ()) - (0 if here else 1)
        rows.append((diagnostic.code, int(diagnostic.severity or 0), place, related))
    return sorted(rows, key=repr)


def test_all_samples_show_what_a_check_finds(works: Path) -> None:
    """Every rig, blueprint, catalogue of the works, one after the other."""
    names = sorted(path.relative_to(works).as_posix() for path in works.rglob("*.yaml"))
    found = {name: checked(works, name) for name in names}
    assert len(names) > 20

    async def work(editor: Editor) -> None:
        for name, findings in found.items():
            editor.open(name)
            assert shown(await editor.diagnostics(name), findings, name) == told(findings, name), name
            editor.close(name)

    edit(works, work)


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
