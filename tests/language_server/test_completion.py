"""What may be written at a place: what the schema, the catalogue and the rig have there, and nothing else."""

from pathlib import Path

from editor import Editor, edit
from lsprotocol import types

STEP = "overloaded-step.rig.yaml"
PARTS = "  cross:  {item: steel-shaft, driven-by: step}\n"


async def proposed(editor: Editor, name: str, text: str, where: int) -> list[types.CompletionItem]:
    """What is proposed at a character of a text that is put into an open file."""
    editor.write(name, text)
    before = text[:where]
    place = types.Position(before.count("\n"), len(before) - (before.rfind("\n") + 1))
    params = types.CompletionParams(editor.document(name), place)
    found = await editor.answer(editor.client.text_document_completion_async(params))
    assert isinstance(found, types.CompletionList)
    return list(found.items)


FITTING = [  # what is typed behind the parts, what is proposed there, what is not
    ("  new: {", {"item", "blueprint"}, {"parts"}),
    ("  new: {item: iron-stage, ", {"ratio", "set", "driven-by", "label"}, {"head", "shares", "target", "item"}),
    ("  new: {item: ", {"iron-stage", "steel-shaft", "saw-frame"}, {"cast-iron"}),
    ("  new: {item: iron-st", {"iron-stage"}, {"iron-shaft"}),
    ("  new: {item: iron-stage, ratio: ", {"5/2", "3", "75/15", "96/16"}, {"iron-stage"}),
    ("  new: {item: iron-stage, set: ", {"reduce", "increase"}, {"true"}),
    ("  new: {item: dog-clutch, engaged: ", {"true", "false"}, {"reduce"}),
    ("  new: {item: iron-shaft, driven-by: ", {"cross"}, {"wheel", "lay", "roller"}),
    ("  new:\n    item: iron-stage\n    ", {"ratio", "set"}, {"item", "shares"}),
    ("commissioning:\n  - ", {"start", "set", "couple", "fill"}, {"item"}),
    ("commissioning:\n  - start: ", {"wheel"}, {"lay", "roller"}),
    ("commissioning:\n  - set: {part: ", {"step"}, {"lay", "wheel"}),
    ("readings:\n  - {at: lay, torque: 900 ", {"N*m", "kN*m", "lbf*ft"}, {"rad/s", "W"}),
    ("readings:\n  - {at: lay, speed: 8 r", {"rad/s", "rpm"}, {"N*m"}),
    ("waivers:\n  - {rule: torque", {"torque-over-limit"}, {"speed-over-limit"}),
    ("lubri", {"lubrication"}, {"commissioning"}),
]


def test_what_fits_is_proposed_in_a_text_that_is_half_done(works: Path) -> None:
    """Of the sample without its start-up: its roller is left out, so that `cross` is free."""

    async def work(editor: Editor) -> None:
        text = editor.open(STEP)
        head = text[: text.index(PARTS) + len(PARTS)]
        for typed, wanted, unwanted in FITTING:
            editor.write(STEP, head)
            await editor.diagnostics(STEP)
            labels = {each.label for each in await proposed(editor, STEP, head + typed, len(head + typed))}
            assert wanted <= labels, typed
            assert not unwanted & labels, typed

    edit(works, work)


def test_a_unit_comes_with_the_space_that_is_missing(works: Path) -> None:
    """`900` becomes `900 N*m`, `900 ` too."""

    async def work(editor: Editor) -> None:
        text = editor.open(STEP)
        for typed, space in (("900", " "), ("900 ", "")):
            whole = f"{text}readings:\n  - {{at: lay, torque: {typed}"
            (unit,) = [each for each in await proposed(editor, STEP, whole, len(whole)) if each.label == "N*m"]
            assert isinstance(unit.text_edit, types.TextEdit)
            assert unit.text_edit.new_text == f"{space}N*m"
            assert unit.text_edit.range.start == unit.text_edit.range.end

    edit(works, work)


def test_outlets_of_splitters_and_blueprints_are_proposed_while_they_are_free(works: Path) -> None:
    """`leg-c.on` is free once the pump is gone; `leg-a.on` drives the next leg."""
    name = "three-stones.rig.yaml"

    async def work(editor: Editor) -> None:
        text = editor.open(name)
        text = text[: text.index("  pump:")]
        editor.write(name, text)
        await editor.diagnostics(name)
        whole = text + "  saw: {item: saw-frame, driven-by: le"
        labels = {each.label for each in await proposed(editor, name, whole, len(whole))}
        assert labels == {"leg-c.on"}
        whole = text + "  leg-d: {blueprint: "
        labels = {each.label for each in await proposed(editor, name, whole, len(whole))}
        assert labels == {"blueprints/stone-leg.blueprint.yaml"}

    edit(works, work)


def test_a_whole_part_is_a_snippet_with_what_its_item_needs(works: Path) -> None:
    """A stage with its ratios to choose from; the first of them made is a rig that is judged."""

    async def work(editor: Editor) -> None:
        text = editor.open(STEP)
        whole = text[: text.index("commissioning:")] + "  "
        (stage,) = [
            each for each in await proposed(editor, STEP, whole, len(whole)) if each.label == "a part of iron-stage"
        ]
        assert stage.insert_text_format == types.InsertTextFormat.Snippet
        assert isinstance(stage.text_edit, types.TextEdit)
        snippet = stage.text_edit.new_text
        assert snippet.startswith("${1:gear-stage}: {item: iron-stage, ratio: ${3|") and "|5/2" in snippet
        assert snippet.endswith("set: ${4|reduce,increase|}, driven-by: ${5}}")

    edit(works, work)


def test_rules_and_their_levels_are_proposed_in_a_policy(works: Path) -> None:
    """The ids of the rules as keys, and the levels there are."""
    name = "lineshaft.policy.yaml"
    (works / name).write_text("policy: 1\n", "utf-8")

    async def work(editor: Editor) -> None:
        editor.open(name)
        whole = "policy: 1\nlevels:\n  machine-s"
        assert {each.label for each in await proposed(editor, name, whole, len(whole))} == {"machine-surplus"}
        whole = "policy: 1\nlevels:\n  machine-surplus: "
        labels = {each.label for each in await proposed(editor, name, whole, len(whole))}
        assert {"off", "error", "warning", "note"} <= labels

    edit(works, work)
