"""Quick fixes in the file of a blueprint: proved by a check of all that uses it, with what is open there; by hand.

At its promise of 90 N·m the leg's stage gives 90 × 5 = 450 N·m, and a stage of this catalogue carries 300.
"""

import json
from pathlib import Path

import pytest
from command_runner import run
from editor import Editor, edit
from lsprotocol import types

CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 90 N*m, speed: 6 rad/s}}
  spring: {kind: prime-mover, output: {torque: 150 N*m, speed: 6 rad/s}}
  stage: {kind: gear-stage, torque-limit: 300 N*m, ratios: {5/2: {made-of: {gear: 3}}, 5: {made-of: {gear: 5}}}}
  strong: {kind: gear-stage, torque-limit: 700 N*m, ratios: {5: {made-of: {gear: 11}}}}
  rod: {kind: shaft, torque-limit: 100 N*m}
  pump: {kind: driven-machine, needs: {torque: 60 N*m}, limits: {torque: 900 N*m, speed: 2 rad/s}}
raw: {gear: {worth: 1}}
"""
REST = CATALOGUE[CATALOGUE.index("  rod:") :]
LEG = """blueprint: 1
name: Leg
catalogue: c.catalogue.yaml
inlets: {in: {torque-up-to: 90 N*m, speed-up-to: 6 rad/s}}
parts:
  rod:  {item: rod, driven-by: in}
  step: {item: stage, ratio: 5, set: reduce, driven-by: rod}
outlets: {out: step}
commissioning:
  - set: {part: step, to: reduce}
"""
RIG = """rig: 1
name: Tide mill
catalogue: c.catalogue.yaml
parts:
  wheel: {item: wheel}
  leg:   {blueprint: leg.blueprint.yaml, driven-by: wheel}
  pump:  {item: pump, driven-by: leg.out}
"""
B, A = "leg.blueprint.yaml", "a.rig.yaml"


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """A repository with a leg that breaks at its promise, and a rig that places it."""
    (tmp_path / ".git").mkdir()
    for name, text in (("c.catalogue.yaml", CATALOGUE), (B, LEG), (A, RIG)):
        (tmp_path / name).write_text(text, "utf-8")
    return tmp_path


def found(folder: Path, *names: str) -> list[tuple[str, str]]:
    """What a check finds in files as they are on the disk: rules and parts."""
    ran = run(folder, "check", "--no-cache", "--no-repairs", "--write", "json=-", *names)
    return [(each["rule"], each["part"]) for each in json.loads(ran.stdout)["findings"]]


def fixes(actions: list[types.CodeAction]) -> list[types.CodeAction]:
    """The repairs among what is offered."""
    return [each for each in actions if not each.title.startswith("waive ") and not each.disabled]


def test_what_mends_a_blueprint_in_all_that_uses_it_is_a_quick_fix_of_its_own_file(yard: Path) -> None:
    """Geared 5/2 the pump of the rig would turn at 2.4 rad/s, over its 2: the stronger stage is left, 11 gears for 5.

    Once it is made, a check of both files finds nothing.
    """
    assert ("torque-over-limit", "step") in found(yard, B)

    async def work(editor: Editor) -> None:
        editor.open(B)
        actions = fixes(await editor.actions(B, editor.at(B, "step:", 1), ["quickfix"]))
        title = "take strong for step (substitution; cost 6 more a use; proved in what uses it: 1 file)"
        assert [each.title for each in actions] == [title]
        text = await editor.done(B, actions[0])
        assert text == LEG.replace("item: stage", "item: strong")
        assert await editor.diagnostics(B) == []
        (yard / B).write_text(text, "utf-8")

    edit(yard, work)
    assert found(yard, A, B) == []


def test_a_rig_that_is_open_is_proved_as_it_is_written(yard: Path) -> None:
    """Without the stronger stage 5/2 is left, and a pump without a limit of speed, not saved yet, lets it hold."""
    brisk = "  brisk: {kind: driven-machine, needs: {torque: 60 N*m}}\n"
    (yard / "c.catalogue.yaml").write_text(CATALOGUE[: CATALOGUE.index("  strong:")] + brisk + REST, "utf-8")

    async def work(editor: Editor) -> None:
        async def offered() -> list[str]:
            return [each.title[:17] for each in fixes(await editor.actions(B, editor.at(B, "step:", 1), ["quickfix"]))]

        editor.open(B)
        editor.open(A)
        assert await offered() == []
        editor.write(A, RIG.replace("item: pump", "item: brisk"))
        assert await offered() == ["gear step 5/2 : 1"]
        editor.write(A, RIG)
        assert await offered() == []

    edit(yard, work)


def test_what_feeds_a_blueprint_is_mended_in_the_rig_from_the_file_of_the_blueprint(yard: Path) -> None:
    """A spring of 150 N·m breaks a rod that stands 100; geared up 5/2 it gives 60 N·m at 15 rad/s, 3 at the pump.

    The promise is 90 N·m at 30 rad/s here, and the pump may turn at 5 rad/s.
    """
    (yard / "c.catalogue.yaml").write_text(CATALOGUE.replace("speed: 2 rad/s", "speed: 5 rad/s"), "utf-8")
    (yard / B).write_text(LEG.replace("item: stage", "item: strong").replace("6 rad/s", "30 rad/s"), "utf-8")
    rig = RIG.replace("item: wheel", "item: spring")
    (yard / A).write_text(rig, "utf-8")

    async def work(editor: Editor) -> None:
        editor.open(A)
        editor.open(B)
        assert "torque-over-limit" in {each.code for each in await editor.diagnostics(B)}
        actions = fixes(await editor.actions(B, editor.at(B, "rod:", 1), ["quickfix"]))
        assert actions and all(each.title.startswith(f"in {A}: put stage 5/2 : 1 increasing") for each in actions)
        assert {each.diagnostics[0].code for each in actions if each.diagnostics} == {"torque-over-limit"}
        text = await editor.done(A, actions[0])
        assert text != rig
        assert await editor.diagnostics(B) == []
        (yard / A).write_text(text, "utf-8")

    edit(yard, work)
    assert found(yard, A, B) == []


def test_a_blueprint_has_its_names_mended_and_no_waiver_put_in(yard: Path) -> None:
    """A misspelt driver and nothing else; a rig waives what its uses have, a blueprint cannot."""

    async def work(editor: Editor) -> None:
        text = editor.open(B)
        actions = await editor.actions(B, editor.at(B, "step:", 1), ["quickfix"])
        assert actions and not [each for each in actions if each.title.startswith("waive ")]
        editor.write(B, text.replace("driven-by: rod", "driven-by: rood"))
        (action,) = await editor.actions(B, editor.at(B, "name:"), ["source.fixAll"])
        assert await editor.done(B, action) == LEG

    edit(yard, work)
