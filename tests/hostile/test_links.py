"""Symbolic links that lead out of a repository: what lies there is neither read, shown nor written."""

import json
import os
import shutil
from pathlib import Path

import pytest

from lineshaft.cli import run

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
SECRET = "hunter2"


@pytest.fixture(autouse=True)
def outside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A repository, which is the working folder, and a folder beside it that is none of its business."""
    away, root = tmp_path / "away", tmp_path / "repository"
    away.mkdir()
    (root / ".git").mkdir(parents=True)
    shutil.copytree(SAMPLES / "catalogues", root / "catalogues")
    shutil.copytree(SAMPLES / "catalogues", away / "catalogues")
    shutil.copy(SAMPLES / "overloaded-step.rig.yaml", away / "mine.rig.yaml")
    (away / "secret").write_text(f"{SECRET}\n", encoding="utf-8")
    monkeypatch.chdir(root)
    return away


@pytest.mark.parametrize("ending", ["rig", "catalogue", "blueprint", "snags"])
@pytest.mark.parametrize("target", ["secret", "mine.rig.yaml", "nothing"])
@pytest.mark.parametrize("named", [False, True])
def test_a_link_out_is_a_finding_and_shows_nothing(
    outside: Path, ending: str, target: str, named: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    """Found in the folder or named: one finding at line 1, the same whether or not anything is there."""
    link = Path(f"a.{ending}.yaml")
    link.symlink_to(outside / target)
    assert run(["check", "--write", "json=found.json", *([str(link)] if named else ["."])]) == 1
    (finding,) = json.loads(Path("found.json").read_text(encoding="utf-8"))["findings"]
    assert (finding["file"], finding["rule"], finding["start"]) == (str(link), "not-yaml", {"line": 1, "column": 1})
    assert "is a symbolic link out of the repository's root" in finding["message"]
    said = "".join(capsys.readouterr()) + json.dumps(finding)
    assert not [word for word in (SECRET, "Overloaded", str(outside)) if word in said]


@pytest.mark.parametrize(
    "words",
    [
        "repair a.rig.yaml --apply best",
        "repair a.blueprint.yaml --apply best",
        "commission a.rig.yaml --apply",
        "trace a.rig.yaml",
        "bom a.rig.yaml",
        "impact a.catalogue.yaml catalogues/tern-harbour.catalogue.yaml",
        "snags show a.snags.yaml",
        "check --snags a.snags.yaml",
    ],
)
def test_no_command_reads_or_writes_through_a_link_out(
    outside: Path, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """What lies outside stays as it is, unshown; the command does not say that all is well."""
    for ending in ("rig", "blueprint", "catalogue", "snags"):
        Path(f"a.{ending}.yaml").symlink_to(outside / ("mine.rig.yaml" if ending == "rig" else "secret"))
    before = {path: path.read_bytes() for path in outside.rglob("*") if path.is_file()}
    assert run(words.split()) != 0
    said = "".join(capsys.readouterr())
    assert not [word for word in (SECRET, "Overloaded", "2.25", str(outside)) if word in said]
    assert {path: path.read_bytes() for path in outside.rglob("*") if path.is_file()} == before


def test_links_inside_are_followed(outside: Path) -> None:
    """A rig that is a link to another of the repository is judged, and a repair changes the file behind it."""
    Path("rigs").mkdir()
    text = (outside / "mine.rig.yaml").read_text(encoding="utf-8").replace("catalogues/", "../catalogues/")
    Path("rigs/real.rig.yaml").write_text(text, encoding="utf-8")
    Path("rigs/a.rig.yaml").symlink_to("real.rig.yaml")
    assert run(["check", "--no-cache", "rigs/a.rig.yaml"]) == 1
    assert run(["repair", "rigs/a.rig.yaml", "--apply", "best"]) == 0
    assert Path("rigs/a.rig.yaml").is_symlink()
    assert Path("rigs/real.rig.yaml").read_text(encoding="utf-8") != text
    assert run(["check", "--no-cache", "rigs/real.rig.yaml"]) == 0


@pytest.mark.parametrize("jobs", ["1", "2"])
def test_a_named_policy_and_a_named_report_may_lie_anywhere(outside: Path, jobs: str) -> None:
    """Both through links out of the root: the policy's level holds, the report is written where the link leads."""
    shutil.copy(outside / "mine.rig.yaml", "a.rig.yaml")
    shutil.copy(outside / "mine.rig.yaml", "b.rig.yaml")
    policy = "policy: 1\nlevels: {torque-over-limit: note}\n"
    (outside / "house.policy.yaml").write_text(policy, encoding="utf-8")
    Path("house.policy.yaml").symlink_to(outside / "house.policy.yaml")
    Path("report.json").symlink_to(outside / "report.json")
    for _ in range(2):  # the second time from the cache
        words = ["check", "--jobs", jobs, "--policy", "house.policy.yaml", "--write", "json=report.json", "."]
        assert run(words) == 0
        levels = [f["level"] for f in json.loads((outside / "report.json").read_bytes())["findings"]]
        assert levels == ["note", "note"]
        os.remove(outside / "report.json")  # noqa: PTH107 - the target, not the link
