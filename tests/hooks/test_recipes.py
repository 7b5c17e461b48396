"""The guide's recipes are whole files: each is accepted by its format's public schema or by what will run it."""

import os
import re
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

import pytest
import yaml

ROOT = Path(__file__).resolve().parents[2]
GUIDE = (ROOT / "docs" / "hooks-and-ci.md").read_text("utf-8")
RECIPES = dict(re.findall(r"`([^`\s]+)`:\n\n```(?:yaml|sh)\n(.*?)```", GUIDE, re.S))
HOOKS = ROOT / ".pre-commit-hooks.yaml"
# JSON Schemas as published by SchemaStore, shipped with check-jsonschema.
PUBLIC = {
    ".github/workflows/rigs.yml": "vendor.github-workflows",
    ".gitlab-ci.yml": "vendor.gitlab-ci",
}


def _recipe(name: str, folder: Path) -> Path:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(RECIPES[name], "utf-8")
    return path


def _run(
    command: list[str], folder: Path, env: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    # The programs of the environment that runs the tests come first.
    path = os.pathsep.join([str(Path(sys.executable).parent), os.environ.get("PATH", "")])
    environment = {**os.environ, "PATH": path, "PYTHONUTF8": "1", **(env or {})}
    return subprocess.run(
        command, cwd=folder, env=environment, capture_output=True, text=True, timeout=120, check=False
    )


@pytest.mark.parametrize("name", sorted(PUBLIC))
def test_ci_recipes_fit_their_public_schemas(name: str, tmp_path: Path) -> None:
    """check-jsonschema accepts the file by the schema that the format's users publish."""
    path = _recipe(name, tmp_path)
    # Its `reports: codequality` and the like are CI keys, so a misspelt one is refused too.
    ran = _run([sys.executable, "-m", "check_jsonschema", "--builtin-schema", PUBLIC[name], str(path)], tmp_path)
    assert ran.returncode == 0, ran.stdout + ran.stderr


def test_pre_commit_accepts_recipe_and_hooks(tmp_path: Path) -> None:
    """pre-commit's own validation accepts both files, and the recipe names hooks that there are."""
    path = _recipe(".pre-commit-config.yaml", tmp_path)
    for check, file in (("validate-config", path), ("validate-manifest", HOOKS)):
        ran = _run([sys.executable, "-m", "pre_commit", check, str(file)], tmp_path)
        assert ran.returncode == 0, ran.stdout + ran.stderr
    (repository,) = yaml.safe_load(path.read_text("utf-8"))["repos"]
    offered = {hook["id"] for hook in yaml.safe_load(HOOKS.read_text("utf-8"))}
    assert {hook["id"] for hook in repository["hooks"]} <= offered


@pytest.mark.skipif(os.name == "nt", reason="a POSIX shell script")
@pytest.mark.parametrize(("name", "verdict"), [("overloaded-step", 1), ("two-wheels", 0)])
def test_shell_recipe_passes_the_verdict_on(name: str, verdict: int, tmp_path: Path) -> None:
    """The script exits as `lineshaft check` does, and leaves the summary beside the rigs."""
    script = _recipe("check-rigs.sh", tmp_path)
    (tmp_path / "works" / "catalogues").mkdir(parents=True)
    samples = ROOT / "sample_rigs"
    for file in (f"{name}.rig.yaml", "catalogues/tern-harbour.catalogue.yaml"):
        (tmp_path / "works" / file).write_bytes((samples / file).read_bytes())
    ran = _run(["sh", str(script), "works"], tmp_path)
    assert ran.returncode == verdict, ran.stdout + ran.stderr
    assert ("see works/rigs.md" in ran.stderr) == (verdict == 1)
    assert (tmp_path / "works" / "rigs.md").read_text("utf-8")


def test_the_readme_leads_to_the_recipes() -> None:
    """They stand in one place, which the README names."""
    assert "](docs/hooks-and-ci.md)" in (ROOT / "README.md").read_text("utf-8")


def test_a_clone_without_tags_is_enough_for_the_hooks(tmp_path: Path) -> None:
    """`pre-commit autoupdate --bleeding-edge` puts the newest commit into the recipe, whatever stood there."""
    env = {"GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1", "PRE_COMMIT_HOME": str(tmp_path / "kept")}
    for who in ("AUTHOR", "COMMITTER"):
        env |= {f"GIT_{who}_NAME": "Ada", f"GIT_{who}_EMAIL": "ada@example.org"}
    offered, mine = tmp_path / "offered", tmp_path / "mine"
    for folder in (offered, mine):
        folder.mkdir()
        assert _run(["git", "init", "-q"], folder, env).returncode == 0
    (offered / HOOKS.name).write_bytes(HOOKS.read_bytes())
    for words in (("add", "-A"), ("commit", "-qm", "as it stands")):
        assert _run(["git", *words], offered, env).returncode == 0
    newest = _run(["git", "rev-parse", "HEAD"], offered, env).stdout.strip()
    path = _recipe(".pre-commit-config.yaml", mine)
    path.write_text(path.read_text("utf-8").replace("https://git.example.org/harbour/lineshaft", str(offered)), "utf-8")
    ran = _run([sys.executable, "-m", "pre_commit", "autoupdate", "--bleeding-edge"], mine, env)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    (repository,) = yaml.safe_load(path.read_text("utf-8"))["repos"]
    assert repository["rev"] == newest


@pytest.mark.parametrize("name", ["check-rigs.sh"])
def test_recipes_call_options_that_there_are(name: str, tmp_path: Path) -> None:
    """Each `lineshaft check` of a recipe, on a rig that breaks, ends with findings and not with a usage error."""
    _recipe(name, tmp_path)
    calls = re.findall(r"lineshaft check[^\n]*", RECIPES[name])
    assert calls
    (tmp_path / "catalogues").mkdir()
    for file in ("overloaded-step.rig.yaml", "catalogues/tern-harbour.catalogue.yaml"):
        (tmp_path / file).write_bytes((ROOT / "sample_rigs" / file).read_bytes())
    for call in calls:
        ran = _run(["sh", "-c", call.replace("$folder", ".")], tmp_path)
        assert ran.returncode == 1, ran.stdout + ran.stderr
