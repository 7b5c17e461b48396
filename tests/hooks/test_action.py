"""The GitHub action and the GitLab component: checked as files, and each of their steps run as a runner would."""

import base64
import gzip
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
import yaml

ROOT = Path(__file__).resolve().parents[2]
ACTION: dict[str, Any] = yaml.safe_load((ROOT / "action.yml").read_text("utf-8"))
STEPS: dict[str, dict[str, Any]] = {step["name"]: step for step in ACTION["runs"]["steps"]}
COMMENT, ALERTS = "One comment on the pull request", "List of code alerts"
BROKEN = "overloaded-step.rig.yaml"
GUIDE = (ROOT / "docs" / "hooks-and-ci.md").read_text("utf-8")
pytestmark = pytest.mark.skipif(os.name == "nt", reason="steps for bash")

# What stands for GitHub's program: it keeps one comment a pull request in a file and writes down what it is asked.
HUB = """#!/usr/bin/env python3
import json, pathlib, sys
here = pathlib.Path(__file__).parent
words = sys.argv[1:]
asked = here / "asked.jsonl"
with asked.open("a") as file:
    file.write(json.dumps(words) + "\\n")
if "--jq" in words:
    print("73\\n" if (here / "there").exists() else "", end="")
elif "POST" in words and words[-1].startswith("body="):
    (here / "there").write_text("")
"""


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """A folder of rigs, one of them broken, and what a runner has beside it."""
    shutil.copytree(ROOT / "sample_rigs" / "catalogues", tmp_path / "work" / "catalogues")
    for name in (BROKEN, "two-wheels.rig.yaml"):
        shutil.copy(ROOT / "sample_rigs" / name, tmp_path / "work" / name)
    programs = tmp_path / "temp" / "lineshaft" / "bin"
    programs.mkdir(parents=True)
    (programs / "lineshaft").write_text(f'#!/bin/sh\nexec {sys.executable} -P -m lineshaft "$@"\n')
    (programs / "lineshaft").chmod(0o755)
    (tmp_path / "hub").mkdir()
    (tmp_path / "hub" / "gh").write_text(HUB)
    (tmp_path / "hub" / "gh").chmod(0o755)
    return tmp_path


def run_step(yard: Path, name: str, env: Mapping[str, str] | None = None) -> subprocess.CompletedProcess[str]:
    """One step, as a runner runs it: bash that stops at the first failure, with what the step is given."""
    given = {
        **os.environ,
        "PATH": f"{yard / 'hub'}{os.pathsep}{os.environ['PATH']}",
        "RUNNER_TEMP": str(yard / "temp"),
        "GITHUB_OUTPUT": str(yard / "output"),
        "GITHUB_STEP_SUMMARY": str(yard / "summary"),
        "GITHUB_REPOSITORY": "harbour/rigs",
        "GITHUB_SERVER_URL": "https://git.example.org",
        "GITHUB_RUN_ID": "9150",
        "GITHUB_SHA": "7" * 40,
        "GITHUB_REF": "refs/heads/main",
        **(env or {}),
    }
    words = ["bash", "--noprofile", "--norc", "-eo", "pipefail", "-c", STEPS[name]["run"]]
    return subprocess.run(words, cwd=yard / "work", env=given, capture_output=True, text=True, timeout=120, check=False)


def judge(yard: Path, **inputs: str) -> tuple[subprocess.CompletedProcess[str], dict[str, str]]:
    """The step that judges, with the defaults for what is not given, and its outputs."""
    defaults = {name: str(known["default"]) for name, known in ACTION["inputs"].items()}
    env = {
        variable: (defaults | inputs)[re.fullmatch(r"\$\{\{ inputs\.([a-z-]+) \}\}", value)[1]]  # type: ignore[index]
        for variable, value in STEPS["Judge"]["env"].items()
    }
    (yard / "output").unlink(missing_ok=True)
    ran = run_step(yard, "Judge", env)
    lines = (yard / "output").read_text("utf-8").splitlines()
    return ran, dict(line.partition("=")[::2] for line in lines)


def asked(yard: Path) -> list[list[str]]:
    """What GitHub was asked, word by word."""
    return [json.loads(line) for line in (yard / "hub" / "asked.jsonl").read_text("utf-8").splitlines()]


def test_the_verdict_is_told_by_the_last_step_and_all_reports_are_there(yard: Path) -> None:
    """A broken rig: the step that judges goes on, annotations stand in its log, the last step fails with 1."""
    ran, outputs = judge(yard)
    assert ran.returncode == 0, ran.stderr
    assert outputs["verdict"] == "1"
    assert f"::error file={BROKEN},line=11" in ran.stdout
    assert all(Path(outputs[name]).stat().st_size for name in ("summary", "report", "sarif"))
    assert run_step(yard, "Verdict", {"VERDICT": outputs["verdict"]}).returncode == 1
    assert run_step(yard, "Summary of the job", {"SUMMARY": outputs["summary"]}).returncode == 0
    assert "torque-over-limit" in (yard / "summary").read_text("utf-8")


