"""What was read of a text is kept for that text alone, and for a few files."""

from pathlib import Path

from lineshaft.schema.loading import Loader
from lineshaft.schema.read.remains import Remains
from lineshaft.schema.text.recent_readings import MOST_KEPT, RecentReadings
from lineshaft.schema.text.repository import Repository
from lineshaft.schema.text.tree import Tree

TEXT = b"catalogue: 1\nedition: spring\nitems: {}\n"


def read(trees: RecentReadings[Tree | Remains] | None, path: Path, text: bytes) -> Tree | None:
    """What a loader reads of a text, or is left of it."""
    repository = Repository(path.parent, path.parent).with_texts({path: text})
    found = Loader(repository, trees=trees).tree_or_remains(path, "catalogue")
    return found if isinstance(found, Tree) else found.tree


def test_a_text_is_read_once_for_all_loaders_and_another_text_afresh(tmp_path: Path) -> None:
    """Faulty or not; and as it is read where nothing is kept."""
    trees, path = RecentReadings[Tree | Remains](), tmp_path / "c.catalogue.yaml"
    for text in (TEXT, TEXT.replace(b"items", b"itms"), TEXT.replace(b"spring", b"autumn")):
        first = read(trees, path, text)
        assert first is not None and read(trees, path, text) is first
        afresh = read(None, path, text)
        assert afresh is not None and afresh is not first and afresh.data == first.data


def test_the_file_that_was_read_longest_ago_goes(tmp_path: Path) -> None:
    """One file more than are kept: the first is read again, the last is not."""
    trees = RecentReadings[Tree | Remains]()
    paths = [tmp_path / f"c{number}.catalogue.yaml" for number in range(MOST_KEPT + 1)]
    found = [read(trees, path, TEXT) for path in paths]
    assert read(trees, paths[-1], TEXT) is found[-1]
    assert read(trees, paths[0], TEXT) is not found[0]
