"""What the README and the page about installation promise of shells and systems."""

import os
import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def test_the_completion_that_is_named_is_there() -> None:
    """click's own, asked for by a variable: the shell gets a script, and that script gets what begins so."""
    assert "_LINESHAFT_COMPLETE=bash_source" in (ROOT / "docs" / "guides" / "installation.md").read_text("utf-8")
    assert "complete -o nosort -F" in _completion(_LINESHAFT_COMPLETE="bash_source")
    asked = {"_LINESHAFT_COMPLETE": "bash_complete", "COMP_WORDS": "lineshaft che", "COMP_CWORD": "1"}
    assert _completion(**asked) == "plain,check\n"


def test_readme_begins_for_windows_too() -> None:
    """PowerShell as Windows delivers it has no `&&`, and the launcher `py` is what python.org installs."""
    text = (ROOT / "README.md").read_text("utf-8")
    (block,) = re.findall(r"```powershell\n(.*?)```", text, re.S)
    assert block.startswith("py -m venv .venv\n") and "&&" not in block
    unix = re.findall(r"```sh\n(.*?)```", text, re.S)[0]
    for words in ("pip install .", "lineshaft check sample_rigs"):
        assert words in block and words in unix


def _completion(**variables: str) -> str:
    command, env = [sys.executable, "-P", "-m", "lineshaft"], {**os.environ, **variables}
    return subprocess.run(command, env=env, capture_output=True, text=True, check=True).stdout