def test_paths_may_hold_blanks_and_what_the_shell_would_take_for_its_own(yard: Path) -> None:
    """A folder with a blank and a command in its name is a folder; nothing of it is run."""
    name = "old works $(touch stolen)"
    (yard / "work" / name).mkdir()
    shutil.move(yard / "work" / BROKEN, yard / "work" / name / BROKEN)
    (yard / "work" / name / BROKEN).write_text(
        (yard / "work" / name / BROKEN).read_text("utf-8").replace("catalogue: cat", "catalogue: ../cat"), "utf-8"
    )
    _, outputs = judge(yard, paths=f"{name}\ntwo-wheels.rig.yaml\n")
    assert outputs["verdict"] == "1"
    assert not (yard / "work" / "stolen").exists()


def test_reports_are_written_where_the_job_could_not_be_done(yard: Path) -> None:
    """A policy with a fault: 2, annotated where it stands, and in the SARIF that is written all the same."""
    (yard / "work" / "lineshaft.policy.yaml").write_text("policy: 1\nmargins:\n  torque: 0\n", "utf-8")
    ran, outputs = judge(yard)
    assert outputs["verdict"] == "2"
    assert "::error file=lineshaft.policy.yaml,line=3" in ran.stdout
    results = json.loads(Path(outputs["sarif"]).read_text("utf-8"))["runs"][0]["results"]
    assert [result["ruleId"] for result in results] == ["bad-quantity"]


def test_a_pull_request_gets_one_comment_that_is_updated(yard: Path) -> None:
    """Three runs: the first makes the comment, the second and a clean third change that very one."""
    _, outputs = judge(yard)
    env = {"NUMBER": "41", "SUMMARY": outputs["summary"], "VERDICT": "1", "GH_TOKEN": "none"}
    for verdict in ("1", "1", "0"):
        ran = run_step(yard, COMMENT, env | {"VERDICT": verdict})
        assert ran.returncode == 0, ran.stderr
    methods = [words[words.index("--method") + 1] for words in asked(yard) if "--method" in words]
    assert methods == ["POST", "PATCH", "PATCH"]
    assert "repos/harbour/rigs/issues/comments/73" in asked(yard)[-1]
    text = (yard / "temp" / "lineshaft-comment.md").read_text("utf-8")
    assert text.startswith("<!-- lineshaft")
    assert "torque-over-limit" in text
    assert "https://git.example.org/harbour/rigs/actions/runs/9150" in text


def test_a_clean_pull_request_gets_no_comment(yard: Path) -> None:
    """Nothing is wrong and nothing was said before: nothing is said."""
    (yard / "work" / BROKEN).unlink()
    _, outputs = judge(yard)
    assert outputs["verdict"] == "0"
    env = {"NUMBER": "41", "SUMMARY": outputs["summary"], "VERDICT": "0", "GH_TOKEN": "none"}
    assert run_step(yard, COMMENT, env).returncode == 0
    assert not any("--method" in words for words in asked(yard))


def test_alerts_are_the_sarif_of_this_very_commit(yard: Path) -> None:
    """What is sent, unpacked, is the file byte for byte."""
    _, outputs = judge(yard)
    assert run_step(yard, ALERTS, {"SARIF": outputs["sarif"], "GH_TOKEN": "none"}).returncode == 0
    (words,) = asked(yard)
    fields = dict(word.partition("=")[::2] for word in words if "=" in word)
    assert (fields["commit_sha"], fields["ref"]) == ("7" * 40, "refs/heads/main")
    sent = Path(fields["sarif"].removeprefix("@")).read_bytes()
    assert gzip.decompress(base64.b64decode(sent)) == Path(outputs["sarif"]).read_bytes()


def test_a_fork_gets_neither_comment_nor_alerts() -> None:
    """Both steps ask that the head of the pull request is this repository."""
    same = "github.event.pull_request.head.repo.full_name == github.repository"
    assert all(same in STEPS[name]["if"] for name in (COMMENT, ALERTS))
    assert not re.search(r"^\s*pull_request_target", GUIDE, re.M)


def test_no_step_is_made_of_what_others_wrote() -> None:
    """What is run holds no expression: inputs and events come in as variables alone, which no shell reads as code."""
    assert not any("${{" in step.get("run", "") for step in STEPS.values())


def test_the_guide_names_each_input_and_output() -> None:
    """Neither table nor text has one that is not there."""
    section = GUIDE.partition("\n## GitHub\n")[2].partition("\n## ")[0]
    named = re.findall(r"^\| (`.*?) \|", section, re.M)
    assert {name for row in named for name in re.findall(r"`([a-z-]+)`", row)} == set(ACTION["inputs"])
    assert all(f"`{name}`" in section for name in ACTION["outputs"])


