"""Rules are found through entry points, as the standard library finds them."""

import sys
from importlib.metadata import distributions
from pathlib import Path

import pytest

from lineshaft.check.registry import GROUP, IncompleteInstallationError, Registered, complete_registry, registry
from lineshaft.check.rulebook import load_rule

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


def test_a_build_of_another_tool_is_named_by_what_can_be_read_of_it(tmp_path: Path) -> None:
    """Its metadata file tells name and version; where that is no text, or is not there, its folder's name does."""
    for folder, header in (("told", b"Name: mill\nVersion: 3.5\n\n"), ("bytes", b"\xff\xfe"), ("bare", None)):
        build = tmp_path / f"{folder}.egg-info"
        build.mkdir()
        (build / "entry_points.txt").write_text(f"[lineshaft.rules]\nno-{folder} = mill.{folder}:RULE\n", "utf-8")
        if header is not None:
            (build / "PKG-INFO").write_bytes(header)
    named = {entry.id: entry.distribution for entry in registry([str(tmp_path)]).rules}
    assert named == {"no-told": "mill 3.5", "no-bytes": "bytes", "no-bare": "bare"}


def test_an_id_that_two_register_is_nobody_s(tmp_path: Path) -> None:
    """Two do, and neither runs; what only one registers does; our own id is ours, however many want it."""
    for name, rows in (("mill", "both = m:RULE\nmine = m:OTHER\n"), ("kiln", "both = k:RULE\nbad-quantity = k:X\n")):
        (tmp_path / f"{name}-1.0.dist-info").mkdir()
        (tmp_path / f"{name}-1.0.dist-info" / "entry_points.txt").write_text(f"[lineshaft.rules]\n{rows}", "utf-8")
    found = registry([str(tmp_path)])
    assert [entry.id for entry in found.rules] == ["mine"]
    assert [tuple(one) for one in found.refused] == [
        ("bad-quantity", "of kiln 1.0 does not run: the id is lineshaft's own"),
        ("both", "does not run: kiln 1.0 and mill 1.0 both register it"),
    ]


def test_entry_points_that_are_no_text_are_passed_over(tmp_path: Path) -> None:
    """Ours are ASCII; a stranger's bytes do not end the reading of the others."""
    for name, raw in (("a-1.0", b"[lineshaft.rules]\n\xff = a:RULE\n"), ("b-1.0", b"[lineshaft.rules]\nb = b:RULE\n")):
        (tmp_path / f"{name}.dist-info").mkdir()
        (tmp_path / f"{name}.dist-info" / "entry_points.txt").write_bytes(raw)
    assert [entry.id for entry in registry([str(tmp_path)]).rules] == ["b"]


def test_an_installation_that_lost_its_rules_is_no_installation(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without metadata all lack, three by name; where even their package cannot be imported, it says "its rules"."""
    monkeypatch.setattr(sys, "path", [])
    with pytest.raises(IncompleteInstallationError, match=r"damaged: \d+ of \d+ rules \(bad-quantity, .*, …\) are not"):
        complete_registry()
    monkeypatch.setitem(sys.modules, "lineshaft.rules", None)  # importing it raises ImportError
    with pytest.raises(IncompleteInstallationError, match="damaged: its rules are not registered"):
        complete_registry()


def test_whoever_stops_the_program_stops_it_while_a_rule_is_loaded_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An interrupt is no fault of the rule."""
    (tmp_path / "slow_rule.py").write_text("raise KeyboardInterrupt\n", "utf-8")
    monkeypatch.syspath_prepend(str(tmp_path))
    with pytest.raises(KeyboardInterrupt):
        load_rule(Registered("slow", "slow_rule", "RULE", "mill 1.0"))
