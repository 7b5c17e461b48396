"""What a check does on a large rig grows as the rig does, whatever is odd about it; steps are counted, no time is."""

import sys
from pathlib import Path
from types import FrameType
from typing import Any

import pytest
from rig_maker.growth import KINDS

from lineshaft.check.checker import Checker
from lineshaft.check.rulebook import open_rulebook

MOST = 1.15
"""How much more than twice the steps a rig of twice the size may take: what grows as the square takes up to 2."""
SIZE = 300


def steps(folder: Path, files: dict[str, str]) -> int:
    """Lines of Python that judging the rig without repairs runs through, calls into C not counted."""
    folder.mkdir()
    for name, text in files.items():
        (folder / name).write_text(text, "utf-8")
    checker = Checker(folder.resolve(), open_rulebook())
    count = 0

    def each(_: FrameType, event: str, __: Any) -> Any:
        nonlocal count
        count += event == "line"
        return each

    before = sys.gettrace()
    sys.settrace(each)
    try:
        checker.report(folder.resolve() / "a.rig.yaml", "rig")
    finally:
        sys.settrace(before)
    return count


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_twice_the_size_takes_twice_the_steps(tmp_path: Path, kind: str) -> None:
    """At 600 of each against 300, after a first look at a small one, so that all is loaded."""
    steps(tmp_path / "first", KINDS[kind](7))
    once = steps(tmp_path / "once", KINDS[kind](SIZE))
    twice = steps(tmp_path / "twice", KINDS[kind](2 * SIZE))
    assert twice / once / 2 <= MOST, f"{once} and {twice} steps"
