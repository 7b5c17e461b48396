"""Rigs that are kept as they were judged: how many, and what a verdict by them hangs on."""

from pathlib import Path

import pytest

from lineshaft.check import kept_inspections
from lineshaft.check.inspection import Inspected
from lineshaft.check.kept_inspections import Kept, keep
from lineshaft.check.open_files import OpenFiles
from lineshaft.schema.text.dependencies import DependencyRecorder, Query
from lineshaft.testing import CATALOGUE

PARTS = "parts:\n  wheel: {item: wheel}\n  press: {item: press, driven-by: wheel}\n"


@pytest.fixture
def judged(tmp_path: Path) -> Inspected:
    """A rig of two parts."""
    (tmp_path / "works.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    path = tmp_path / "a.rig.yaml"
    path.write_text(f"rig: 1\ncatalogue: works.catalogue.yaml\n{PARTS}", "utf-8")
    found = OpenFiles(tmp_path.resolve()).judge(path.resolve(), {}).inspected
    assert found is not None
    return found


@pytest.mark.parametrize(("most", "count"), [(1, 0), (2, 1), (3, 1), (4, 2), (5, 2), (6, 3), (99, 3)])
def test_as_many_rigs_are_kept_as_their_parts_together_allow(
    judged: Inspected, monkeypatch: pytest.MonkeyPatch, most: int, count: int
) -> None:
    """Three of two parts each, where so many parts may be kept."""
    monkeypatch.setattr(kept_inspections, "_MOST_PARTS", most)
    kept: dict[Path, Kept] = {}
    for name in "abc":
        keep(kept, Path(name), judged, None)
    assert [path.name for path in kept] == list("abc")[:count]


def test_who_takes_a_kept_rig_hangs_on_what_it_hung_on(judged: Inspected) -> None:
    """Two questions that were noted when it was judged are noted again; without a note there is nothing."""
    recorder = DependencyRecorder()
    asked = [Query("bytes", "a.rig.yaml"), Query("bytes", "works.catalogue.yaml")]
    for query in asked:
        recorder.note(query, b"some text")
    kept: dict[Path, Kept] = {}
    keep(kept, Path("a"), judged, recorder)
    keep(kept, Path("b"), judged, None)
    recorder.start()
    assert kept[Path("b")].noted(recorder) is judged
    assert recorder.dependencies() == ()
    assert kept[Path("a")].noted(None) is judged
    assert recorder.dependencies() == ()
    assert kept[Path("a")].noted(recorder) is judged
    assert [query for query, _ in recorder.dependencies()] == asked
