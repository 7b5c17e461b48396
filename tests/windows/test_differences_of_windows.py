"""What Windows does otherwise, put in here: line ends, code page, drives, moves that are refused, pipes, spawning."""

import json
import multiprocessing
import ntpath
import os
import shlex
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path, PureWindowsPath

import pytest
from command_runner import run, run_for_bytes

from lineshaft.cli import EXAMPLES
from lineshaft.run.cache_folder import cache_folder
from lineshaft.schema.text import windows
from lineshaft.schema.text.dependencies import Refusal
from lineshaft.schema.text.repository import Repository
from lineshaft.schema.text.whole_file import make_whole, write_named

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
RIGS = sorted(path.name for path in SAMPLES.glob("*.rig.yaml"))
BROKEN = "overloaded-step.rig.yaml"


@pytest.fixture
def works(tmp_path: Path) -> Path:
    """A copy of the samples, as a repository of its own."""
    shutil.copytree(SAMPLES, tmp_path / "works")
    (tmp_path / "works" / ".git").mkdir()
    return tmp_path / "works"


@pytest.fixture
def crlf(tmp_path: Path) -> Path:
    """The same as a checkout on Windows has it: every line ends in CR LF."""
    folder = tmp_path / "crlf"
    shutil.copytree(SAMPLES, folder)
    (folder / ".git").mkdir()
    for path in folder.rglob("*.yaml"):
        path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    return folder


def test_lines_that_end_in_cr_lf_change_no_finding(works: Path, crlf: Path) -> None:
    """Places, values, repairs and fingerprints are the same; an edit's text may end its lines as its file does."""
    plain = run(works, "check", "--write", "json=-", ".").stdout
    other = run(crlf, "check", "--write", "json=-", ".").stdout
    assert json.loads(other.replace("\\r\\n", "\\n")) == json.loads(plain)
    assert len(json.loads(plain)["findings"]) > 10


def _repaired(rig: str) -> tuple[str, ...]:
    return ("repair", "--apply", "best", rig)


@pytest.mark.parametrize("rig", [BROKEN, "unset-stage.rig.yaml", "dry-stage.rig.yaml", "open-end.rig.yaml"])
def test_a_repair_keeps_cr_lf_and_is_the_same(works: Path, crlf: Path, rig: str) -> None:
    """No bare line feed comes in, and but for line ends both files say the same."""
    for folder in (works, crlf):
        assert run(folder, *_repaired(rig)).returncode in (0, 1)
    changed = (crlf / rig).read_bytes()
    assert changed.count(b"\n") == changed.count(b"\r\n")
    assert changed.replace(b"\r\n", b"\n") == (works / rig).read_bytes()


LETTERS = "Œuvre — ½ · × ‘q’ → ≈ Мельница 風車"


@pytest.mark.parametrize("name", sorted(EXAMPLES.keys() - {"impact", "rules test"}))
def test_every_command_shows_what_it_can_in_the_code_page(works: Path, name: str) -> None:
    """Windows' western code page has no arrow and no Cyrillic: these are escaped, and no command fails of them."""
    for path in works.glob("*.rig.yaml"):
        path.write_text(path.read_text("utf-8").replace("\nname: ", f"\nname: {LETTERS} ", 1), "utf-8")
    command = [sys.executable, "-P", "-m", "lineshaft", *shlex.split(EXAMPLES[name])[1:]]
    poor = {**os.environ, "PYTHONIOENCODING": "cp1252:strict", "PYTHONUTF8": "0"}
    (works / "sample_rigs").symlink_to(works)
    ran = subprocess.run(command, cwd=works, env=poor, capture_output=True, timeout=120, check=False)
    assert ran.returncode in (0, 1), ran.stderr.decode("cp1252")
    shown = (ran.stdout + ran.stderr).decode("cp1252", "strict")
    assert "Traceback" not in shown and "internal error" not in shown
    if "Œuvre" in shown:
        assert "½ · × ‘q’ \\u2192" in shown and "\\u041c" in shown


def test_documents_are_utf_8_whatever_the_code_page(works: Path) -> None:
    """Only what a person reads follows the terminal; a first file and a report do not."""
    poor = {**os.environ, "PYTHONIOENCODING": "cp1252", "PYTHONUTF8": "0"}
    command = [sys.executable, "-P", "-m", "lineshaft"]
    report = [*command, "check", "--write", "markdown=-", BROKEN]
    text = subprocess.run(report, cwd=works, env=poor, capture_output=True, timeout=60, check=False).stdout
    assert "kN·m" in text.decode("utf-8", "strict")
    subprocess.run([*command, "new", "policy"], cwd=works, env=poor, timeout=60, check=True)
    made = (works / "lineshaft.policy.yaml").read_bytes()
    assert b"\r" not in made and made.decode("utf-8")


