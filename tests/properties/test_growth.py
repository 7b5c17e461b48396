"""What a check does on a large rig grows as the rig does, whatever is odd about it; steps are counted, no time is."""

import sys
from pathlib import Path
from types import FrameType
from typing import Any

import pytest
from rig_maker.growth import KINDS

from lineshaft.check.checker import Checker
from lineshaft.check.rulebook import open_rulebook

MOST = 1.08
"""How much more than twice the steps a rig of twice the size may take: what grows as the square takes up to 2.

So little at this size finds as small a part that grows as the square as 1.15 does at twice the size.
"""
SIZE = 150
LARGER = {"unknown-references": 400, "unknown-items": 400, "unknown-keys": 300}
"""Among so many names fewer slips are looked for: up to there steps grow as the square, and a measure across the border
would take what follows for growth that is less than even."""


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
    """At 300 of each against 150, of some more, after a first look at a small one, so that all is loaded."""
    size = LARGER.get(kind, SIZE)
    steps(tmp_path / "first", KINDS[kind](7))
    once = steps(tmp_path / "once", KINDS[kind](size))
    twice = steps(tmp_path / "twice", KINDS[kind](2 * size))
    assert twice / once / 2 <= MOST, f"{once} and {twice} steps"
