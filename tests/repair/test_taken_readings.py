"""Readings were taken on the build as it stood: a repair that changes what they would show is still a repair."""

import json
import shutil
from pathlib import Path

import pytest

from lineshaft.cli import run

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
