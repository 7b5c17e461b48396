"""Rules are found through entry points, as the standard library finds them."""

import sys
from importlib.metadata import distributions
from pathlib import Path

from lineshaft.check.registry import GROUP, registry

ROOT = Path(__file__).resolve().parents[2]


def test_our_reading_of_entry_points_is_the_standard_librarys() -> None:
    """The quick reader and `importlib.metadata` see the same rules with the same targets; what a build left is none."""
    elsewhere = [folder for folder in sys.path if Path(folder).resolve() != ROOT]
    entries = (entry for found in distributions(path=elsewhere) for entry in found.entry_points)
    expected = {(entry.name, entry.value) for entry in entries if entry.group == GROUP}
    assert expected
    assert {(entry.id, f"{entry.module}:{entry.attribute}") for entry in registry().rules} == expected


def test_other_groups_comments_and_extras_are_passed_over(tmp_path: Path) -> None:
    """Only lines of our group count; a comment and an extra in brackets are no part of the target."""
    folder = tmp_path / "mill-1.0.dist-info"
    folder.mkdir()
    text = "[console_scripts]\nmill = mill:main\n\n[lineshaft.rules]\n# ours\nno-elm = mill.elm:RULE [extra]\n"
    (folder / "entry_points.txt").write_text(text)
    assert [tuple(entry) for entry in registry([str(tmp_path)]).rules] == [("no-elm", "mill.elm", "RULE", "mill 1.0")]
