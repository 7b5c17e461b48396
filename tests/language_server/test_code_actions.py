"""What may be done at a place: every repair makes its finding go and no other come."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from editor import Editor, edit

STEP = "overloaded-step.rig.yaml"
UNSET = "unset-stage.rig.yaml"
SLOW = "starved-saw.rig.yaml"


def test_a_proved_repair_is_a_quick_fix_with_effect_and_cost(works: Path) -> None:
    """The README's: steel for iron, 0.7 less; its finding is gone once it is made."""

    async def work(editor: Editor) -> None:
        editor.open(STEP)
        actions = await editor.actions(STEP, editor.at(STEP, "step:", 1), ["quickfix"])
        assert actions[0].title == "take steel-stage for step (substitution; cost 0.7 less)"
        assert actions[0].diagnostics is not None and actions[0].diagnostics[0].code == "torque-over-limit"
        text = await editor.done(STEP, actions[0])
        assert "step:   {item: steel-stage, ratio: 5/2" in text
        assert await editor.diagnostics(STEP) == []

    edit(works, work)


@pytest.mark.parametrize("name", [STEP, UNSET, SLOW, "open-end.rig.yaml", "dry-stage.rig.yaml"])
def test_every_repair_of_a_sample_makes_its_finding_go_and_no_other_come(works: Path, name: str) -> None:
    """In the editor, by what it shows afterwards of the text that the action leaves."""

    async def work(editor: Editor) -> None:
        text = editor.open(name)
        before = await editor.diagnostics(name)
        assert before
        tried = 0
        for finding in before:
            for number in range(3):
                actions = await editor.actions(name, finding.range.start, ["quickfix"])
                repairs = [each for each in actions if not each.title.startswith("waive ") and not each.disabled]
                if number >= len(repairs):
                    break
                tried += 1
                await editor.done(name, repairs[number])
                after = [(each.code, each.data["part"]) for each in await editor.diagnostics(name)]
                mended = repairs[number].diagnostics
                assert mended is not None and (mended[0].code, mended[0].data["part"]) not in after
                assert {code for code, _ in after} <= {each.code for each in before}
                editor.write(name, text)
        assert tried

    edit(works, work)


def test_nothing_is_offered_where_nothing_is_wrong(works: Path) -> None:
    """At a part that holds there is no quick fix."""

    async def work(editor: Editor) -> None:
        editor.open(STEP)
        assert await editor.actions(STEP, editor.at(STEP, "wheel:"), ["quickfix"]) == []

    edit(works, work)


def test_a_waiver_waives_nothing_until_somebody_gives_the_reason(works: Path) -> None:
    """The bound covers 1.875 and no more, the day is 90 days ahead, the reason is left to the person."""

    async def work(editor: Editor) -> None:
        editor.open(STEP)
        actions = await editor.actions(STEP, editor.at(STEP, "step:", 1), ["quickfix"])
        (waiver,) = [action for action in actions if action.title.startswith("waive ")]
        until = (datetime.now(UTC).date() + timedelta(days=90)).isoformat()
        assert waiver.title == f"waive torque-over-limit of step until {until}: write the reason"
        text = await editor.done(STEP, waiver)
        row = f'  - {{rule: torque-over-limit, part: step, up-to: 1.875, reason: "", until: {until}}}\n'
        assert text.endswith(f"waivers:\n{row}")
        found = await editor.diagnostics(STEP)
        assert [each.code for each in found] == ["not-schema"] and found[0].message.startswith("it is empty")
        editor.write(STEP, text.replace('reason: ""', "reason: proof-loaded in spring"))
        (waived,) = await editor.diagnostics(STEP)
        assert waived.code == "torque-over-limit" and waived.severity == 4
        assert "proof-loaded in spring" in waived.message

    edit(works, work)


def test_a_second_waiver_goes_behind_the_first(works: Path) -> None:
    """In a list that is there already, with its indentation and line ends."""

    async def work(editor: Editor) -> None:
        text = (works / STEP).read_text("utf-8")
        first = "waivers:\r\n- {rule: loose-end, part: lay, reason: built next, until: 2027-03-31}\r\n"
        editor.open(STEP, text.replace("\n", "\r\n") + first)
        actions = await editor.actions(STEP, editor.at(STEP, "step:", 1), ["quickfix"])
        (waiver,) = [action for action in actions if action.title.startswith("waive ")]
        lines = (await editor.done(STEP, waiver)).split("\r\n")
        assert lines[-3].startswith("- {rule: loose-end") and lines[-2].startswith("- {rule: torque-over-limit")

    edit(works, work)


def test_fix_all_changes_settings_and_misspelt_names_only(works: Path) -> None:
    """A misspelt name is mended; the stage, which takes another item, is not."""

    async def work(editor: Editor) -> None:
        text = editor.open(STEP).replace("driven-by: cross}", "driven-by: croos}")
        editor.write(STEP, text)
        (action,) = await editor.actions(STEP, editor.at(STEP, "rig: 1"), ["source.fixAll"])
        assert action.kind == "source.fixAll.lineshaft"
        mended = await editor.done(STEP, action)
        assert mended == text.replace("croos", "cross")

    edit(works, work)


def test_a_safe_start_up_list_is_written_where_there_is_none(works: Path) -> None:
    """The stage's oil and the wheel; what is found before (the stage is too weak) is no worse after."""

    async def work(editor: Editor) -> None:
        text = editor.open(UNSET)
        bare = text[: text.index("commissioning:")] if "commissioning:" in text else text
        editor.write(UNSET, bare)
        before = {each.code for each in await editor.diagnostics(UNSET)}
        assert "direction-before-commissioning" in before
        (action,) = await editor.actions(UNSET, editor.at(UNSET, "rig: 1"), ["source.startUp.lineshaft"])
        written = await editor.done(UNSET, action)
        assert written.startswith(bare) and "commissioning:" in written
        assert "direction-before-commissioning" not in {each.code for each in await editor.diagnostics(UNSET)}

    edit(works, work)
