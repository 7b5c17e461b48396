"""Blueprints from strangers: each ends in a located finding, no traceback, no hang; the file beside is still judged."""

import json
import os
from pathlib import Path
from typing import Any

import pytest
from command_runner import run

CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 90 N*m, speed: 4 rad/s}}
  turbine: {kind: prime-mover, hydraulic: {flow: 1 m^3/s, speed: 4 rad/s}}
  shaft: {kind: shaft, torque-limit: 45 N*m}
  mill: {kind: driven-machine, needs: {torque: 40 N*m}}
"""
HEAD = "rig: 1\ncatalogue: c.catalogue.yaml\nparts:\n  w: {item: wheel}\n"
# 90 / 45 = 2 times its limit.
NEIGHBOUR = HEAD + "  s: {item: shaft, driven-by: w}\n  m: {item: mill, driven-by: s}\n"
INLET = "inlets: {in: {torque-up-to: 90 N*m, speed-up-to: 9 rad/s}}\n"
TOP = "blueprint: 1\ncatalogue: c.catalogue.yaml\n" + INLET
LEG = TOP + "parts: {m: {item: mill, driven-by: in}}\n"


def check(folder: Path, seconds: float = 60, **texts: str) -> dict[str, Any]:
    """The document of a check of the folder; the neighbour has its one error whatever stands beside it."""
    for name, text in {"c.catalogue": CATALOGUE, "z.rig": NEIGHBOUR, **texts}.items():
        (folder / f"{name}.yaml").write_text(text, "utf-8")
    ran = run(folder, "check", "--no-cache", "--write", "json=-", ".", seconds=seconds)
    assert "internal error" not in ran.stderr
    assert ran.returncode == 1
    document: dict[str, Any] = json.loads(ran.stdout)
    beside = [finding for finding in document["findings"] if finding["file"] == "z.rig.yaml"]
    assert [(finding["rule"], finding["part"]) for finding in beside] == [("torque-over-limit", "s")]
    return document


def told(document: dict[str, Any]) -> list[tuple[str, str, int]]:
    found = [f for f in document["findings"] if f["file"] != "z.rig.yaml"]
    return [(finding["rule"], finding["file"], finding["start"]["line"]) for finding in found]


PATHS = [
    "../up.blueprint.yaml",
    "/etc/passwd",
    "~/leg.blueprint.yaml",
    "file:///etc/passwd",
    "C:/leg.blueprint.yaml",
    "..\\\\leg.blueprint.yaml",
    "pipe.blueprint.yaml",
    "folder.blueprint.yaml",
    "out.blueprint.yaml",
    "round.blueprint.yaml",
    "leg.blueprint.yaml\\0",
    "LEG.blueprint.yaml",
    "$leg",
    "a" * 5000,
]


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path[:24])
def test_a_path_that_is_no_file_of_the_repository_is_refused(tmp_path: Path, path: str) -> None:
    """Out of the root, absolute, an address, a pipe, a folder, links out and round: at the path, and nothing read."""
    root = tmp_path / "root"
    root.mkdir()
    (root / ".git").mkdir()
    (tmp_path / "up.blueprint.yaml").write_text("secret: 12345\n", "utf-8")
    (root / "out.blueprint.yaml").symlink_to("../up.blueprint.yaml")
    (root / "round.blueprint.yaml").symlink_to("round.blueprint.yaml")
    (root / "folder.blueprint.yaml").mkdir()
    os.mkfifo(root / "pipe.blueprint.yaml")
    rig = HEAD + f'  leg: {{blueprint: "{path}", driven-by: w}}\n'
    (root / "leg.blueprint.yaml").write_text(LEG, "utf-8")
    document = check(root, **{"a.rig": rig})
    assert ("unknown-reference", "a.rig.yaml", 5) in told(document)
    assert "12345" not in json.dumps(document)


SCALARS = {
    "a number of 5,000 digits": "9" * 5000,
    "not a number": ".nan",
    "a bomb of a calculation": "9**9**9 m",
    "another parameter": "$other",
    "a terminal control": '"\\e[31m4 m"',
    "nothing said": '""',
    "a long text": "x" * 100_000,
}


@pytest.mark.parametrize("value", SCALARS.values(), ids=SCALARS.keys())
def test_a_hostile_value_is_a_finding_where_it_is_given(tmp_path: Path, value: str) -> None:
    """For a head of water: a bad quantity at the value in the rig, which no arithmetic meets."""
    blueprint = "blueprint: 1\ncatalogue: c.catalogue.yaml\ntakes: {head: {kind: length, default: 3 m}}\n"
    blueprint += "parts: {t: {item: turbine, head: $head}, m: {item: mill, driven-by: t}}\n"
    rig = HEAD + "  m: {item: mill, driven-by: w}\n"
    rig += f"  leg: {{blueprint: t.blueprint.yaml, with: {{head: {value}}}}}\n"
    document = check(tmp_path, **{"a.rig": rig, "t.blueprint": blueprint})
    assert told(document) == [("bad-quantity", "a.rig.yaml", 6)]
    assert "\x1b" not in json.dumps(document, ensure_ascii=False)


def test_files_that_cannot_be_read_are_told_once_however_often_they_are_placed(tmp_path: Path) -> None:
    """An alias bomb and a slip in the shape, each placed fifty times: one finding each, at their own lines."""
    bomb = "a: &a [x,x,x,x,x,x,x,x,x]\n" + "".join(
        f"b{i}: &b{i} [{','.join(['*' + ('a' if i == 0 else f'b{i - 1}')] * 9)}]\n" for i in range(9)
    )
    lines = "".join(f"  p{n}: {{blueprint: {'bomb' if n % 2 else 'slip'}.blueprint.yaml}}\n" for n in range(100))
    slip = TOP + "parts: {m: {item: mill, driven-by: in, colour: red}}\n"
    document = check(tmp_path, **{"a.rig": HEAD + lines, "bomb.blueprint": bomb, "slip.blueprint": slip})
    assert told(document) == [("not-yaml", "bomb.blueprint.yaml", 7), ("not-schema", "slip.blueprint.yaml", 4)]


def test_a_chain_of_five_thousand_that_hand_on_is_followed(tmp_path: Path) -> None:
    """Each hands on what the one before does, last first in the file: no recursion that ends, no square of the time."""
    through = TOP + "outlets: {out: in}\nparts: {w: {item: wheel}, m: {item: mill, driven-by: w}}\n"
    count = 5000
    lines = [
        f"  p{n}: {{blueprint: t.blueprint.yaml, driven-by: {f'p{n - 1}.out' if n else 'w'}}}\n" for n in range(count)
    ]
    rig = HEAD + f"  s: {{item: shaft, driven-by: p{count - 1}.out}}\n" + "".join(reversed(lines))
    rig += "  end: {item: mill, driven-by: s}\n"
    document = check(tmp_path, **{"a.rig": rig, "t.blueprint": through})
    assert told(document) == [("torque-over-limit", "a.rig.yaml", 5)]


def test_a_thousand_uses_of_a_faulty_blueprint_are_one_finding(tmp_path: Path) -> None:
    """And its message and chain stay short."""
    leg = TOP + "parts: {s: {item: shaft, driven-by: in}, m: {item: mill, driven-by: s}}\n"
    lines = "".join(
        f"  w{n}: {{item: wheel}}\n  p{n}: {{blueprint: leg.blueprint.yaml, driven-by: w{n}}}\n" for n in range(1000)
    )
    rig = "rig: 1\ncatalogue: c.catalogue.yaml\nparts:\n" + lines
    document = check(tmp_path, **{"a.rig": rig, "leg.blueprint": leg})
    assert told(document) == [("torque-over-limit", "leg.blueprint.yaml", 4)]
    (finding,) = [f for f in document["findings"] if f["file"] == "leg.blueprint.yaml"]
    assert len(finding["because"]) < 15


def test_users_are_looked_for_among_strangers_files(tmp_path: Path) -> None:
    """A pipe, a link round, a file that is no text and a broken policy under the root stop nobody."""
    (tmp_path / ".git").mkdir()
    for folder in ("x", "y"):
        (tmp_path / folder).mkdir()
    os.mkfifo(tmp_path / "x/pipe.rig.yaml")
    (tmp_path / "x/round.rig.yaml").symlink_to("round.rig.yaml")
    (tmp_path / "x/raw.rig.yaml").write_bytes(b"\xff\xfe nothing")
    (tmp_path / "y/lineshaft.policy.yaml").write_text("policy: 1\nlevels: [\n", "utf-8")
    (tmp_path / "y/other.rig.yaml").write_text(NEIGHBOUR, "utf-8")
    (tmp_path / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (tmp_path / "leg.blueprint.yaml").write_text(LEG, "utf-8")
    (tmp_path / "a.rig.yaml").write_text(HEAD + "  leg: {blueprint: leg.blueprint.yaml, driven-by: w}\n", "utf-8")
    ran = run(tmp_path, "check", "--users", "--no-cache", "leg.blueprint.yaml")
    assert (ran.returncode, ran.stderr) == (0, "")
    assert "Inspected 2 files, 3 parts" in ran.stdout
