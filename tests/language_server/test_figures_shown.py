"""Hints and hovers: the README's calculation by hand, in the editor."""

from pathlib import Path

from editor import Editor, edit
from lsprotocol import types

STEP = "overloaded-step.rig.yaml"


def test_hints_show_torque_speed_and_share_behind_each_part(works: Path) -> None:
    """900 N·m at 8 rad/s through 5/2 is 2.25 kN·m; cast iron stands 1.2 kN·m and 250 rad/s: 187.5 %."""

    async def work(editor: Editor) -> None:
        editor.open(STEP)
        hints = await editor.hints(STEP)
        assert hints == {
            8: "900 N·m  8 rad/s",
            9: "900 N·m  8 rad/s  75 %",
            10: "2.25 kN·m  8 rad/s  188 %",
            11: "2.25 kN·m  3.2 rad/s  38 %",
            12: "2.25 kN·m  3.2 rad/s  27 %  60.81 an hour (plate)",
        }

    edit(works, work)


def test_hints_follow_the_text_that_is_not_saved(works: Path) -> None:
    """A ratio of 3 makes 900 * 3 = 2,700 N·m: 225 % of cast iron's 1.2 kN·m; 8 / 3 = 2.667 rad/s below."""

    async def work(editor: Editor) -> None:
        text = editor.open(STEP)
        editor.write(STEP, text.replace("ratio: 5/2", "ratio: 3"))
        hints = await editor.hints(STEP)
        assert hints[10] == "2.7 kN·m  8 rad/s  225 %"
        assert hints[11] == "2.7 kN·m  2.667 rad/s  45 %"

    edit(works, work)


def test_hints_go_where_the_text_cannot_be_read(works: Path) -> None:
    """No figures rather than those of an earlier text; they are back with the text."""

    async def work(editor: Editor) -> None:
        text = editor.open(STEP)
        assert await editor.hints(STEP)
        editor.write(STEP, text.replace("driven-by: lay}", "driven-by: lay"))
        assert await editor.hints(STEP) == {}
        editor.write(STEP, text)
        assert len(await editor.hints(STEP)) == 5

    edit(works, work)


def test_speeds_are_shown_in_rpm_where_the_client_wants_them(works: Path) -> None:
    """8 rad/s are 8 * 60 / 2π = 76.39 rpm."""

    async def work(editor: Editor) -> None:
        editor.open(STEP)
        assert (await editor.hints(STEP))[8] == "900 N·m  76.39 rpm"

    edit(works, work, options={"units": "rpm"})


def test_a_hover_shows_what_arrives_leaves_and_is_allowed(works: Path) -> None:
    """At the part itself, and where another part names it."""

    async def work(editor: Editor) -> None:
        editor.open(STEP)
        for where in (editor.at(STEP, "step:   {"), editor.at(STEP, "driven-by: step", len("driven-by: "))):
            shown = await editor.hover(STEP, where)
            assert shown is not None
            assert "`step`" in shown and "reduces 5/2 : 1" in shown
            assert "| in | 900 N·m | 8 rad/s | 7.2 kW |" in shown
            assert "| out | 2.25 kN·m | 3.2 rad/s | 7.2 kW |" in shown
            assert "torque limit 1.2 kN·m: carries 2.25 kN·m, 188 %" in shown
            assert "speed limit 250 rad/s: carries 8 rad/s, 3 %" in shown
            assert "`wheel` → `lay` → `step`" in shown
        assert await editor.hover(STEP, types.Position(1, 3)) is None

    edit(works, work)


def test_a_machine_shows_its_rate_and_a_circuit_how_long_it_lasts(works: Path) -> None:
    """The lagoon's saw makes 80 planks an hour by the README; the circuit of the whole works does not run dry.

    The press gives 30 mL in 12.143 s, 2.47 mL/s, and four stages use 1.1 mL/s.
    """

    async def work(editor: Editor) -> None:
        text = editor.open("lagoon.rig.yaml")
        saw = next(number for number, line in enumerate(text.split("\n")) if line.startswith("  saw:"))
        assert (await editor.hints("lagoon.rig.yaml"))[saw].endswith("  80 an hour (plank)")
        text = editor.open("whole-works.rig.yaml")
        flax = text.split("\n").index("  flax:")
        assert (await editor.hints("whole-works.rig.yaml"))[flax] == "does not run dry"

    edit(works, work)


def test_a_hover_tells_of_items_quantities_ratios_rules_and_blueprints(works: Path) -> None:
    """900 N·m are 900 / 1.3558 = 663.8 lbf·ft; 75/15 is 5 : 1; an item's ratios; a rule's page; what a leg takes."""
    name = "late-planks.rig.yaml"

    async def work(editor: Editor) -> None:
        text = editor.open(name)
        waiver = "{rule: torque-over-limit, part: saw, up-to: 1.15, reason: tried, until: 2027-03-31}"
        editor.write(name, f"{text}waivers:\n  - {waiver}\n" + "readings:\n  - {at: saw, torque: 900 N*m}\n")
        for where, wanted in (
            (editor.at(name, "item: saw-frame", 8), ("driven-machine", "150 N·m", "10 rad/s", "2 kW")),
            (editor.at(name, "rule: torque", 8), ("torque-over-limit", "How to repair")),
            (editor.at(name, "900 N*m", 2), ("663.8 lbf*ft", "900 N*m")),
        ):
            shown = await editor.hover(name, where)
            assert shown is not None
            assert all(each in shown for each in wanted), shown
        editor.open("whole-works.rig.yaml")
        shown = await editor.hover("whole-works.rig.yaml", editor.at("whole-works.rig.yaml", "75/15", 2))
        assert shown is not None and "is 5 : 1" in shown
        editor.open("three-stones.rig.yaml")
        for where in (editor.at("three-stones.rig.yaml", "leg-b:"), editor.at("three-stones.rig.yaml", "blueprints/")):
            shown = await editor.hover("three-stones.rig.yaml", where)
            assert shown is not None
            assert "takes `ratio` (`ratio`): `3` if not given" in shown
            assert "inlet `drive`: stands up to `1 kN*m, 24 rad/s`" in shown
        leg = "blueprints/stone-leg.blueprint.yaml"
        editor.open(leg)
        assert await editor.hover(leg, editor.at(leg, "{kind: ratio")) is None  # a parameter's kind, no ratio

    edit(works, work)


def test_the_units_follow_the_settings_of_the_client(works: Path) -> None:
    """Told in a notification, or asked for by the server where the client keeps its settings apart."""

    async def work(editor: Editor) -> None:
        editor.open(STEP)
        assert (await editor.hints(STEP))[8] == "900 N·m  8 rad/s"
        editor.client.set_configuration({"lineshaft": {"units": "rpm"}})
        settings = types.DidChangeConfigurationParams({"lineshaft": {"units": "rpm"}})
        editor.client.workspace_did_change_configuration(settings)
        assert (await editor.hints(STEP))[8] == "900 N·m  76.39 rpm"

    edit(works, work)
