"""Two editors as Debian has them, without a screen: what is wrong arrives, and one sees figures where one points.

With `LINESHAFT_LONG=1`, and where the editor is installed; else they are skipped.
"""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

CLIENTS = Path(__file__).resolve().parent / "clients"
RIG = "overloaded-step.rig.yaml"
SERVER = f"{sys.executable} -m lineshaft lsp --stdio"
pytestmark = pytest.mark.skipif(os.environ.get("LINESHAFT_LONG") != "1", reason="only in the long form")


def _shown(works: Path, *command: str) -> dict[str, Any]:
    out = works.parent / "shown.json"
    given = {**os.environ, "FOLDER": str(works), "RIG": RIG, "SERVER": SERVER, "OUT": str(out)}
    ran = subprocess.run(command, env=given, cwd=works, capture_output=True, text=True, timeout=180)
    assert out.is_file(), ran.stderr[-2000:]
    found: dict[str, Any] = json.loads(out.read_text("utf-8"))
    return found


def _has_figures(shown: dict[str, Any]) -> None:
    (found,) = shown["diagnostics"]
    assert found["line"] == 10
    assert "step carries 2.25 kN·m, may carry 1.2 kN·m: 1.875 times" in found["message"]
    assert "| out | 2.25 kN·m | 3.2 rad/s | 7.2 kW |" in shown["hover"]


@pytest.mark.skipif(shutil.which("nvim") is None, reason="Neovim is not installed")
def test_neovim_shows_findings_and_figures(works: Path) -> None:
    """From 0.7 on, through its own client."""
    script = CLIENTS / "neovim.lua"
    _has_figures(_shown(works, "nvim", "--headless", "-u", "NONE", "-c", f"luafile {script}", "-c", "qa!"))


@pytest.mark.skipif(shutil.which("emacs") is None, reason="Emacs is not installed")
def test_emacs_shows_findings_and_figures(works: Path) -> None:
    """28 with eglot."""
    _has_figures(_shown(works, "emacs", "--batch", "-l", str(CLIENTS / "emacs.el")))
