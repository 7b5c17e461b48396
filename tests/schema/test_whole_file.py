"""A file is written whole or not at all, and what a killed run left beside it goes with the next."""

import os
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from lineshaft.schema.text import windows
from lineshaft.schema.text.whole_file import make_whole, replace_whole, write_named

_HELD = """
import os, signal, sys
from pathlib import Path
from lineshaft.schema.text import whole_file
def wait(*_):
    print("written", flush=True)
    sys.stdin.read()
os.fsync = wait
whole_file.replace_whole(Path(sys.argv[1]), b"from the other run")
"""


def _other_run(target: Path) -> "subprocess.Popen[str]":
    """A run that has written beside its target and is about to move it there."""
    command = [sys.executable, "-P", "-c", _HELD, str(target)]
    child = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    assert child.stdout.readline() == "written\n"
    return child


def test_what_a_killed_run_left_goes_with_the_next(tmp_path: Path) -> None:
    """Killed before the move, a run leaves a file beside; the next write in that folder takes it away."""
    target = tmp_path / "list.snags.yaml"
    target.write_bytes(b"old")
    with _other_run(target) as child:
        child.kill()
    assert child.returncode == -signal.SIGKILL
    assert target.read_bytes() == b"old"
    assert len(list(tmp_path.iterdir())) == 2
    write_named(tmp_path / "another.json", b"{}")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["another.json", "list.snags.yaml"]


def test_a_run_that_still_writes_is_left_alone(tmp_path: Path) -> None:
    """Two runs write in one folder at once: neither takes the other's file away."""
    target = tmp_path / "list.snags.yaml"
    with _other_run(target) as child:
        write_named(tmp_path / "another.json", b"{}")
        child.communicate("", timeout=30)
    assert child.returncode == 0
    assert target.read_bytes() == b"from the other run"
    assert len(list(tmp_path.iterdir())) == 2


def test_what_another_run_took_for_left_over_is_written_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Taken away between its making and its lock: a second one is begun, and it is whole."""
    real, asked = windows.locked, []

    def locked(handle: int) -> bool:
        asked.append(handle)
        if len(asked) == 1:
            for left in tmp_path.iterdir():
                left.unlink()
        return real(handle)

    monkeypatch.setattr(windows, "locked", locked)
    write_named(tmp_path / "a.json", b"{}")
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("a.json", b"{}")]
    assert len(asked) == 2


def test_a_file_that_somebody_holds_is_not_ours(tmp_path: Path) -> None:
    """Until he lets go of it."""
    path = tmp_path / "held"
    path.touch()
    with path.open("rb") as ours:
        with path.open("rb") as theirs:
            assert windows.locked(theirs.fileno())
            assert not windows.locked(ours.fileno())
        assert windows.locked(ours.fileno())


def test_a_file_that_may_not_be_written_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Though a new file could be moved into its place; a superuser may write all, so the system's answer is put in."""
    target = tmp_path / "a.json"
    target.write_bytes(b"old")
    monkeypatch.setattr(os, "access", lambda *_: False)
    with pytest.raises(PermissionError, match="the file is read-only"):
        write_named(target, b"new")
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("a.json", b"old")]


def test_a_file_is_written_though_a_stream_is_closed(tmp_path: Path) -> None:
    """As after `2>&-`: no file is taken for a stream that is not there."""
    target = tmp_path / "a.json"
    target.write_bytes(b"old")
    kept = os.dup(2)
    try:
        os.close(2)
        write_named(target, b"new")
    finally:
        os.dup2(kept, 2)
        os.close(kept)
    assert target.read_bytes() == b"new"


def test_files_that_only_look_alike_are_left_alone(tmp_path: Path) -> None:
    """A hidden file of somebody else's, and a link with our pattern, stay."""
    (tmp_path / ".notes.lineshaft-part").write_bytes(b"")
    (tmp_path / ".a.0123456789abcdef.lineshaft-part").symlink_to(tmp_path / ".notes.lineshaft-part")
    write_named(tmp_path / "a", b"x")
    assert len(list(tmp_path.iterdir())) == 3


