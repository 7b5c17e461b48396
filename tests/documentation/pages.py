"""The pages of the documentation as what a reader does: files that are written and commands that are typed, in order.

    python tests/documentation/pages.py

in the root of the repository puts what the commands print now into the pages. Look at what that changed.
"""

import re
import shlex
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
if __name__ == "__main__":
    sys.path.insert(0, str(ROOT / "tests"))
PAGES = sorted((ROOT / "README.md", *(ROOT / "docs").rglob("*.md")))
_OWN_FOLDER = "<!-- commands run in a folder of their own -->"
_FILE = r"^`(?P<name>[^`\s]+)`:\n\n```\w+\n(?P<text>.*?)^```$"
_COMMAND = r"^```console\n\$ (?P<command>[^\n]*)\n(?P<shown>.*?)^```$"
_STEP = re.compile(f"{_FILE}|{_COMMAND}", re.DOTALL | re.MULTILINE)


def printed(page: Path) -> Iterator[tuple[re.Match[str], str]]:
    """Each command of a page with what it prints.

    Commands run in the root of the repository. Where a page says so at its top, they run in a folder of their own, in
    order, into which the page's files are written: a text under its name in backquotes and a colon.
    """
    from command_runner import run_for_bytes  # beside this folder, wherever this is run from

    text = page.read_text("utf-8")
    with tempfile.TemporaryDirectory() as own:
        folder = Path(own).resolve() if text.startswith(_OWN_FOLDER) else ROOT
        for found in _STEP.finditer(text):
            if found["command"] is not None:
                program, *words = shlex.split(found["command"])
                assert program == "lineshaft", f"only lineshaft is run, not {program}"
                yield found, run_for_bytes(folder, *words).stdout.decode("utf-8")
            elif folder != ROOT:
                (folder / found["name"]).write_text(found["text"], "utf-8")


def _filled(page: Path) -> str:
    text = page.read_text("utf-8")
    for found, shown in reversed(list(printed(page))):
        text = text[: found.start("shown")] + shown + text[found.end("shown") :]
    return text


if __name__ == "__main__":
    for one in PAGES:
        one.write_text(_filled(one), "utf-8")
