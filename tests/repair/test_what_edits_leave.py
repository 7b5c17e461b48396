"""What a repair leaves alone: comments at the ends of lines and in lists, and names that look like something else."""

from pathlib import Path

import pytest

from lineshaft.cli import run

CATALOGUE = """catalogue: 1
name: Quay
edition: "1"
grades: {iron: {torque-limit: 60 N*m}, steel: {torque-limit: 1200 N*m}}
items:
  wheel: {kind: prime-mover, output: {torque: 100 N*m, speed: 8 rad/s}}
  reed: {kind: shaft, torque-limit: 50 N*m}
  step: {kind: gear-stage, grade: steel, ratios: {3: {made-of: {bar: 9}}, 5: {made-of: {bar: 9}}}}
  "2: tin": {kind: shaft, torque-limit: 70 N*m, made-of: {bar: 1}}
  "3: any": {kind: shaft, grades: [iron, steel], made-of: {bar: 2}}
  mill: {kind: driven-machine, needs: {torque: 5 N*m, speed: 1 rad/s}}
raw: {bar: {worth: 1}}
"""
HEAD = 'rig: 1\nname: quay\ncatalogue: quay.catalogue.yaml\nedition: "1"\nparts:\n'


@pytest.fixture
def rig(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The place of a rig in a repository of its own, beside its catalogue."""
    (tmp_path / ".git").mkdir()
    (tmp_path / "quay.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path / "quay.rig.yaml"


def test_lacking_steps_are_added_and_comments_stay(rig: Path) -> None:
    """A list that leaves one stage unset and one wheel stopped gets these two; a step keeps what is said above it."""
    was = HEAD + (
        "  one: {item: wheel}\n  two: {item: wheel}\n"
        "  up: {item: step, ratio: 5, set: increase, driven-by: one}\n"
        "  saw: {item: mill, driven-by: up}\n  stone: {item: mill, driven-by: two}\n"
        "commissioning:\n  # look at the weir\n  - start: one   # slowly\n"
    )
    rig.write_text(was, "utf-8")
    assert run(["repair", rig.name, "--apply", "best"]) == 0
    told = was.replace("  # look at the weir", "  - set: {part: up, to: increase}\n  # look at the weir")
    assert rig.read_text("utf-8") == f"{told}  - start: two\n"


def test_a_list_is_offered_where_a_part_breaks_in_any_order(rig: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The reed carries 100 N*m of 50 in any order; a list (set, couple, start) mends the direction all the same."""
    rig.write_text(
        HEAD + "  one: {item: wheel}\n  rod: {item: reed, driven-by: one}\n"
        "  up: {item: step, ratio: 5, set: increase, driven-by: rod}\n  saw: {item: mill, driven-by: up}\n",
        "utf-8",
    )
    run(["repair", rig.name])
    shown = capsys.readouterr().out
    assert "add a commissioning list: 3 steps;" in shown
    assert "breaks in any order" in shown
    assert "mended by hand" not in shown


def test_a_title_tells_that_a_shaft_moves(rig: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Behind the stage the reed carries 20 N*m and holds: the order that is shown names the reed as well.

    The mill wants 30 rad/s, which it gets behind the stage alone, so that this may not go.
    """
    quay = rig.with_name("quay.catalogue.yaml")
    quay.write_text(CATALOGUE.replace("speed: 1 rad/s", "speed: 30 rad/s"), "utf-8")
    rig.write_text(
        HEAD + "  one: {item: wheel}\n  rod: {item: reed, driven-by: one}\n"
        "  up: {item: step, ratio: 5, set: increase, driven-by: rod}\n  saw: {item: mill, driven-by: up}\n"
        "commissioning:\n  - set: {part: up, to: increase}\n  - start: one\n",
        "utf-8",
    )
    run(["repair", rig.name])
    assert "reorder the line: up, then rod" in capsys.readouterr().out


@pytest.mark.parametrize(
    "layout",
    [
        '  rod:\n    item: "2: tin"\n    driven-by: one   # the weir\n',
        '  rod: {\n    item: "2: tin",\n    driven-by: one   # the weir\n  }\n',
    ],
)
def test_a_setting_is_added_beside_a_comment(rig: Path, capsys: pytest.CaptureFixture[str], layout: str) -> None:
    """A grade added to a part that ends with a comment is no part of the comment, which stays on its line."""
    rig.write_text(HEAD + "  one: {item: wheel}\n" + layout + "  saw: {item: mill, driven-by: rod}\n", "utf-8")
    assert run(["repair", rig.name, "--apply", "1"]) == 0
    text = rig.read_text("utf-8")
    assert [line for line in text.splitlines() if line.startswith("    driven-by: one") and line.endswith("# the weir")]
    assert 'item: "3: any"' in text
    capsys.readouterr()
    assert run(["check", rig.name]) == 0


@pytest.mark.parametrize("name", ["1", "null", "2e3", "true"])
def test_names_that_look_like_values_stay_names(rig: Path, name: str) -> None:
    """A machine is driven by a wheel whose name would be a number or nothing without its quotes: 20 N*m at the reed."""
    rig.write_text(
        HEAD + f'  "{name}": {{item: wheel}}\n  rod: {{item: reed, driven-by: "{name}"}}\n'
        "  up: {item: step, ratio: 5, set: increase, driven-by: rod}\n  saw: {item: mill, driven-by: up}\n"
        f'commissioning:\n  - set: {{part: up, to: increase}}\n  - start: "{name}"\n',
        "utf-8",
    )
    assert run(["repair", rig.name, "--apply", "1"]) == 0
    assert f'driven-by: "{name}"' in rig.read_text("utf-8")
    assert run(["check", rig.name]) == 0


TWO = (
    "  one: {item: wheel}\n  two: {item: wheel}\n"
    "  up: {item: step, ratio: 5, set: increase, driven-by: one}\n"
    "  saw: {item: mill, driven-by: up}\n  stone: {item: mill, driven-by: two}\n"
)


def test_steps_whose_dash_stands_alone_get_more_in_front_and_behind(rig: Path) -> None:
    """Between dash and step may stand a comment, with a dash in it: the new ones take the column of the dash."""
    was = HEAD + TWO + "commissioning:\n  - # the creek - slowly\n    start: one\n"
    rig.write_text(was, "utf-8")
    assert run(["repair", rig.name, "--apply", "best"]) == 0
    told = was.replace("  - # the creek", "  - set: {part: up, to: increase}\n  - # the creek")
    assert rig.read_text("utf-8") == f"{told}  - start: two\n"


def test_a_list_behind_an_anchor_and_a_line_end_is_still_one_between_brackets(rig: Path) -> None:
    """The steps that it lacks are put in as it is written."""
    was = HEAD + TWO + "commissioning: &steps # all of it\n  [{start: one}]\n"
    rig.write_text(was, "utf-8")
    assert run(["repair", rig.name, "--apply", "best"]) == 0
    told = was.replace("[{start: one}]", "[{set: {part: up, to: increase}}, {start: one}, {start: two}]")
    assert rig.read_text("utf-8") == told


def test_an_empty_list_is_written_anew(rig: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """There is no step to put others beside: a safe list takes its place, set first, both wheels started."""
    rig.write_text(HEAD + TWO + "commissioning: []\n", "utf-8")
    run(["repair", rig.name])
    assert "add what the list lacks" not in capsys.readouterr().out
    assert run(["repair", rig.name, "--apply", "best"]) == 0
    text = rig.read_text("utf-8")
    assert text.startswith(HEAD + TWO)
    assert text.index("to: increase") < text.index("start: one")
    assert "start: two" in text


def test_a_clutch_that_the_list_leaves_open_is_engaged_at_its_end(rig: Path) -> None:
    """Declared engaged, and disengaged by the last step."""
    quay = rig.with_name("quay.catalogue.yaml")
    quay.write_text(CATALOGUE.replace("  mill:", "  dog: {kind: clutch}\n  mill:"), "utf-8")
    was = HEAD + (
        "  one: {item: wheel}\n  hold: {item: dog, driven-by: one}\n  saw: {item: mill, driven-by: hold}\n"
        "commissioning:\n  - start: one\n  - disengage: hold\n"
    )
    rig.write_text(was, "utf-8")
    assert run(["repair", rig.name, "--apply", "1"]) == 0
    assert rig.read_text("utf-8") == f"{was}  - engage: hold\n"


def test_a_setting_is_added_to_the_last_line_of_a_file_that_has_no_line_end(rig: Path) -> None:
    """The rod of 70 N*m under 100 gets one of steel: a line of its own, and the file ends without one as before."""
    was = HEAD + (
        "  one: {item: wheel}\n  saw: {item: mill, driven-by: rod}\n"
        '  rod:\n    item: "2: tin"\n    driven-by: one'
    )
    rig.write_text(was, "utf-8")
    assert run(["repair", rig.name, "--apply", "1"]) == 0
    assert rig.read_text("utf-8") == was.replace("2: tin", "3: any") + "\n    grade: steel"
