"""What lies around the checked files: code that wants to be loaded, and a full disk."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

SAMPLE = Path(__file__).resolve().parents[2] / "sample_rigs"
SCRIPT = Path(sys.executable).with_name("lineshaft.exe" if os.name == "nt" else "lineshaft")
LOUD = "print('LOADED FROM THE CHECKED FOLDER')\nraise SystemExit(77)\n"


def _yard(folder: Path) -> Path:
    (folder / "catalogues").mkdir()
    for name in ("two-wheels.rig.yaml", "catalogues/tern-harbour.catalogue.yaml"):
        (folder / name).write_bytes((SAMPLE / name).read_bytes())
    return folder


def _check(command: list[str], folder: Path, **streams: object) -> subprocess.CompletedProcess[str]:
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    return subprocess.run(  # type: ignore[call-overload,no-any-return]
        [*command, "check", "."],
        cwd=folder,
        env={**environment, "PYTHONUTF8": "1"},
        text=True,
        timeout=60,
        check=False,
        **(streams or {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE}),
    )


@pytest.mark.parametrize("command", [[str(SCRIPT)], [sys.executable, "-m", "lineshaft"]], ids=["script", "module"])
def test_no_code_of_the_checked_folder_is_loaded(command: list[str], tmp_path: Path) -> None:
    """Modules of our names and of libraries', start-up hooks and a rule under our entry points stay unread."""
    yard = _yard(tmp_path)
    for name in ("sitecustomize.py", "usercustomize.py", "click.py", "jsonschema_rs.py", "stranger.py"):
        (yard / name).write_text(LOUD, "utf-8")
    if command[0] == str(SCRIPT):
        # `python -m lineshaft` looks in the working folder before any code of ours runs: that is Python's own doing.
        (yard / "lineshaft").mkdir()
        (yard / "lineshaft" / "__init__.py").write_text(LOUD, "utf-8")
    (yard / "stranger-1.dist-info").mkdir()
    (yard / "stranger-1.dist-info" / "METADATA").write_text("Metadata-Version: 2.1\nName: stranger\nVersion: 1\n")
    (yard / "stranger-1.dist-info" / "entry_points.txt").write_text("[lineshaft.rules]\nstranger = stranger:RULE\n")
    ran = _check(command, yard)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert "LOADED" not in ran.stdout
    assert "0 errors" in ran.stdout


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_disk_is_a_message(tmp_path: Path) -> None:
    """The sheet cannot be written: exit 2 with the system's reason, no traceback."""
    with Path("/dev/full").open("w") as full:
        ran = _check([str(SCRIPT)], _yard(tmp_path), stdout=full, stderr=subprocess.PIPE)
    assert ran.returncode == 2
    assert "No space left" in ran.stderr
    assert "Traceback" not in ran.stderr
