"""Readings were taken on the build as it stood: a repair that changes what they would show is still a repair."""

import json
import shutil
from pathlib import Path

import pytest

from lineshaft.check.finding import Edit
from lineshaft.check.rulebook import open_rulebook
from lineshaft.cli import run
from lineshaft.repair.proof.context import open_repair_context
from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"


def test_repairs_may_move_what_was_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The starved saw reads 144 N*m at its inlet, as computed (900 / 3 * 0.96 / 2): it is repaired all the same."""
    (tmp_path / ".git").mkdir()
    shutil.copytree(SAMPLES / "catalogues", tmp_path / "catalogues")
    text = (SAMPLES / "starved-saw.rig.yaml").read_text("utf-8")
    Path(tmp_path, "read.rig.yaml").write_text(text + "readings:\n  - {at: saw, torque: 144 N*m}\n", "utf-8")
    monkeypatch.chdir(tmp_path)
    assert run(["repair", "read.rig.yaml", "--apply", "1"]) == 0
    capsys.readouterr()
    run(["check", "read.rig.yaml", "--write", "json=-"])
    left = [finding["rule"] for finding in json.loads(capsys.readouterr().out)["findings"]]
    assert left == ["reading-disagrees"]


CATALOGUE = """\
catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  fork: {kind: splitter, outlets: 2, shares: any}
  mill: {kind: driven-machine, needs: {torque: 90 N*m}}
"""
MISNAMED = """\
rig: 1
catalogue: works.catalogue.yaml
parts:
  wheel: {item: wheel}
  fork: {item: fork, driven-by: wheel, shares: {a: 3, b: 5}}
  stone-1: {item: mill, driven-by: fork.a}
  fan-2: {item: mill, driven-by: fork.b}
readings:
  - {at: stone-3, torque: 12 N*m}
"""


def _works(tmp_path: Path, text: str) -> Path:
    (tmp_path / ".git").mkdir()
    (tmp_path / "works.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    file = tmp_path / "works.rig.yaml"
    file.write_text(text, "utf-8")
    return file


def test_a_reading_is_not_moved_to_the_part_with_the_nearest_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """What was read at stone-3, which is not there, was not read at stone-1; the finding is left to a person."""
    file = _works(tmp_path, MISNAMED)
    monkeypatch.chdir(tmp_path)
    assert run(["repair", file.name, "--apply", "best"]) == 1
    assert file.read_text("utf-8") == MISNAMED
    assert "correct its name by hand" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("stone-3", "stone-1"),
        ("12 N*m", "337.5 N*m"),
        ("  - {at: stone-3, torque: 12 N*m}", "  - {at: fan-2, torque: 12 N*m}"),
        ("readings:\n", "readings:\n  - {at: wheel, torque: 900 N*m}\n"),
        ("torque: 12 N*m}\n", "torque: 12 N*m, tolerance: 50 %}\n"),
    ],
)
def test_no_edit_of_any_rule_writes_into_a_reading(tmp_path: Path, old: str, new: str) -> None:
    """An edit that changes or adds a reading is no trial, wherever it comes from; one that takes a reading out is."""
    file = _works(tmp_path, MISNAMED)
    book = open_rulebook()
    loader = Loader(Repository(tmp_path, tmp_path))
    context = open_repair_context(loader, loader.rig(file), book)
    source = context.rig.rig.tree.source
    at = MISNAMED.index(old)
    writes = Edit(source.shown, source.span(at, at + len(old)), new)
    assert context.edited_rig([writes]) is None
    start = MISNAMED.index("readings:")
    gone = Edit(source.shown, source.span(start, len(MISNAMED)), "")
    edited_rig = context.edited_rig([gone])
    assert edited_rig is not None
    assert edited_rig.findings == ()
