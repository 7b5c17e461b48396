"""What cannot be judged is never passed in silence: bad policies, two of them, files of another kind, `.yml`."""

import json
from pathlib import Path
from typing import Any

import pytest

from lineshaft.cli import run
from lineshaft.write.formats import WRITERS

CATALOGUE = """catalogue: 1
edition: "1"
grades: {oak: {torque-limit: 900 N*m}}
items:
  wheel: {kind: prime-mover, output: {torque: 700 N*m, speed: 3 rad/s}}
  shaft: {kind: shaft, grade: oak}
  mill: {kind: driven-machine}
"""
RIG = """rig: 1
catalogue: c.catalogue.CALLED
parts:
  w: {item: wheel}
  s: {item: shaft, driven-by: w}
  m: {item: mill, driven-by: s}
"""
OVER = RIG.replace("driven-by: w}", "driven-by: w, at: 3}")  # a place has three numbers


@pytest.fixture(autouse=True)
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A sound rig in `a`, one with a fault in `b`, each with its catalogue."""
    (tmp_path / ".git").mkdir()
    for name, text in (("a", RIG), ("b", OVER)):
        (tmp_path / name).mkdir()
        (tmp_path / name / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
        (tmp_path / name / f"{name}.rig.yaml").write_text(text.replace("CALLED", "yaml"), "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def check(*words: str) -> tuple[int, list[tuple[str, str, int]], dict[str, Any]]:
    """The exit code, each finding's rule, file and line, and the document."""
    code = run(["check", "--no-cache", *words, "--write", "json=found.json"])
    document = json.loads(Path("found.json").read_text("utf-8"))
    return code, [(f["rule"], f["file"], f["start"]["line"]) for f in document["findings"]], document


@pytest.mark.parametrize(
    ("text", "rule", "line"),
    [
        ("policy: 1\nlevels: {torque-over: error}\n", "not-schema", 2),
        ("policy: 1\nmargins:\n  torque: 0\n", "bad-quantity", 3),
        ("policy: 1\nlevels: [\n", "not-yaml", 2),  # where the bracket was opened
        ("policy: 1\n\ncatalogue: no.catalogue.yaml\n", "unknown-reference", 3),
        ("policy: 1\ncatalogue: c.catalogue.yaml\ngrades:\n  forbidden: [oak, aok]\n", "unknown-reference", 4),
    ],
)
def test_a_bad_policy_is_a_finding_and_its_files_are_unjudged(text: str, rule: str, line: int) -> None:
    """Its place is told, the rig under it is not judged and that is said, the other folder is: exit 2."""
    Path("a/lineshaft.policy.yaml").write_text(text, "utf-8")
    code, found, document = check(".")
    assert (code, found) == (2, [(rule, "a/lineshaft.policy.yaml", line), ("not-schema", "b/b.rig.yaml", 5)])
    assert document["summary"]["files"] == 3  # the policy, and the other folder's rig and catalogue
    for named in (["a/a.rig.yaml"], ["a/lineshaft.policy.yaml"], ["--jobs", "2", "a", "b"]):
        code, found, _ = check(*named)
        assert (code, found[0]) == (2, (rule, "a/lineshaft.policy.yaml", line))


@pytest.mark.parametrize("name", WRITERS)
def test_every_report_names_a_bad_policy(name: str) -> None:
    """Exit 2 writes all the same, and every format has the policy in it."""
    Path("a/lineshaft.policy.yaml").write_text("policy: 1\nlevels: {torque-over: error}\n", "utf-8")
    assert run(["check", "--no-cache", ".", "--write", f"{name}=report"]) == 2
    assert b"lineshaft.policy.yaml" in Path("report").read_bytes()


def test_a_forbidden_grade_counts_where_the_policy_has_a_catalogue() -> None:
    """Without one, rigs may use any catalogue, and one of them may have that grade."""
    Path("a/lineshaft.policy.yaml").write_text("policy: 1\ngrades: {forbidden: [ash]}\n", "utf-8")
    assert check("a")[:2] == (0, [])
    sound = "policy: 1\ncatalogue: c.catalogue.yaml\ngrades: {forbidden: [oak]}\n"
    Path("a/lineshaft.policy.yaml").write_text(sound, "utf-8")
    assert check("a")[:2] == (1, [("grade-forbidden", "a/a.rig.yaml", 5)])


def test_two_policies_in_one_folder_hold_neither(capsys: pytest.CaptureFixture[str]) -> None:
    """`lineshaft.policy.yaml` and `.yml` side by side: exit 2, and either is to be removed."""
    Path("a/lineshaft.policy.yml").write_text("policy: 1\nexclude: ['*']\n", "utf-8")
    assert check("a/a.rig.yaml")[:2] == (0, [])
    assert "left out by the policy" in capsys.readouterr().out
    Path("a/lineshaft.policy.yaml").write_text("policy: 1\n", "utf-8")
    code, found, document = check("a/a.rig.yaml")
    assert (code, found) == (2, [("not-schema", "a/lineshaft.policy.yaml", 1)])
    assert "a/lineshaft.policy.yml stands in the same folder" in document["findings"][0]["message"]


def test_the_other_ending_counts_everywhere() -> None:
    """A rig, its catalogue, and a policy whose names end in `.yml` are found, judged, and named by users."""
    for name in ("a", "b"):
        Path(name, "c.catalogue.yaml").rename(Path(name, "c.catalogue.yml"))
        Path(name, f"{name}.rig.yaml").unlink()
        text = (RIG if name == "a" else OVER).replace("CALLED", "yml")
        Path(name, f"{name}.rig.yml").write_text(text, "utf-8")
    assert check(".")[:2] == (1, [("not-schema", "b/b.rig.yml", 5)])
    assert check("--users", "b/c.catalogue.yml")[:2] == (1, [("not-schema", "b/b.rig.yml", 5)])
    Path("b/lineshaft.policy.yml").write_text("policy: 1\nexclude: [b.rig.yml]\n", "utf-8")
    assert check(".")[:2] == (0, [])


@pytest.mark.parametrize("words", [["check"], ["snags", "record", "-o", "l.snags.yaml"], ["impact", "--base", "HEAD"]])
def test_a_named_file_of_another_kind_is_refused(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 2, and it says what to call it."""
    Path("notes.txt").write_text("a rig?\n", "utf-8")
    if words[0] == "impact":
        Path(".git").rmdir()
        import subprocess

        who = ["-c", "user.name=W", "-c", "user.email=w@tern.example", "-c", "commit.gpgsign=false"]
        for more in (["init", "-q"], ["add", "-A"], ["commit", "-qm", "all"]):
            subprocess.run(["git", *who, *more], check=True, timeout=60)
    assert run([*words, "notes.txt"]) == 2
    assert "notes.txt is not judged: call a rig notes.rig.yaml" in capsys.readouterr().err


def test_a_named_file_that_a_policy_leaves_out_is_no_failure() -> None:
    """Hooks name files: exit 0, for a rig and for a file of another kind."""
    Path("b/notes.txt").write_text("a rig?\n", "utf-8")
    Path("b/lineshaft.policy.yaml").write_text("policy: 1\nexclude: ['*.txt', b.rig.yaml]\n", "utf-8")
    assert check("b/notes.txt", "b/b.rig.yaml")[:2] == (0, [])
