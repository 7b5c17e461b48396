"""A verdict's evidence: every question that reading a rig asks of the disk, and the same reading from answers alone."""

import sys
from pathlib import Path

import pytest

from lineshaft.schema.loading import Loader
from lineshaft.schema.text.dependencies import Answer, DependencyRecorder, Query, Refusal, UnansweredError, digest
from lineshaft.schema.text.repository import Repository

CATALOGUE = """catalogue: 1
edition: "2"
earlier: {"1": old/c1.catalogue.yaml}
items:
  wheel: {kind: prime-mover, output: {torque: 100 N*m, speed: 4 rad/s}}
  mill: {kind: driven-machine}
"""
RIG = """rig: 1
catalogue: ../c.catalogue.yaml
edition: "1"
parts:
  w: {item: wheel}
  m: {item: mill, driven-by: w}
"""


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """A rig in a folder of its own, its catalogue above, and that one's earlier edition below."""
    root = tmp_path.resolve()
    (root / "rigs").mkdir()
    (root / "old").mkdir()
    (root / "rigs" / "a.rig.yaml").write_text(RIG, "utf-8")
    (root / "rigs" / "b.rig.yaml").write_text(RIG, "utf-8")
    (root / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (root / "old" / "c1.catalogue.yaml").write_text(CATALOGUE.replace('"2"', '"1"'), "utf-8")
    return root


def asked(loader: Loader, path: Path) -> list[Query]:
    """The questions that one rig's reading asks."""
    assert loader.repository.recorder is not None
    loader.repository.recorder.start()
    loader.rig(path)
    return [query for query, _ in loader.repository.recorder.dependencies()]


def test_everything_that_is_read_is_noted(yard: Path) -> None:
    """The rig, the catalogue it names and the earlier edition that this one names, each include before its bytes."""
    loader = Loader(Repository(yard, yard, recorder=DependencyRecorder()))
    assert asked(loader, yard / "rigs" / "a.rig.yaml") == [
        Query("bytes", "rigs/a.rig.yaml"),
        Query("include", "rigs", "../c.catalogue.yaml"),
        Query("bytes", "c.catalogue.yaml"),
        Query("include", ".", "old/c1.catalogue.yaml"),
        Query("bytes", "old/c1.catalogue.yaml"),
    ]


def test_what_was_read_before_is_noted_again(yard: Path) -> None:
    """A second rig asks the same, but for itself, though both catalogues are only read once."""
    loader = Loader(Repository(yard, yard, recorder=DependencyRecorder()))
    first = asked(loader, yard / "rigs" / "a.rig.yaml")
    assert asked(loader, yard / "rigs" / "b.rig.yaml") == [Query("bytes", "rigs/b.rig.yaml"), *first[1:]]


def test_an_absent_file_is_noted_with_what_stands_beside(yard: Path) -> None:
    """That a file is not there is an answer too; the hint at a near name hangs on the names in the folder."""
    (yard / "c.catalogue.yaml").rename(yard / "cc.catalogue.yaml")
    loader = Loader(Repository(yard, yard, recorder=DependencyRecorder()))
    assert asked(loader, yard / "rigs" / "a.rig.yaml")[1:] == [
        Query("include", "rigs", "../c.catalogue.yaml"),
        Query("names", "rigs", "../c.catalogue.yaml"),
    ]


def test_a_catalogue_that_was_given_and_not_read_is_no_evidence(yard: Path) -> None:
    """In place of the one that the rig names stands one that nobody asked the disk for, however often it is used."""
    given = Loader(Repository(yard, yard)).catalogue(yard / "c.catalogue.yaml")[0]
    assert given is not None
    loader = Loader(Repository(yard, yard, recorder=DependencyRecorder()))
    changed = loader.with_read_catalogue(yard / "c.catalogue.yaml", given)
    assert [query.at for query in asked(changed, yard / "rigs" / "a.rig.yaml")] == [
        "rigs/a.rig.yaml",
        ".",
        "old/c1.catalogue.yaml",
    ]


def test_trial_texts_are_no_answers_of_the_disk(yard: Path) -> None:
    """A repair's trial reads its own text of the rig, and that leaves no trace."""
    path = yard / "rigs" / "a.rig.yaml"
    edited_rig = Repository(yard, yard, recorder=DependencyRecorder()).with_texts({path: RIG.encode()})
    assert Query("bytes", "rigs/a.rig.yaml") not in asked(Loader(edited_rig), path)


def test_answers_stand_in_place_of_the_disk(yard: Path) -> None:
    """From answers alone the rig reads as it did, where no such folder is; one that lacks is an error, not a guess."""
    away = Path("/nowhere")
    answers: dict[Query, Answer] = {
        Query("bytes", "rigs/a.rig.yaml"): RIG.encode(),
        Query("include", "rigs", "../c.catalogue.yaml"): "c.catalogue.yaml",
        Query("bytes", "c.catalogue.yaml"): CATALOGUE.encode(),
        Query("include", ".", "old/c1.catalogue.yaml"): Refusal("is not there", absent=True),
    }
    here = Loader(Repository(yard, yard)).rig(yard / "rigs" / "a.rig.yaml")
    there = Loader(Repository(away, away, answers=answers)).rig(away / "rigs" / "a.rig.yaml")
    assert here.rig is not None and there.rig is not None
    assert [part.name for part in there.rig.parts] == [part.name for part in here.rig.parts]
    assert there.shown == here.shown
    link = away / "link.rig.yaml"
    assert Repository(away, away, answers=answers).real(link) == link  # links were followed where the disk is
    del answers[Query("bytes", "c.catalogue.yaml")]
    with pytest.raises(UnansweredError):
        Loader(Repository(away, away, answers=answers)).rig(away / "rigs" / "a.rig.yaml")


def test_digests_differ_where_answers_do() -> None:
    """Bytes, names in a folder, paths and refusals, near misses among them."""
    answers: list[Answer] = [b"", b"a", b"a\0b", ("a", "b"), ("a b",), (), "a", "refused: a", Refusal("a")]
    found = {digest(answer) for answer in answers}
    assert len(found) == len(answers)


def test_a_digest_is_the_same_without_the_short_way_to_its_hash(monkeypatch: pytest.MonkeyPatch) -> None:
    """BLAKE2b of "abc" in 20 bytes, as `b2sum -l 160` prints it."""
    wanted = "384264f676f39536840523f284921cdc68b6846b"
    assert digest(b"abc") == wanted
    monkeypatch.setitem(sys.modules, "_blake2", None)
    assert digest(b"abc") == wanted
