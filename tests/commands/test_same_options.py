"""What an option means is the same in every command that has it, and each has it where it makes sense."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest
from command_runner import run

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
CHANGES = (
    ("repair", "overloaded-step.rig.yaml", "--apply", "1"),
    ("size", "late-planks.rig.yaml", "saw", "--apply", "1"),
    ("commission", "three-stones.rig.yaml", "--apply"),
    ("audit", "inherited-mill.rig.yaml", "--apply", "1"),
)


@pytest.fixture
def harbour(tmp_path: Path) -> Path:
    """A copy of the samples in a repository of its own."""
    shutil.copytree(SAMPLES, tmp_path / "works")
    (tmp_path / ".git").mkdir()
    return tmp_path / "works"


@pytest.mark.parametrize("words", CHANGES, ids=[words[0] for words in CHANGES])
def test_diff_shows_what_apply_then_writes(harbour: Path, words: tuple[str, ...]) -> None:
    """What git makes of the lines shown is, byte for byte, what --apply leaves; --diff itself changes nothing."""
    path = harbour / words[1]
    before = path.read_bytes()
    (harbour / "shown.diff").write_text(run(harbour, *words, "--diff").stdout, "utf-8")
    assert path.read_bytes() == before
    assert run(harbour, *words).returncode in (0, 1)
    applied = path.read_bytes()
    assert applied != before
    path.write_bytes(before)
    # The ceiling keeps git to this folder, which is no repository of its own.
    env = {**os.environ, "GIT_CEILING_DIRECTORIES": str(harbour.parent)}
    subprocess.run(["git", "apply", "-p0", "shown.diff"], cwd=harbour, env=env, check=True, timeout=60)
    assert path.read_bytes() == applied


@pytest.mark.parametrize("words", CHANGES, ids=[words[0] for words in CHANGES])
def test_diff_without_apply_is_a_slip(harbour: Path, words: tuple[str, ...]) -> None:
    """Exit 2, with what to add."""
    ran = run(harbour, *words[: words.index("--apply")], "--diff")
    assert ran.returncode == 2
    assert "--apply" in ran.stderr


@pytest.mark.parametrize("name", ["check", "repair", "size", "commission", "audit", "impact", "draw"])
def test_what_judges_takes_a_day(tmp_path: Path, name: str) -> None:
    """Waivers are judged by it wherever findings are told."""
    assert "--date YYYY-MM-DD" in run(tmp_path, name, "--help").stdout


@pytest.mark.parametrize(
    "name", ["check", "trace", "draw", "sweep", "size", "repair", "commission", "audit", "impact"]
)
def test_what_shows_speeds_takes_units(tmp_path: Path, name: str) -> None:
    """In rad/s or turns a minute, for people."""
    assert "--units [si|rpm]" in run(tmp_path, name, "--help").stdout
