"""A process that is killed while it writes leaves the old file or the new one, whole."""

import signal
import subprocess
import sys
import time
from pathlib import Path
from random import Random

import pytest

_CHILD = """
import os, signal, sys
from pathlib import Path
from lineshaft.repair.edits.write_back import write_back
from lineshaft.schema.text.text import read_text

path, moment = Path(sys.argv[1]), sys.argv[2]
source = read_text(path, path.name, path.read_bytes())
wait = {"fsync": (os, "fsync"), "replace": (os, "replace"), "chmod": (Path, "chmod"), "open": (os, "open")}
if moment in wait:
    owner, name = wait[moment]
    def die(*_, **__):
        os.kill(os.getpid(), signal.SIGKILL)
    setattr(owner, name, die)
text = source.text
while True:
    text = text.swapcase()
    write_back(source, text)
    source = read_text(path, path.name, path.read_bytes())
"""


@pytest.mark.parametrize("moment", ["chmod", "fsync", "replace"])
def test_killed_before_the_move(tmp_path: Path, moment: str) -> None:
    """Killed while the new text is written beside, or just before it is moved: the old file stands."""
    path = tmp_path / "a.rig.yaml"
    path.write_text("rig: 1\n" * 1000, encoding="utf-8")
    ran = subprocess.run([sys.executable, "-P", "-c", _CHILD, str(path), moment], timeout=60, check=False)
    assert ran.returncode == -signal.SIGKILL
    assert path.read_text(encoding="utf-8") == "rig: 1\n" * 1000


def test_killed_at_any_moment(tmp_path: Path) -> None:
    """A child that writes two texts in turn is killed ten times, at random: one of the two is there, whole."""
    path = tmp_path / "a.rig.yaml"
    old, new = "rig: one\n" * 50_000, "RIG: ONE\n" * 50_000
    dice = Random(4)
    for _ in range(10):
        path.write_text(old, encoding="utf-8")
        with subprocess.Popen([sys.executable, "-P", "-c", _CHILD, str(path), "never"]) as child:
            _wait_for(path, new)
            time.sleep(dice.random() / 20)
            child.kill()
        assert path.read_text(encoding="utf-8") in (old, new)


def _wait_for(path: Path, text: str) -> None:
    """Until the child has written once, so that the kill meets a write and not the start of Python."""
    end = time.monotonic() + 30
    while path.read_text(encoding="utf-8") != text and time.monotonic() < end:
        time.sleep(0.001)
