"""The corpora through every target, and that what a target does not stand is told."""

import json
from pathlib import Path

import pytest

pytest.importorskip("lsprotocol", reason="needs the extra `editor`")

from trust import explore, targets
from trust.table import Form
from trust.targets import TARGETS


@pytest.mark.parametrize("name", explore.NAMES)
def test_the_corpus_and_some_mutations_of_it_are_stood(name: str) -> None:
    """No input raises; each target has inputs of its own to begin with."""
    assert list((explore.HERE / "corpora" / name).glob("*"))
    assert explore.replayed(name, 10, 0) == []


def test_the_targets_are_those_of_the_list() -> None:
    """The names are listed apart, so that atheris can load the program after them."""
    assert tuple(TARGETS) == explore.NAMES


def test_what_raises_is_told_with_its_input(monkeypatch: pytest.MonkeyPatch) -> None:
    """A target that does not stand a percent sign: inputs with one are found, by mutation too, and no others."""

    def refuses(raw: bytes) -> None:
        if b"%" in raw:
            raise KeyError("put in by a test")

    monkeypatch.setattr(targets, "TARGETS", {**TARGETS, "quantities": refuses})
    found = explore.replayed("quantities", 300, 1)
    assert len(found) > 3
    assert all(b"%" in raw and what == "KeyError: 'put in by a test'" for raw, what in found)


@pytest.mark.parametrize(
    ("name", "raw"), [("edits", b"\x01\x00\x12new\0first\nlast"), ("ratios", b"75/15"), ("quantities", b"900 N*m")]
)
def test_a_target_reaches_what_it_is_about(name: str, raw: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the program answers nonsense, the target raises: it looks at the answer, not at exceptions alone."""
    TARGETS[name](raw)
    nonsense = {"edits": ("ClientText", _Forgetful), "ratios": ("ratio", _half), "quantities": ("quantity", _endless)}
    monkeypatch.setattr(targets, *nonsense[name])
    with pytest.raises(AssertionError):
        TARGETS[name](raw)


class _Forgetful(targets.ClientText):
    def with_change(self, change: object) -> "_Forgetful":
        return self


class _Half:
    value = 0.5


def _half(_: object) -> _Half:
    return _Half()


def _endless(*_: object, **__: object) -> float:
    return float("inf")


def test_inputs_of_all_runs_are_summed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two runs of one target and one of another: 300 + 70 + 9."""
    monkeypatch.setattr(explore, "RECORD", tmp_path / "explored.json")
    assert explore.inputs_so_far() == 0
    (tmp_path / "explored.json").write_text(json.dumps({"rig": [[0, 300], [1, 70]], "text": [[0, 9]]}), "utf-8")
    assert explore.inputs_so_far() == 379


def test_the_row_of_the_table_says_how_many_were_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    """Eight targets, forty mutations each, none of which raises; then one target that raises, and is told."""
    monkeypatch.setattr(explore, "replayed", lambda *_: [])
    (row,) = explore.rows(Form())
    assert (row.now, row.holds) == ("0 of 320 and the corpora", True)
    monkeypatch.setattr(explore, "replayed", lambda name, *_: [(b"%", "KeyError: 1")] if name == "rig" else [])
    (row,) = explore.rows(Form())
    assert (row.now, row.holds) == ("1 of 320 and the corpora; the first: rig: KeyError: 1", False)
