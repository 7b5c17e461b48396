"""How far `repair --apply` may reach: settings and names that can mean one thing only, other items, other parts."""

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from command_runner import run

pytestmark = pytest.mark.usefixtures("wide_page")

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"


@pytest.fixture
def harbour(tmp_path: Path) -> Path:
    """A copy of the samples in a repository of its own."""
    shutil.copytree(SAMPLES, tmp_path / "works")
    (tmp_path / ".git").mkdir()
    return tmp_path / "works"


def _misspelt(folder: Path, rig: str, right: str, wrong: str) -> Path:
    path = folder / rig
    text = path.read_text("utf-8")
    assert text.count(right) == 1
    path.write_text(text.replace(right, wrong), "utf-8")
    return path


def _repairs(folder: Path, rig: str) -> list[dict[str, Any]]:
    ran = run(folder, "check", "--no-cache", "--write", "json=-", rig)
    return [repair for finding in json.loads(ran.stdout)["findings"] for repair in finding["repairs"]]


def test_a_misspelt_name_with_one_meaning_is_safe_and_mended(harbour: Path) -> None:
    """`creek-whel` is near to `creek-wheel` alone; what is written is the file as it was before the slip."""
    rig = "small-saw.rig.yaml"
    right = (harbour / rig).read_bytes()
    path = _misspelt(harbour, rig, "item: creek-wheel", "item: creek-whel")
    assert [repair["safe"] for repair in _repairs(harbour, rig)] == [True]
    ran = run(harbour, "repair", rig, "--apply", "best", "--up-to", "setting")
    assert ran.returncode == 0, ran.stdout
    assert path.read_bytes() == right


def test_a_misspelt_name_with_two_meanings_is_left_to_people(harbour: Path) -> None:
    """`divide.est` is one slip from `divide.east` and from `divide.west`: which was meant is not for a hook."""
    rig = "two-pumps.rig.yaml"
    text = (
        "rig: 1\nname: Two pumps\ncatalogue: catalogues/tern-harbour.catalogue.yaml\nparts:\n"
        "  wheel: {item: creek-wheel}\n"
        "  divide: {item: divider, shares: {east: 1, west: 1}, driven-by: wheel}\n"
        "  east-pump: {item: bilge-pump, driven-by: divide.est}\n"
        "  west-pump: {item: bilge-pump, driven-by: divide.west}\n"
    )
    (harbour / rig).write_text(text, "utf-8")
    ran = run(harbour, "repair", rig, "--apply", "best", "--up-to", "setting")
    assert ran.returncode == 1
    assert "left out: unknown-reference" in ran.stdout
    assert (harbour / rig).read_text("utf-8") == text
    assert run(harbour, "repair", rig, "--apply", "best").returncode == 0  # the free outlet is taken


def test_an_overload_that_only_another_item_mends_is_no_setting(harbour: Path) -> None:
    """900 N·m · 5/2 are 1.875 times the 1,200 of the stage: steel mends it, and no setting does."""
    rig = "overloaded-step.rig.yaml"
    before = (harbour / rig).read_bytes()
    ran = run(harbour, "repair", rig, "--apply", "best", "--up-to", "setting")
    assert ran.returncode == 1
    assert "no setting was found that mends it" in ran.stdout
    assert (harbour / rig).read_bytes() == before
    assert not any(repair["safe"] for repair in _repairs(harbour, rig))
    ran = run(harbour, "repair", rig, "--apply", "best", "--up-to", "substitution")
    assert ran.returncode == 0
    assert "steel-stage" in (harbour / rig).read_text("utf-8")


def test_a_direction_that_a_list_forgot_is_a_setting(harbour: Path) -> None:
    """The list gains the step that sets the stage; no item and no driver changes."""
    ran = run(harbour, "repair", "unset-stage.rig.yaml", "--apply", "best", "--up-to", "setting")
    assert ran.returncode == 0, ran.stdout
    assert run(harbour, "check", "--no-repairs", "unset-stage.rig.yaml").returncode == 0


def test_what_is_left_is_counted_and_not_told_again_where_quiet(harbour: Path) -> None:
    """A hook that repairs leaves the telling to the one that checks."""
    rig = "overloaded-step.rig.yaml"
    ran = run(harbour, "repair", rig, "--apply", "best", "--up-to", "setting", "--quiet")
    assert ran.returncode == 1
    assert ran.stdout == f"{rig}: 1 finding is left; `lineshaft repair {rig}` shows what mends it\n"