def test_a_rig_comes_in_as_utf_8_whatever_the_code_page(works: Path) -> None:
    """Bytes are read, not the terminal's letters."""
    poor = {**os.environ, "PYTHONIOENCODING": "cp1252", "PYTHONUTF8": "0"}
    rig = (works / "small-saw.rig.yaml").read_text("utf-8").replace("\nname: ", f"\nname: {LETTERS} ", 1)
    command = [sys.executable, "-P", "-m", "lineshaft", "check", "-", "--write", "json=-"]
    ran = subprocess.run(command, cwd=works, env=poor, input=rig.encode(), capture_output=True, timeout=60, check=False)
    assert (ran.returncode, json.loads(ran.stdout)["findings"]) == (0, [])


@pytest.mark.parametrize(
    ("path", "folder", "shown"),
    [  # by hand, from the rules of paths on Windows
        ("C:\\works\\rigs\\a.rig.yaml", "C:\\works", "rigs/a.rig.yaml"),
        ("C:\\works\\a.rig.yaml", "C:\\works\\rigs", "../a.rig.yaml"),
        ("c:\\Works\\a.rig.yaml", "C:\\works", "a.rig.yaml"),
        ("D:\\rigs\\a.rig.yaml", "C:\\works", "D:/rigs/a.rig.yaml"),
        ("\\\\quay\\share\\a.rig.yaml", "C:\\works", "//quay/share/a.rig.yaml"),
    ],
)
def test_a_path_is_shown_with_slashes_and_whole_on_another_drive(path: str, folder: str, shown: str) -> None:
    """No way leads from one drive to another, and that is no reason to fail."""
    assert windows.shown_path(path, folder, ntpath) == shown
    assert windows.shown_path(PureWindowsPath(path), PureWindowsPath(folder), ntpath) == shown


@pytest.mark.parametrize(
    "name", ["C:\\works\\a.yaml", "C:a.yaml", "..\\a.yaml", "\\\\quay\\share\\a.yaml", "legs\\a.yaml"]
)
def test_a_file_names_others_with_slashes_on_every_system(tmp_path: Path, name: str) -> None:
    """A rig from Windows with its backslashes is told so, also where a backslash is a letter of a name."""
    (tmp_path / name.replace("/", "")).write_text("x", "utf-8")
    found = Repository(tmp_path, tmp_path).include(tmp_path / "a.rig.yaml", name)
    assert isinstance(found, Refusal)
    assert "relative path with '/'" in found.message


WRITERS: dict[str, tuple[tuple[str, ...], str]] = {
    "repair": (_repaired(BROKEN), BROKEN),
    "commission": (("commission", "--write", "unset-stage.rig.yaml"), "unset-stage.rig.yaml"),
    "check": (("check", "--write", "json=out.json", BROKEN), "out.json"),
    "draw": (("draw", BROKEN, "-o", "out.svg"), "out.svg"),
    "snags": (("snags", "record", "-o", "out.snags.yaml", BROKEN), "out.snags.yaml"),
}


def _content(path: Path) -> bytes | None:
    return path.read_bytes() if path.exists() else None


def _refusing(monkeypatch: pytest.MonkeyPatch, times: int) -> list[int]:
    """Windows, where a move is refused so many times; how often one was tried."""
    real, tried = os.replace, []

    def replace(source: str, target: str) -> None:
        tried.append(1)
        if len(tried) <= times:
            raise PermissionError(13, "Access is denied", str(source), 5, str(target))
        real(source, target)

    monkeypatch.setattr(windows, "HERE", True)
    monkeypatch.setattr(windows.time, "sleep", lambda _: None)
    monkeypatch.setattr(os, "replace", replace)
    return tried


