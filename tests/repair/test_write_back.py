"""Writing back: one move, every byte that was not meant to change kept, and refusals that leave the file alone."""

import os
from pathlib import Path

import pytest

from lineshaft.repair.edits.splice import OverlapError, Splice, spliced
from lineshaft.repair.edits.write_back import RefusedError, bytes_of, write_back
from lineshaft.schema.text.text import SourceText, read_text


def _read(path: Path) -> SourceText:
    source = read_text(path, path.name, path.read_bytes())
    assert isinstance(source, SourceText)
    return source


def test_splices_keep_all_else() -> None:
    """Edits come in any order, may touch, may not overlap."""
    assert spliced("abcdef", (Splice(4, 5, "E"), Splice(0, 1, "A"), Splice(1, 1, "-"))) == "A-bcdEf"
    with pytest.raises(OverlapError):
        spliced("abcdef", (Splice(0, 3, ""), Splice(2, 4, "")))


def test_mark_line_ends_and_mode_are_kept(tmp_path: Path) -> None:
    """A byte order mark, CRLF and the file's mode survive; nothing is left beside it."""
    path = tmp_path / "a.rig.yaml"
    path.write_bytes(b"\xef\xbb\xbfrig: 1\r\nname: a\r\n")
    path.chmod(0o640)
    source = _read(path)
    write_back(source, source.text.replace("name: a", "name: b"))
    assert path.read_bytes() == b"\xef\xbb\xbfrig: 1\r\nname: b\r\n"
    assert path.stat().st_mode & 0o777 == 0o640
    assert list(tmp_path.iterdir()) == [path]
    assert bytes_of(source, source.text) == b"\xef\xbb\xbfrig: 1\r\nname: a\r\n"


def test_a_symbolic_link_is_followed(tmp_path: Path) -> None:
    """The link stays a link; the file behind it changes."""
    real, link = tmp_path / "real.rig.yaml", tmp_path / "link.rig.yaml"
    real.write_text("rig: 1\n", encoding="utf-8")
    link.symlink_to(real)
    write_back(_read(link), "rig: 2\n")
    assert link.is_symlink()
    assert real.read_text(encoding="utf-8") == "rig: 2\n"


def test_refusals_leave_the_file_alone(tmp_path: Path) -> None:
    """A file that changed, has another hard link, or is read-only is refused and stays as it is."""
    path = tmp_path / "a.rig.yaml"
    path.write_text("rig: 1\n", encoding="utf-8")
    source = _read(path)
    os.link(path, tmp_path / "twin")
    with pytest.raises(RefusedError, match="hard links"):
        write_back(source, "rig: 2\n")
    (tmp_path / "twin").unlink()
    path.chmod(0o444)
    with pytest.raises(RefusedError, match="read-only"):
        write_back(source, "rig: 2\n")
    path.chmod(0o644)
    path.write_text("rig: 3\n", encoding="utf-8")
    with pytest.raises(RefusedError, match="changed"):
        write_back(source, "rig: 2\n")
    assert path.read_text(encoding="utf-8") == "rig: 3\n"
    assert list(tmp_path.iterdir()) == [path]


def test_what_is_no_file_any_more_is_not_written(tmp_path: Path) -> None:
    """A file that is gone since it was read, or gave way to a folder: it says so, and makes nothing in its place."""
    path = tmp_path / "a.rig.yaml"
    path.write_text("rig: 1\n", encoding="utf-8")
    source = _read(path)
    path.unlink()
    with pytest.raises(RefusedError, match=r"cannot read a\.rig\.yaml again: No such file"):
        write_back(source, "rig: 3\n")
    assert not path.exists()
    path.mkdir()
    with pytest.raises(RefusedError, match=r"a\.rig\.yaml is not a regular file"):
        write_back(source, "rig: 3\n")
    assert list(tmp_path.iterdir()) == [path]