def test_what_others_made_is_named_by_its_commit() -> None:
    """A tag can be moved, a commit cannot; the version stands behind it for people, and is the same everywhere."""
    places = (ROOT / "action.yml", ROOT / "docs" / "hooks-and-ci.md", *(ROOT / "lint" / "starters" / "files").iterdir())
    texts = [path.read_text("utf-8") for path in (*places, *(ROOT / ".github" / "workflows").iterdir())]
    used = [line for text in texts for line in re.findall(r"uses: ([^\n]+)", text) if not line.startswith("harbour/")]
    assert used
    pinned = {re.fullmatch(r"([\w./-]+)@([0-9a-f]{40}) # (v[0-9.]+)", line) for line in used}
    assert None not in pinned, used
    assert len({found[1] for found in pinned if found}) == len({found[0] for found in pinned if found})


def test_zizmor_finds_nothing(tmp_path: Path) -> None:
    """The checker of workflows, offline and at its strictest, on all that runs in CI, and on what `new ci` writes."""
    recipe = re.search(r"`.github/workflows/rigs.yml`:\n\n```yaml\n(.*?)```", GUIDE, re.S)
    assert recipe is not None
    workflow = tmp_path / ".github" / "workflows" / "rigs.yml"
    workflow.parent.mkdir(parents=True)
    workflow.write_text(recipe[1], "utf-8")
    first = workflow.with_name("first.yml")
    shutil.copy(ROOT / "lint" / "starters" / "files" / "rigs.yml", first)
    program = shutil.which("zizmor", path=str(Path(sys.executable).parent))
    assert program is not None, "zizmor comes with the extra `test`"
    words = [program, "--offline", "--no-progress", "--no-config", "--persona", "auditor"]
    files = [str(ROOT / "action.yml"), str(ROOT / ".pre-commit-hooks.yaml"), str(workflow), str(first)]
    files += [str(path) for path in sorted((ROOT / ".github" / "workflows").iterdir())]
    ran = subprocess.run([*words, *files], capture_output=True, text=True, timeout=120, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert ran.stderr.count("completed") == len(files)


@pytest.mark.parametrize("path", sorted((ROOT / ".github" / "workflows").glob("*.yml")), ids=lambda path: path.name)
def test_workflows_fit_their_public_schema(path: Path) -> None:
    """The schema that is published for such files takes each, and each that has not run says so in its first lines."""
    words = [sys.executable, "-m", "check_jsonschema", "--builtin-schema", "vendor.github-workflows", str(path)]
    ran = subprocess.run(words, capture_output=True, text=True, timeout=120, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert "This file has never run" in path.read_text("utf-8")


def _component(**inputs: str) -> dict[str, Any]:
    """The job that GitLab makes of the component with some inputs."""
    spec, job = (ROOT / "templates" / "check.yml").read_text("utf-8").split("\n---\n")
    known = yaml.safe_load(spec)["spec"]["inputs"]
    values = {name: inputs.get(name, str(one.get("default", "")).lower()) for name, one in known.items()}
    assert inputs.keys() <= known.keys()
    made: dict[str, Any] = yaml.safe_load(re.sub(r"\$\[\[ inputs\.([a-z-]+) \]\]", lambda m: values[m[1]], job))
    return made


@pytest.mark.parametrize(("repairs", "shown"), [("true", True), ("false", False)])
def test_the_component_judges_and_leaves_its_reports(yard: Path, repairs: str, shown: bool) -> None:
    """Its lines, but the first, which installs, in one shell: exit code 1, and each report of the job is there."""
    job = _component(source="git+https://git.example.org/harbour/lineshaft@" + "1" * 40, repairs=repairs)["lineshaft"]
    env = {**os.environ, **job["variables"]}
    env["PATH"] = f"{yard / 'temp' / 'lineshaft' / 'bin'}{os.pathsep}{env['PATH']}"
    assert job["script"][0].endswith('"$LINESHAFT_SOURCE"')
    script = "\n".join(["set -eo pipefail", *job["script"][1:]])
    words = ["bash", "-c", script]
    ran = subprocess.run(words, cwd=yard / "work", env=env, capture_output=True, timeout=120, check=False)
    assert ran.returncode == 1, ran.stderr
    reports = [*job["artifacts"]["paths"], *job["artifacts"]["reports"].values()]
    assert all((yard / "work" / name).stat().st_size for name in reports)
    assert ("steel-stage for step" in (yard / "work" / "rigs.xml").read_text("utf-8")) is shown


def test_the_component_is_a_job_by_the_public_schema(tmp_path: Path) -> None:
    """With its inputs in place, the second document is accepted as a pipeline."""
    (tmp_path / ".gitlab-ci.yml").write_text(yaml.safe_dump(_component(source="lineshaft")), "utf-8")
    words = [sys.executable, "-m", "check_jsonschema", "--builtin-schema", "vendor.gitlab-ci", ".gitlab-ci.yml"]
    ran = subprocess.run(words, cwd=tmp_path, capture_output=True, text=True, timeout=120, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr
