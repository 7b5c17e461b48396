"""The hooks under the real pre-commit, in a repository that shares rigs, installed as a pull would install them."""

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

import pytest
import yaml

ROOT = Path(__file__).resolve().parents[2]
HOOKS = ROOT / ".pre-commit-hooks.yaml"
LEFT_OUT = shutil.ignore_patterns(
    ".git", ".venv", ".*_cache", ".hypothesis", "__pycache__", "*.egg-info", "build", "dist", "*.pyc"
)
BROKEN = "overloaded-step.rig.yaml"
SOUND = "two-wheels.rig.yaml"
CATALOGUES = "catalogues"
TAG = "v7.3.1"
OVERLOAD = "(torque-over-limit)"  # once for each time that it is told


class Checker(NamedTuple):
    """The repository that offers the hooks, its tag, and what git and pre-commit are told by the environment."""

    hooks: Path
    revision: str
    environment: Mapping[str, str]


def _run(command: list[str], folder: Path, environment: Mapping[str, str]) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        command,
        cwd=folder,
        env=dict(environment),
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=500,
        check=False,
    )


def _git(folder: Path, environment: Mapping[str, str], *words: str) -> str:
    ran = _run(["git", *words], folder, environment)
    assert ran.returncode == 0, ran.stderr
    return ran.stdout.strip()


@pytest.fixture(scope="module")
def checker(tmp_path_factory: pytest.TempPathFactory) -> Checker:
    """A repository of this tree, committed, as a pull of the hooks would get it."""
    work = tmp_path_factory.mktemp("hooks")
    who = {"GIT_AUTHOR_NAME": "Ada", "GIT_AUTHOR_EMAIL": "ada@example.org"}
    who |= {"GIT_COMMITTER_NAME": "Ada", "GIT_COMMITTER_EMAIL": "ada@example.org"}
    kept = {name: value for name, value in os.environ.items() if not name.startswith("GIT_")}
    environment = {
        **kept,
        **who,
        "GIT_CONFIG_GLOBAL": os.devnull,
        "GIT_CONFIG_NOSYSTEM": "1",
        "PRE_COMMIT_HOME": str(work / "pre-commit"),
        "PIP_NO_COMPILE": "1",  # most of what is installed is never imported
        "PYTHONUTF8": "1",
    }
    shutil.copytree(ROOT, work / "lineshaft", ignore=LEFT_OUT)
    _git(work / "lineshaft", environment, "init", "-q")
    _git(work / "lineshaft", environment, "add", "-A")
    _git(work / "lineshaft", environment, "commit", "-qm", "as it stands")
    _git(work / "lineshaft", environment, "tag", TAG)
    return Checker(work / "lineshaft", TAG, environment)


@pytest.fixture
def consumer(tmp_path: Path, checker: Checker) -> Path:
    """A repository that shares the catalogues, one sound rig and one broken one, and names the hook that checks."""
    folder = tmp_path / "harbour"
    (folder / "rigs").mkdir(parents=True)
    shutil.copytree(ROOT / "sample_rigs" / CATALOGUES, folder / "rigs" / CATALOGUES)
    for name in (BROKEN, SOUND):
        shutil.copy(ROOT / "sample_rigs" / name, folder / "rigs" / name)
    _name_hooks(folder, checker, "lineshaft-check")
    _git(folder, checker.environment, "init", "-q")
    _git(folder, checker.environment, "add", "-A")
    return folder


def _name_hooks(folder: Path, checker: Checker, *names: str) -> None:
    """One repository and revision for all tests, so that pre-commit installs it once."""
    repository = {"repo": str(checker.hooks), "rev": checker.revision, "hooks": [{"id": name} for name in names]}
    (folder / ".pre-commit-config.yaml").write_text(yaml.safe_dump({"repos": [repository]}), "utf-8")


def _pre_commit(folder: Path, checker: Checker, *words: str) -> subprocess.CompletedProcess[str]:
    return _run([sys.executable, "-m", "pre_commit", *words, "--color", "never"], folder, checker.environment)


def _lineshaft(folder: Path, checker: Checker, *words: str) -> subprocess.CompletedProcess[str]:
    return _run([sys.executable, "-P", "-m", "lineshaft", *words], folder, checker.environment)


def test_hooks_name_files_of_ours_alone() -> None:
    """The patterns take our four kinds at any depth and nothing that merely looks like them."""
    patterns = {hook["id"]: re.compile(hook["files"]) for hook in yaml.safe_load(HOOKS.read_text("utf-8"))}
    check = patterns["lineshaft-check"]
    ours = ("a.rig.yaml", "y/b.blueprint.yaml", "c.catalogue.yaml", "lineshaft.policy.yaml", "x/lineshaft.policy.yaml")
    assert all(check.search(name) for name in ours)
    assert all(check.search(name.removesuffix(".yaml") + ".yml") for name in ours)
    foreign = ("rig.yaml", "a.rig.json", "a.rig.yaml.orig", "my-lineshaft.policy.yaml", "compose.yaml", "arig.yaml")
    assert not any(pattern.search(name) for pattern in patterns.values() for name in foreign)
    assert not patterns["lineshaft-repair"].search("c.catalogue.yaml")


@pytest.mark.slow
def test_hooks_fail_as_check_does_and_pass_once_repaired(consumer: Path, checker: Checker) -> None:
    """The hook says what `lineshaft check` does, word for word and once, and passes after `repair --apply best`."""
    hooked = _pre_commit(consumer, checker, "run", "--all-files")
    checked = _lineshaft(consumer, checker, "check", "--users", ".")
    assert (hooked.returncode, checked.returncode) == (1, 1), hooked.stdout + hooked.stderr
    assert checked.stdout.count(OVERLOAD) == hooked.stdout.count(OVERLOAD) == 1
    assert checked.stdout.strip() in hooked.stdout
    repaired = _lineshaft(consumer, checker, "repair", f"rigs/{BROKEN}", "--apply", "best")
    assert repaired.returncode == 0, repaired.stdout + repaired.stderr
    again = _pre_commit(consumer, checker, "run", "--all-files")
    assert again.returncode == 0, again.stdout + again.stderr


@pytest.mark.slow
def test_a_changed_catalogue_checks_the_rigs_that_use_it(consumer: Path, checker: Checker) -> None:
    """A rating goes down in a commit that touches no rig: the rig that it breaks is named, the commit stops."""
    (consumer / "rigs" / BROKEN).unlink()
    _git(consumer, checker.environment, "add", "-A")
    _git(consumer, checker.environment, "commit", "-qm", "sound", "--no-verify")
    catalogue = consumer / "rigs" / CATALOGUES / "tern-harbour.catalogue.yaml"
    text = catalogue.read_text("utf-8")
    # The main shaft of the two wheels is forged steel and carries 900 + 900 = 1,800 N·m.
    weaker = text.replace("torque-limit: 6 kN*m,", "torque-limit: 1 kN*m,")
    assert weaker != text
    catalogue.write_text(weaker, "utf-8")
    _git(consumer, checker.environment, "add", "-A")
    hooked = _pre_commit(consumer, checker, "run")
    assert hooked.returncode == 1, hooked.stdout + hooked.stderr
    assert f"rigs/{SOUND}" in hooked.stdout
    assert "torque-over-limit" in hooked.stdout


@pytest.mark.slow
def test_three_contributors_share_a_repository(consumer: Path, checker: Checker) -> None:
    """Hooks from a tag: Ada's overload is stopped, Bo's misspelt name mended, Cy's redesign left to Cy; each told once.

    Ada drives 900 N·m · 5/2 into a stage that carries 1,200 N·m. Bo writes `dog-cluch`. Cy gathers 14 rad/s and
    8 rad/s in one combiner, which takes a stage more in one of the lines.
    """
    rigs, environment = consumer / "rigs", checker.environment
    ours = (rigs / BROKEN).read_bytes()
    (rigs / BROKEN).unlink()
    _name_hooks(consumer, checker, "lineshaft-repair", "lineshaft-check")
    _git(consumer, environment, "add", "-A")
    _git(consumer, environment, "commit", "-qm", "what all begin with")
    assert _pre_commit(consumer, checker, "install").returncode == 0

    (rigs / BROKEN).write_bytes(ours)
    ran = _commit(consumer, environment, "Ada")
    assert ran.returncode == 1
    assert (ran.stdout + ran.stderr).count(OVERLOAD) == 1
    assert "1 finding is left" in ran.stdout + ran.stderr
    assert (rigs / BROKEN).read_bytes() == ours
    (rigs / BROKEN).unlink()

    right = (ROOT / "sample_rigs" / "small-saw.rig.yaml").read_bytes()
    assert right.count(b"dog-clutch") == 1
    (rigs / "bo.rig.yaml").write_bytes(right.replace(b"dog-clutch", b"dog-cluch"))
    ran = _commit(consumer, environment, "Bo")
    assert ran.returncode == 1  # the commit stops, so that Bo looks at it
    assert "files were modified by this hook" in ran.stdout + ran.stderr
    assert (rigs / "bo.rig.yaml").read_bytes() == right
    assert _commit(consumer, environment, "Bo").returncode == 0

    unequal = (ROOT / "sample_rigs" / "unequal-wheels.rig.yaml").read_bytes()
    (rigs / "cy.rig.yaml").write_bytes(unequal)
    ran = _commit(consumer, environment, "Cy")
    assert ran.returncode == 1
    assert (ran.stdout + ran.stderr).count("(combiner-mismatch)") == 1
    assert (rigs / "cy.rig.yaml").read_bytes() == unequal


def _commit(folder: Path, environment: Mapping[str, str], who: str) -> subprocess.CompletedProcess[str]:
    """All that is there, committed with the hooks by somebody."""
    _git(folder, environment, "add", "-A")
    theirs = {**environment, "GIT_AUTHOR_NAME": who, "GIT_AUTHOR_EMAIL": f"{who.lower()}@example.org"}
    return _run(["git", "commit", "-qm", f"{who} builds"], folder, theirs)


def test_verdicts_do_not_depend_on_the_batch(consumer: Path, checker: Checker) -> None:
    """Files judged one at a time fail if, and only if, they fail together, and the findings add up to the same."""
    names = sorted(str(path.relative_to(consumer)) for path in consumer.rglob("*.rig.yaml"))
    together = json.loads(_lineshaft(consumer, checker, "check", "--write", "json=-", *names).stdout)
    apart = [json.loads(_lineshaft(consumer, checker, "check", "--write", "json=-", name).stdout) for name in names]
    assert [f for document in apart for f in document["findings"]] == together["findings"]
    assert together["summary"]["errors"] == 1