def test_an_error_before_the_move_leaves_the_old_file(tmp_path: Path) -> None:
    """Whatever is raised when all is looked at again, the old bytes stand and nothing lies beside."""
    target = tmp_path / "a.json"
    target.write_bytes(b"old")

    def no() -> None:
        raise OSError(28, "No space left on device")

    with pytest.raises(OSError, match="No space"):
        replace_whole(target, b"new", no)
    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_a_new_file_has_the_usual_mode_and_an_old_one_keeps_its_own(tmp_path: Path) -> None:
    """A new file is 0666 less the umask, as POSIX says of open(2); one of 0640 stays so."""
    before = os.umask(0o027)
    try:
        write_named(tmp_path / "new", b"x")
    finally:
        os.umask(before)
    assert (tmp_path / "new").stat().st_mode & 0o777 == 0o640
    (tmp_path / "new").chmod(0o604)
    write_named(tmp_path / "new", b"y")
    assert (tmp_path / "new").stat().st_mode & 0o777 == 0o604


def test_links_are_followed(tmp_path: Path) -> None:
    """A report that a person keeps elsewhere, behind a link, is written there."""
    (tmp_path / "elsewhere").mkdir()
    link = tmp_path / "report.html"
    link.symlink_to(tmp_path / "elsewhere" / "report.html")
    for text in (b"one", b"two"):
        write_named(link, text)
        assert (tmp_path / "elsewhere" / "report.html").read_bytes() == text
    assert link.is_symlink()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
def test_pipes_and_devices_are_written_directly(tmp_path: Path) -> None:
    """A named pipe stays one, and its reader gets the bytes; the null device stays a device."""
    pipe, got = tmp_path / "pipe", []
    os.mkfifo(pipe)
    reader = threading.Thread(target=lambda: got.append(pipe.read_bytes()))
    reader.start()
    write_named(pipe, b"a report")
    reader.join(10)
    assert got == [b"a report"]
    assert pipe.is_fifo()
    write_named(Path(os.devnull), b"x")
    assert Path(os.devnull).is_char_device()


def test_a_new_file_is_made_whole_and_takes_nobodys_place(tmp_path: Path) -> None:
    """What is there by now stays, a link that leads nowhere too, and nothing is left beside."""
    make_whole(tmp_path / "fresh.rig.yaml", b"rig: 1\n")
    assert (tmp_path / "fresh.rig.yaml").read_bytes() == b"rig: 1\n"
    (tmp_path / "lost.rig.yaml").symlink_to(tmp_path / "nowhere")
    for name in ("fresh.rig.yaml", "lost.rig.yaml"):
        with pytest.raises(FileExistsError):
            make_whole(tmp_path / name, b"other")
    assert (tmp_path / "fresh.rig.yaml").read_bytes() == b"rig: 1\n"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["fresh.rig.yaml", "lost.rig.yaml"]


def test_a_new_file_is_made_on_a_disk_without_second_names(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the system refuses the second name (EPERM, as on FAT), the file is moved if its place is free."""

    def refused(*_: object, **__: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", refused)
    make_whole(tmp_path / "fresh.rig.yaml", b"rig: 1\n")
    with pytest.raises(FileExistsError):
        make_whole(tmp_path / "fresh.rig.yaml", b"other")
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("fresh.rig.yaml", b"rig: 1\n")]


def test_a_new_file_is_made_on_a_system_without_second_names(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Python in a browser has no `os.link` at all: the file is moved if its place is free."""
    monkeypatch.delattr(os, "link")
    make_whole(tmp_path / "fresh.rig.yaml", b"rig: 1\n")
    with pytest.raises(FileExistsError):
        make_whole(tmp_path / "fresh.rig.yaml", b"other")
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("fresh.rig.yaml", b"rig: 1\n")]
