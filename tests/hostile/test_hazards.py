"""Files that strangers send: each ends in a located finding, no traceback, and the file beside it is still judged."""

import json
import os
import re
from pathlib import Path

import pytest
from command_runner import run_for_bytes

CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 90 N*m, speed: 4 rad/s}}
  turbine: {kind: prime-mover, hydraulic: {flow: 1 m^3/s, speed: 4 rad/s}}
  shaft: {kind: shaft, torque-limit: 45 N*m}
  divider: {kind: splitter, outlets: 2, shares: any}
  mill: {kind: driven-machine, needs: {torque: 40 N*m}}
"""
HEAD = "rig: 1\ncatalogue: c.catalogue.yaml\nparts:\n"
WHEEL = HEAD + "  w: {item: wheel}\n"
# 90 / 45 = 2 times its limit: what the neighbour must be found guilty of, whatever stands beside it.
NEIGHBOUR = WHEEL + "  s: {item: shaft, driven-by: w}\n  m: {item: mill, driven-by: s}\n"
BOMB = "a: &a [x,x,x,x,x,x,x,x,x]\n" + "".join(
    f"b{i}: &b{i} [{','.join(['*' + ('a' if i == 0 else f'b{i - 1}')] * 9)}]\n" for i in range(9)
)
CASES: dict[str, tuple[str | bytes, str, int]] = {
    "alias bomb": (BOMB, "not-yaml", 7),
    "many aliases": ("a: &a x\nb: [" + "*a, " * 1001 + "*a]\n", "not-yaml", 2),
    "merge bomb": ("x: &x {a: 1}\ny:\n  <<: [*x, *x]\n", "not-yaml", 3),
    "100,000 lists deep": ("[" * 100_000, "not-yaml", 1),
    "100,000 mappings deep": ("{a: " * 100_000, "not-yaml", 1),
    "blocks 3,000 deep": ("".join(" " * i + "a:\n" for i in range(3000)), "not-yaml", 65),
    "20 MB": ("x" * 20_000_000, "not-yaml", 1),
    "recursive alias": ("a: 1\nb: &b [*b]\n", "not-yaml", 2),
    "part twice": (WHEEL + "  w: {item: wheel}\n", "not-yaml", 5),
    "1 and quoted 1": ('1: a\n"1": b\n', "not-yaml", 2),
    "NUL": ("rig: 1\nname: a\x00b\n", "not-yaml", 2),
    "UTF-16": ("rig: 1\n".encode("utf-16"), "not-yaml", 1),
    "latin-1": (b"rig: 1\nname: \xe9\n", "not-yaml", 2),
    "tag": ("rig: !!python/object/apply:os.system [id]\n", "not-yaml", 1),
    "YAML 1.1": ("%YAML 1.1\n---\nrig: 1\n", "not-yaml", 1),
    "two documents": ("rig: 1\n---\nrig: 1\n", "not-yaml", 2),
    "empty": ("", "not-schema", 1),
    "list": ("- 1\n", "not-schema", 1),
    ".nan": (HEAD + "  w: {item: turbine, head: .nan}\n", "bad-quantity", 4),
    "1e400": (HEAD + "  w: {item: turbine, head: 1e400}\n", "bad-quantity", 4),
    "infinite share": (WHEEL + "  d: {item: divider, driven-by: w, shares: {a: .inf, b: 1}}\n", "bad-quantity", 5),
    "5,000 digits": (HEAD + f"  w: {{item: turbine, head: {'9' * 5000}}}\n", "bad-quantity", 4),
    "5,000 digits of metres": (HEAD + f"  w: {{item: turbine, head: {'9' * 5000} m}}\n", "bad-quantity", 4),
    "309 digits where a number is due": (HEAD + f"  w: {{item: wheel, at: [{'9' * 309}, 1, 1]}}\n", "not-schema", 4),
    "a calculation": (HEAD + "  w: {item: turbine, head: 9**9**9 m}\n", "bad-quantity", 4),
    "loop": (WHEEL + "  a: {item: shaft, driven-by: b}\n  b: {item: shaft, driven-by: a}\n", "drive-loop", 5),
    "itself": (WHEEL + "  a: {item: shaft, driven-by: a}\n", "drive-loop", 5),
}
INCLUDES = {
    "above the root": "../../../etc/passwd",
    "absolute": "/etc/passwd",
    "home": "~/c.catalogue.yaml",
    "address": "https://example.org/c.catalogue.yaml",
    "drive": "C:\\c.catalogue.yaml",
    "folder": ".",
    "pipe": "pipe.catalogue.yaml",
    "device": "/dev/zero",
    "link out of the root": "link.catalogue.yaml",
    "other case": "C.catalogue.yaml",
    "not there": "nothing.catalogue.yaml",
}


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """A repository with a catalogue and a neighbour, and something secret outside it."""
    root = tmp_path / "repository"
    (root / ".git").mkdir(parents=True)
    (root / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (root / "neighbour.rig.yaml").write_text(NEIGHBOUR, "utf-8")
    (tmp_path / "secret.catalogue.yaml").write_text("secret: hunter2\n", "utf-8")
    (root / "link.catalogue.yaml").symlink_to(tmp_path / "secret.catalogue.yaml")
    os.mkfifo(root / "pipe.catalogue.yaml")
    return root


def judged(root: Path, text: str | bytes, name: str = "a.rig.yaml") -> tuple[list[dict[str, object]], str]:
    """The findings on the file and its neighbour, and the sheet."""
    (root / name).write_bytes(text if isinstance(text, bytes) else text.encode())
    files = [name, "neighbour.rig.yaml"]
    as_json = run_for_bytes(root, "check", "--write", "json=-", *files, seconds=20)
    sheet = run_for_bytes(root, "check", *files, seconds=20)
    for ran in (as_json, sheet):
        assert ran.returncode == 1, ran.stderr
        assert b"Traceback" not in ran.stdout + ran.stderr
    found: list[dict[str, object]] = json.loads(as_json.stdout)["findings"]
    assert any(f["rule"] == "torque-over-limit" and f["file"] == "neighbour.rig.yaml" for f in found)
    return [f for f in found if f["file"] != "neighbour.rig.yaml"], sheet.stdout.decode()


def line_of(finding: dict[str, object]) -> int:
    """The line a finding stands at."""
    start = finding["start"]
    assert isinstance(start, dict)
    return int(start["line"])


@pytest.mark.parametrize("name", CASES)
def test_a_hazard_is_one_located_finding(yard: Path, name: str) -> None:
    """Rule and line are as said, and the neighbour's fault is found all the same."""
    text, rule, line = CASES[name]
    found, _ = judged(yard, text)
    assert (rule, line) in [(f["rule"], line_of(f)) for f in found]


