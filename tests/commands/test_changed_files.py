"""What commands that change a file put on standard output: one document alone, or a difference that `patch` takes."""

import json
import shutil
import subprocess
from pathlib import Path

import pytest

from lineshaft.cli import run
from lineshaft.commands.changed_file import show_changes

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"


@pytest.fixture(autouse=True)
def _works(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A copy of the samples in a repository of its own, and there."""
    (tmp_path / ".git").mkdir()
    shutil.copytree(SAMPLES, tmp_path / "works")
    monkeypatch.chdir(tmp_path / "works")


@pytest.mark.parametrize(
    "arguments",
    [
        ["size", "late-planks.rig.yaml", "saw", "--apply", "1"],
        ["audit", "inherited-mill.rig.yaml", "--apply", "1"],
    ],
)
def test_a_document_on_standard_output_stands_alone(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """The file is written, standard output is one JSON document, and the sentence about it goes to standard error."""
    file = Path(arguments[1])
    before = file.read_bytes()
    assert run([*arguments, "--write", "json=-"]) == 0
    shown = capsys.readouterr()
    assert json.loads(shown.out)["format"].startswith(f"lineshaft-{arguments[0]}/")
    assert file.name in shown.err
    assert "written" in shown.err
    assert file.read_bytes() != before


def test_a_sentence_alone_stays_on_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    """With the document in a file nothing stands in the sentence's way."""
    assert run(["audit", "inherited-mill.rig.yaml", "--apply", "1", "--write", "json=audit.json"]) == 0
    assert capsys.readouterr().out == "inherited-mill.rig.yaml: written\n"


def test_a_difference_and_a_document_do_not_share_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    """Neither reader could take both apart, so that is refused and nothing is written."""
    assert run(["audit", "inherited-mill.rig.yaml", "--apply", "1", "--diff", "--write", "json=-"]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "standard output" in shown.err



TOOLS = (["patch", "-p0", "-s", "--binary"], ["git", "apply", "-p0"])


def _patched(tool: list[str], file: Path, difference: bytes) -> bytes:
    """The file once a tool has taken the difference."""
    if shutil.which(tool[0]) is None:
        pytest.skip(f"no {tool[0]} here")
    done = subprocess.run(tool, input=difference, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr + done.stdout
    return file.read_bytes()


@pytest.mark.parametrize("tool", TOOLS)
@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
@pytest.mark.parametrize(("old_end", "new_end"), [(True, True), (True, False), (False, True), (False, False)])
@pytest.mark.parametrize("last", ["  mill: {item: corn-mill, driven-by: lay}", "  mill: {item: corn-mill}"])
def test_patch_takes_a_difference(
    tool: list[str], line_end: str, old_end: bool, new_end: bool, last: str, capsysbinary: pytest.CaptureFixture[bytes]
) -> None:
    """Whether or not either last line is ended, and by whatever, and whether or not it changes otherwise."""
    start = ["rig: 1", "parts:", "  wheel: {item: wheel}", "  lay: {item: shaft, driven-by: wheel}"]
    first = line_end.join([*start, "  mill: {item: corn-mill, driven-by: lay}"]) + (line_end if old_end else "")
    second = line_end.join([*start[:2], "  # by the creek", *start[2:], last]) + (line_end if new_end else "")
    file = Path("small.rig.yaml")
    file.write_bytes(first.encode())
    show_changes(first, second, file.name)
    assert _patched(tool, file, capsysbinary.readouterr().out) == second.encode()


@pytest.mark.parametrize("tool", TOOLS)
def test_patch_takes_what_an_audit_shows(tool: list[str], capsysbinary: pytest.CaptureFixture[bytes]) -> None:
    """A file whose last line changes and is not ended: the patched file is the one that --apply writes."""
    file = Path("small.rig.yaml")
    file.write_bytes(
        b"rig: 1\ncatalogue: catalogues/tern-harbour.catalogue.yaml\n"
        b"readings:\n  - {at: step, torque: 360 N*m, speed: 20 rad/s}\nparts:\n  wheel: {item: creek-wheel}\n"
        b"  step: {item: steel-stage, ratio: 5/2, set: reduce, driven-by: wheel}"
    )
    before = file.read_bytes()
    assert run(["audit", file.name, "--apply", "1", "--diff"]) == 0
    difference = capsysbinary.readouterr().out
    assert b"\\ No newline at end of file" in difference
    assert run(["audit", file.name, "--apply", "1"]) == 0
    wanted = file.read_bytes()
    assert wanted == before.replace(b"set: reduce", b"set: increase")
    file.write_bytes(before)
    assert _patched(tool, file, difference) == wanted