@pytest.mark.parametrize("writer", WRITERS)
def test_a_move_that_is_refused_for_a_moment_is_tried_again(
    works: Path, monkeypatch: pytest.MonkeyPatch, writer: str
) -> None:
    """A scanner had the file open: nobody notices."""
    command, file = WRITERS[writer]
    before = _content(works / file)
    tried = _refusing(monkeypatch, 1)
    ran = run(works, *command)
    assert ran.returncode in (0, 1), ran.stderr
    assert len(tried) == 2
    assert _content(works / file) not in (None, before)
    assert not list(works.glob("*.lineshaft-part")) and not list(works.glob(".*part"))


@pytest.mark.parametrize("writer", WRITERS)
def test_a_move_that_is_always_refused_leaves_the_old_file_and_says_what_to_do(
    works: Path, monkeypatch: pytest.MonkeyPatch, writer: str
) -> None:
    """Exit 2, the file's name and the reason; nothing is left beside."""
    command, file = WRITERS[writer]
    before = _content(works / file)
    tried = _refusing(monkeypatch, 1000)
    ran = run(works, *command)
    assert ran.returncode == 2
    assert file in ran.stderr and "another program holds it open" in ran.stderr
    assert len(tried) == windows.TRIES
    assert _content(works / file) == before
    assert not list(works.glob(".*part"))


def test_a_new_file_takes_nobodys_place_by_a_move(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """There a move to a name that is taken fails by itself, as `os.rename` is documented."""
    real, target = Path.rename, tmp_path / "fresh.rig.yaml"

    def rename(path: Path, to: Path) -> Path:
        if to.exists():
            raise FileExistsError(17, "Cannot create a file when that file already exists", str(to))
        return real(path, to)

    monkeypatch.setattr(windows, "HERE", True)
    monkeypatch.setattr(Path, "rename", rename)
    make_whole(target, b"rig: 1\n")
    with pytest.raises(FileExistsError):
        make_whole(target, b"other")
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [(target.name, b"rig: 1\n")]


def test_elsewhere_a_refused_move_is_final(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """There it means a folder that is closed to us, and waiting opens none."""
    tried = _refusing(monkeypatch, 1000)
    monkeypatch.setattr(windows, "HERE", False)
    with pytest.raises(PermissionError, match="Access is denied"):
        write_named(tmp_path / "a.json", b"{}")
    assert len(tried) == 1


def test_without_locks_a_file_that_somebody_holds_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """On Windows the system keeps an open file; what no one holds goes."""
    left = tmp_path / f".a.json.{'0' * 16}.lineshaft-part"
    left.touch()
    monkeypatch.setattr(windows, "HERE", True)
    real = Path.unlink

    def kept(path: Path, missing_ok: bool = False) -> None:
        if path == left:
            raise PermissionError(13, "The process cannot access the file", str(path))
        real(path, missing_ok=missing_ok)

    monkeypatch.setattr(Path, "unlink", kept)
    write_named(tmp_path / "b.json", b"{}")
    assert left.exists()
    monkeypatch.setattr(Path, "unlink", real)
    write_named(tmp_path / "b.json", b"{}")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["b.json"]


@pytest.mark.parametrize("here", [False, True])
def test_spawned_workers_give_the_same_bytes(works: Path, monkeypatch: pytest.MonkeyPatch, here: bool) -> None:
    """Workers are spawned on every system; on Windows each gets its next files only when it has none left."""
    started: list[str] = []
    real: Callable[..., object] = multiprocessing.get_context

    def noted(method: str | None = None) -> object:
        started.append(str(method))
        return real(method)

    monkeypatch.setattr(windows, "HERE", here)
    monkeypatch.setattr("lineshaft.run.processes.get_context", noted)
    alone = run_for_bytes(works, "check", "--no-repairs", "--no-cache", "--jobs", "1", "--write", "json=-", *RIGS)
    several = run_for_bytes(works, "check", "--no-repairs", "--no-cache", "--jobs", "2", "--write", "json=-", *RIGS)
    assert several.stdout == alone.stdout
    assert set(started) == {"spawn"}


@pytest.mark.parametrize("named", ["", "Local", "/data/local"])
def test_what_can_be_made_again_is_kept_where_windows_keeps_it(monkeypatch: pytest.MonkeyPatch, named: str) -> None:
    """`%LOCALAPPDATA%` where it is a whole path; else nothing is kept."""
    monkeypatch.setattr(windows, "HERE", True)
    monkeypatch.delenv("XDG_CACHE_HOME", raising=False)
    monkeypatch.setenv("LOCALAPPDATA", named)
    wanted = Path(named, "lineshaft", "Cache") if named.startswith("/") else None
    assert cache_folder() == wanted
