"""Taking over an inherited build, as README tells it: record, pass; get worse, fail; mend, shrink the list.

The build is two of the sample rigs; the numbers stand in their comments and in ``tests/samples/expected.yaml``.
"""

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml
from command_runner import run

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"


@pytest.fixture
def build(tmp_path: Path) -> Path:
    """A repository with the two rigs and their catalogue, and the list of what is wrong with them."""
    (tmp_path / ".git").mkdir()
    shutil.copytree(SAMPLES / "catalogues", tmp_path / "mill" / "catalogues")
    for name in ("overloaded-step.rig.yaml", "slow-saw.rig.yaml"):
        shutil.copy(SAMPLES / name, tmp_path / "mill" / name)
    ran = run(tmp_path, "snags", "record", "mill", "-o", "taken-over.snags.yaml", "--date", "2026-03-02")
    assert (ran.returncode, ran.stdout) == (0, "taken-over.snags.yaml: 3 snags recorded\n")
    return tmp_path


def change(build: Path, name: str, old: str, new: str) -> None:
    """One change in one rig."""
    path = build / "mill" / name
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


def check(build: Path) -> tuple[int, dict[str, Any], str]:
    """Exit code, document and sheet (each text in one line) of a check against the list."""
    ran = run(build, "check", "mill", "--snags", "taken-over.snags.yaml", "--write", "json=found.json")
    return ran.returncode, json.loads((build / "found.json").read_text("utf-8")), re.sub("\n +", " ", ran.stdout)


def test_the_list_is_what_the_samples_were_reckoned_to_have(build: Path) -> None:
    """Read by another YAML reader: 2250 / 1200 = 1.875 times; 10 / 8 = 1.25 is needed of speed, at divider and saw."""
    listed = yaml.safe_load((build / "taken-over.snags.yaml").read_text("utf-8"))
    assert list(listed) == ["snags", "recorded", "findings"]
    overloaded = {"file": "mill/overloaded-step.rig.yaml", "rig": "Overloaded step"}
    slow = {"file": "mill/slow-saw.rig.yaml", "rig": "Slow saw"}
    shares = {"part": "divide", "at": "parts/divide/shares", "of": "ratio_needed"}
    assert listed["findings"] == [
        {"rule": "torque-over-limit", **overloaded, "part": "step", "of": "times_torque_limit", "value": 1.875},
        {"rule": "split-for-speed", **slow, **shares, "value": 1.25},
        {"rule": "machine-underdriven", **slow, "part": "saw", "of": "times_speed_needed", "value": 1.25},
    ]


def test_what_is_recorded_passes(build: Path) -> None:
    """Exit 0; the three count as snags and as nothing else, and still show their level."""
    assert run(build, "check", "mill").returncode == 1
    code, document, sheet = check(build)
    summary = document["summary"]
    assert (code, summary["errors"], summary["warnings"], summary["snags"]) == (0, 0, 0, 3)
    assert [f["level"] for f in document["findings"]] == ["error", "warning", "error"]
    assert document["findings"][0]["snag"] == {"of": "times_torque_limit", "value": 1.875}
    assert "SNAG, ERROR  step carries" in sheet
    assert "notice" not in sheet


def test_one_gets_worse_and_fails(build: Path) -> None:
    """Reducing 3 : 1 makes 2700 N·m of 1200: 2.25 times where 1.875 is recorded. The others still pass."""
    change(build, "overloaded-step.rig.yaml", "ratio: 5/2", "ratio: 3")
    code, document, sheet = check(build)
    assert (code, document["summary"]["errors"], document["summary"]["snags"]) == (1, 1, 2)
    words = "2.25 times; worse than the snag that was recorded with times torque limit of 1.875."
    assert words in " ".join(sheet.split())


def test_one_is_mended_and_the_list_shrinks(build: Path) -> None:
    """Forged steel stands 6 kN·m, so a steel stage stands 2250: its snag can go; once gone it does not come back."""
    change(build, "overloaded-step.rig.yaml", "item: iron-stage", "item: steel-stage")
    code, document, sheet = check(build)
    assert (code, document["summary"]["snags"]) == (0, 2)
    assert "notice: snag torque-over-limit: step in mill/overloaded-step.rig.yaml is gone\n" in sheet
    assert "notice: the snag list can shrink: `lineshaft snags record --update -o taken-over.snags.yaml`" in sheet
    ran = run(build, "snags", "record", "--update", "-o", "taken-over.snags.yaml", "mill")
    assert ran.stdout == "taken-over.snags.yaml: 2 snags left; 0 got better, 1 is gone\n"
    listed = yaml.safe_load((build / "taken-over.snags.yaml").read_text("utf-8"))
    assert [entry["part"] for entry in listed["findings"]] == ["divide", "saw"]
    assert listed["recorded"].isoformat() == "2026-03-02"
    assert "notice" not in check(build)[2]
    change(build, "overloaded-step.rig.yaml", "item: steel-stage", "item: iron-stage")
    assert check(build)[0] == 1


def test_one_gets_better_and_the_list_says_so(build: Path) -> None:
    """Cast iron that stands 1800 N·m: 2250 / 1800 = 1.25 times. After the update 1.875 times is worse than recorded."""
    catalogue = build / "mill" / "catalogues" / "tern-harbour.catalogue.yaml"
    text = catalogue.read_text("utf-8")
    assert "torque-limit: 1200 N*m" in text
    catalogue.write_text(text.replace("torque-limit: 1200 N*m", "torque-limit: 1800 N*m"), "utf-8")
    code, _, sheet = check(build)
    assert code == 0
    assert "step in mill/overloaded-step.rig.yaml is better: times torque limit was 1.875, is 1.25\n" in sheet
    ran = run(build, "snags", "record", "--update", "-o", "taken-over.snags.yaml", "mill")
    assert ran.stdout == "taken-over.snags.yaml: 3 snags left; 1 got better, 0 are gone\n"
    listed = yaml.safe_load((build / "taken-over.snags.yaml").read_text("utf-8"))
    assert listed["findings"][0]["value"] == 1.25
    catalogue.write_text(text, "utf-8")
    assert check(build)[0] == 1


@pytest.mark.skipif(os.name == "nt", reason="needs a limit on the size of files")
@pytest.mark.parametrize("words", ["snags record --update mill -o", "draw mill/slow-saw.rig.yaml -o"])
def test_a_full_disk_loses_nothing(build: Path, words: str) -> None:
    """No byte can be written any more: exit 2, and the list or drawing that was there stands, nothing beside it."""
    import resource

    target = build / "taken-over.snags.yaml"
    if words.startswith("draw"):
        target = build / "saw.svg"
        target.write_bytes(b"an earlier drawing")
    before, names = target.read_bytes(), sorted(build.iterdir())
    ran = subprocess.run(
        [sys.executable, "-P", "-m", "lineshaft", *words.split(), target.name],
        cwd=build,
        env={**os.environ, "XDG_CACHE_HOME": str(build / "mill"), "PYTHONDONTWRITEBYTECODE": "1"},
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0)),
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert (ran.returncode, "cannot write" in ran.stderr) == (2, True)
    assert (target.read_bytes(), sorted(build.iterdir())) == (before, names)