@pytest.mark.parametrize("name", INCLUDES)
def test_an_include_that_is_not_a_file_inside_is_refused(yard: Path, name: str) -> None:
    """Refused at the line that names it; nothing of the target is shown."""
    found, sheet = judged(yard, f"rig: 1\ncatalogue: '{INCLUDES[name]}'\nparts: {{w: {{item: wheel}}}}\n")
    assert [(f["rule"], line_of(f)) for f in found] == [("unknown-reference", 2)]
    assert "hunter2" not in sheet + json.dumps(found)
    assert "root:" not in sheet + json.dumps(found)


HOSTILE = (
    '"\\e[31mred \\e]8;;http://x\\e\\\\ \\u202e \\x9b ::error::boo\\r\\n::warning::x\\n'
    '##[group]\\u2028 <b>`|@x` =cmd"'
)


def test_text_from_files_never_commands_a_terminal_or_runner(yard: Path) -> None:
    """Names, labels, keys and items with controls and log commands come out visibly escaped."""
    text = f"rig: 1\nname: {HOSTILE}\ncatalogue: c.catalogue.yaml\nparts:\n"
    text += f"  w: {{item: wheel, label: {HOSTILE}}}\n  s: {{item: {HOSTILE}, driven-by: w}}\n"
    for hostile in (text, text + f"{HOSTILE}: 1\n", text + f"  {HOSTILE}: {{item: wheel}}\n"):
        found, sheet = judged(yard, hostile)
        assert found
        assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e\u2028]", sheet)
        assert not re.search(r"::(error|warning)|##\[", sheet)


def test_names_of_files_are_escaped_too(yard: Path) -> None:
    """A file whose name is a log command is shown and judged, and commands nothing."""
    _, sheet = judged(yard, "- 1\n", "::error::x\x1b[2J.rig.yaml")
    assert "\x1b" not in sheet
    assert "::error::" not in sheet


def test_a_link_to_itself_is_a_finding_and_the_rest_is_judged(yard: Path) -> None:
    """A catalogue that is a link to itself cannot be read; the run goes on."""
    (yard / "loop.catalogue.yaml").symlink_to("loop.catalogue.yaml")
    ran = run_for_bytes(yard, "check", "--write", "json=-", ".", seconds=20)
    assert ran.returncode == 1, ran.stderr
    found = {(f["file"], f["rule"]) for f in json.loads(ran.stdout)["findings"]}
    assert {("loop.catalogue.yaml", "not-yaml"), ("neighbour.rig.yaml", "torque-over-limit")} <= found


def test_a_named_path_commands_no_runner(yard: Path) -> None:
    """A path that does not exist is said on stderr, with its marks broken up."""
    ran = run_for_bytes(yard, "check", ":::error::x", "##[group]", seconds=20)
    assert ran.returncode == 2
    assert b"::" not in ran.stderr
    assert b"##" not in ran.stderr
