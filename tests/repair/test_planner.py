"""Repairs of the sample rigs, each proved again by the public command on the edited file."""

import json
import shutil
from pathlib import Path

import pytest
from command_runner import run
from samples.planned import PlannedSamples

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
MENDED = (
    "dry-stage",
    "late-planks",
    "overloaded-step",
    "press-in-a-loop",
    "slow-saw",
    "started-too-soon",
    "starved-saw",
    "open-end",
    "pole-too-fast",
    "split-to-go-faster",
    "unequal-wheels",
    "unset-stage",
)


@pytest.fixture
def harbour(tmp_path: Path) -> Path:
    """A copy of the samples in a repository of its own."""
    shutil.copytree(SAMPLES, tmp_path / "works")
    (tmp_path / ".git").mkdir()
    return tmp_path / "works"


def _findings(folder: Path, rig: str) -> list[dict[str, object]]:
    ran = run(folder, "check", "--no-repairs", "--write", "json=-", rig)
    found: list[dict[str, object]] = json.loads(ran.stdout)["findings"]
    return found


@pytest.mark.parametrize("name", MENDED)
def test_apply_best_leaves_nothing_to_find(harbour: Path, planned: PlannedSamples, name: str) -> None:
    """After the best repairs the file checks clean, and every line that stays is as it was."""
    rig = f"{name}.rig.yaml"
    before = (harbour / rig).read_text("utf-8").splitlines()
    assert _findings(harbour, rig)
    assert planned.mended(rig).ran.returncode == 0
    (harbour / rig).write_bytes(planned.mended(rig).content)
    assert _findings(harbour, rig) == []
    after = (harbour / rig).read_text("utf-8").splitlines()
    assert [line for line in before if line.startswith("#")] == [line for line in after if line.startswith("#")]
    again = (harbour / rig).read_bytes()
    assert run(harbour, "repair", "--apply", "best", rig).returncode == 0
    assert (harbour / rig).read_bytes() == again


@pytest.mark.parametrize("name", MENDED)
def test_each_offered_repair_mends_its_finding(harbour: Path, name: str) -> None:
    """Repair 1 of the list, applied alone, takes its finding away and brings no new one."""
    rig = f"{name}.rig.yaml"
    before = {(f["rule"], f["part"]) for f in _findings(harbour, rig)}
    assert run(harbour, "repair", "--apply", "1", rig).returncode == 0
    after = {(f["rule"], f["part"]) for f in _findings(harbour, rig)}
    assert after < before


def test_diff_changes_nothing(harbour: Path) -> None:
    """`--diff` shows the one line that changes, steel for iron, and writes nothing."""
    rig = harbour / "overloaded-step.rig.yaml"
    was = rig.read_bytes()
    shown = run(harbour, "repair", "--apply", "1", "--diff", rig.name).stdout.splitlines()
    assert [line for line in shown if line[:1] in "+-" and line[:3] not in ("+++", "---")] == [
        "-  step:   {item: iron-stage, ratio: 5/2, set: reduce, driven-by: lay}",
        "+  step:   {item: steel-stage, ratio: 5/2, set: reduce, driven-by: lay}",
    ]
    assert rig.read_bytes() == was


def test_a_number_out_of_the_list_is_refused(harbour: Path) -> None:
    """`--apply 99` is an error of use: exit 2, with the numbers there are."""
    ran = run(harbour, "repair", "--apply", "99", "overloaded-step.rig.yaml")
    assert ran.returncode == 2
    assert "--apply takes 1 to 1 or best" in ran.stderr
