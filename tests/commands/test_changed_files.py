"""What commands that change a file put on standard output: one document alone, or a difference that `patch` takes."""

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from lineshaft.cli import run
from lineshaft.commands.output import show_changes

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


LOUD = b"""\
rig: 1
catalogue: catalogues/tern-harbour.catalogue.yaml
parts:
  wheel: {item: creek-wheel, label: "::group::by the creek ##[error]"}
  step:  {item: iron-stage, ratio: 5/2, set: reduce, driven-by: wheel}
"""


@pytest.mark.parametrize("tool", TOOLS)
def test_a_difference_in_a_file_is_exact_and_one_in_a_pipe_obeyed_by_nobody(tool: list[str], tmp_path: Path) -> None:
    """A label holds what a runner takes for commands: marked in a pipe, which it reads, and said; as is in a file."""
    file = Path("loud.rig.yaml")
    file.write_bytes(LOUD)
    command = [sys.executable, "-P", "-m", "lineshaft", "repair", file.name, "--apply", "best", "--diff"]
    piped = subprocess.run(command, capture_output=True, timeout=60, check=False)
    assert b"::" not in piped.stdout and b"##" not in piped.stdout
    assert b"loud.rig.yaml" in piped.stderr and b"> changes.diff" in piped.stderr
    with (tmp_path / "changes.diff").open("wb") as into:
        written = subprocess.run(command, stdout=into, stderr=subprocess.PIPE, timeout=60, check=False)
    assert b"> changes.diff" not in written.stderr
    assert run(["repair", file.name, "--apply", "best"]) == written.returncode
    wanted = file.read_bytes()
    assert wanted != LOUD
    file.write_bytes(LOUD)
    assert _patched(tool, file, (tmp_path / "changes.diff").read_bytes()) == wanted


STAGES = """\
rig: 1
catalogue: catalogues/tern-harbour.catalogue.yaml
parts:
  wheel: {item: creek-wheel}
  # the first stage, by the door
  step:  {item: open-stage, ratio: 5/2, set: increase, driven-by: wheel}
  # the second one, worn
  next:  {item: open-stage, ratio: 5/2, set: reduce, driven-by: step}  # look at it
  # the frame by the window
  saw:   {item: saw-frame, driven-by: next, target: {time: 30 s}}
"""


def test_a_part_that_goes_takes_its_comment_with_it() -> None:
    """One stage of 75/15 does what the two did not: the second goes with both its comments, all others stay."""
    file = Path("stages.rig.yaml")
    file.write_text(STAGES, "utf-8")
    assert run(["size", file.name, "saw", "--apply", "1"]) == 0
    after = file.read_text("utf-8")
    assert "next" not in after
    assert [line for line in after.splitlines() if "#" in line] == [
        "  # the first stage, by the door",
        "  # the frame by the window",
    ]
    lines = after.splitlines()
    assert lines[lines.index("  # the first stage, by the door") + 1].startswith("  step:")
    assert lines[lines.index("  # the frame by the window") + 1].startswith("  saw:")


def test_a_safe_list_is_written_behind_a_block_scalar() -> None:
    """The scalar keeps its empty line, and the list begins right behind it."""
    file = Path("keep.rig.yaml")
    parts = STAGES.split("  # the second one")[0] + "  saw: {item: saw-frame, driven-by: step}\n"
    text = f"{parts}name: |+\n  By the creek\n\n"
    file.write_text(text, "utf-8")
    assert run(["commission", file.name, "--apply"]) == 0
    assert file.read_text("utf-8").startswith(f"{text}commissioning:\n  - ")


def test_a_comma_before_a_comment_keeps_no_repair_away(capsys: pytest.CaptureFixture[str]) -> None:
    """The rig is written in braces that end in `}, # the parts`: the list that it lacks is offered and holds."""
    file = Path("braces.rig.yaml")
    file.write_text(
        "{rig: 1, catalogue: catalogues/tern-harbour.catalogue.yaml,\nparts: {\n  wheel: {item: creek-wheel},\n"
        "  step: {item: open-stage, ratio: 5/2, set: increase, driven-by: wheel},\n"
        "  saw: {item: saw-frame, driven-by: step}\n}, # the parts\n}\n",
        "utf-8",
    )
    assert run(["repair", file.name, "--apply", "best"]) == 0
    assert "add a commissioning list" in capsys.readouterr().out
    assert run(["check", file.name, "--no-repairs"]) == 0
