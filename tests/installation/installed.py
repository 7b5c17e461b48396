"""Distributions of rules as `pip` would leave them, in a folder that stands on the import path for one run."""

import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
SOUND = str(SAMPLES / "small-saw.rig.yaml")  # nothing of ours finds anything in it


def install(folder: Path, name: str, rules: Mapping[str, str], **modules: str) -> Path:
    """Put a distribution, `NAME-VERSION`, into a folder: its entry points (id to target) and its modules' texts."""
    info = folder / f"{name}.dist-info"
    info.mkdir(parents=True)
    lines = "".join(f"{rule} = {target}\n" for rule, target in rules.items())
    (info / "entry_points.txt").write_text(f"[lineshaft.rules]\n{lines}", "utf-8")
    for module, text in modules.items():
        (folder / f"{module}.py").write_text(text, "utf-8")
    return folder


def lineshaft(*arguments: str, beside: Path, cwd: Path = SAMPLES) -> subprocess.CompletedProcess[str]:
    """One run of the command with the distributions of a folder."""
    return subprocess.run(
        [sys.executable, "-P", "-m", "lineshaft", *arguments],
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(beside)},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
