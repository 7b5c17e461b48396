"""Repairs in the report: two drawings of two solved rigs, the very lines that `--apply` changes, each repair once."""

import re
from html import unescape
from pathlib import Path

import pytest

from lineshaft.cli import run
from lineshaft.commands.one_rig import rig_as_it_is
from lineshaft.repair.plan.pictured import pictured_repairs

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
BROKEN = ("overloaded-step", "pole-too-fast", "started-too-soon", "starved-saw", "slow-saw", "unequal-wheels")


@pytest.fixture
def site(monkeypatch: pytest.MonkeyPatch) -> None:
    """The folder that the samples stand in."""
    monkeypatch.chdir(SAMPLES.parent)


@pytest.mark.parametrize("sample", BROKEN)
def test_the_lines_shown_are_those_that_apply_changes(
    sample: str, site: None, capfd: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Each repair of the report under its number: what it shows is what `repair --apply N --diff` prints, each line."""
    file = f"sample_rigs/{sample}.rig.yaml"
    target = tmp_path / "report.html"
    assert run(["check", file, "--quiet", "--no-cache", "--write", f"html={target}"]) == 1
    capfd.readouterr()
    page = target.read_text("utf-8")
    commands = [unescape(text) for text in re.findall("<code>([^<]*)</code>", page)]
    shown = [unescape(text) for text in re.findall("<pre>([^<]*)</pre>", page)]
    assert commands == [f"lineshaft repair {file} --apply {n}" for n in range(1, len(commands) + 1)]
    assert commands
    for command, lines in zip(commands, shown, strict=True):
        assert run([*command.split()[1:], "--diff"]) in (0, 1)
        assert capfd.readouterr().out == lines


def test_before_and_after_are_two_solved_rigs(site: None) -> None:
    """2.25 kN·m is 187.5 % of what the iron stage stands, 1.2 kN·m, and 37.5 % of 6 kN·m, which the steel one does."""
    first = pictured_repairs(rig_as_it_is("sample_rigs/overloaded-step.rig.yaml"))[0][0]
    before, after = ({node.name: node for node in one.nodes} for one in (first.before, first.after))
    assert (before["step"].item, before["step"].share, before["step"].over) == ("iron-stage", 1.875, True)
    assert (after["step"].item, after["step"].share, after["step"].over) == ("steel-stage", 0.375, False)
    assert {name: node.news for name, node in after.items() if node.news} == {"step": "changed"}
    assert first.left == ()


def test_the_state_that_fails_is_gone_after_the_repair(site: None) -> None:
    """Started too soon: before, step 2 is drawn; with the stage set first the rig as declared."""
    first = pictured_repairs(rig_as_it_is("sample_rigs/started-too-soon.rig.yaml"))[0][0]
    assert first.before.state
    assert first.after.state == ()
    assert [node.name for node in first.after.nodes if node.news] == []


def test_a_new_part_is_told_as_new(site: None) -> None:
    """The slow saw gets a stage of its own, which is in no list before."""
    first = pictured_repairs(rig_as_it_is("sample_rigs/slow-saw.rig.yaml"))[0][0]
    assert {node.name for node in first.after.nodes if node.news == "new"} == {"saw-step"}


def test_what_is_not_drawn_is_counted(site: None, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """With room for one of the three repairs of the pole that is too fast, the report says that two more are listed."""
    monkeypatch.setattr("lineshaft.repair.plan.pictured.MOST_PICTURED", 1)
    file, target = "sample_rigs/pole-too-fast.rig.yaml", tmp_path / "report.html"
    assert run(["check", file, "--quiet", "--no-cache", "--write", f"html={target}"]) == 1
    page = target.read_text("utf-8")
    assert page.count('<div class="repair"') == 1
    assert f"2 more, not drawn: lineshaft repair {file} lists all." in page
