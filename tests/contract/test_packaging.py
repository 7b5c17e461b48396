"""What is built is what stands in the tree: modules, schemas, entry points, and the source distribution's extras."""

import os
import shutil
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from importlib.metadata import entry_points
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
FOLDERS = {"lint": "lineshaft", "rules": "lineshaft/rules", "schema": "lineshaft/schema"}
TWINS = "tests/rules"  # installed as lineshaft.twins, without what only the tests need
SHIPPED = (".py", ".json", ".typed", ".css", ".html", ".js")
EXTRAS = ("DEVELOPERS.md", "CHANGELOG.md", "README.md", "LICENSE", "pyproject.toml")
LEFT_OUT = shutil.ignore_patterns(
    ".git", ".venv", ".*_cache", ".hypothesis", "__pycache__", "*.egg-info", "build", "dist", "*.pyc"
)
BUILD = """
import sys
from setuptools import build_meta

folder = sys.argv[1]  # kept, since a build writes sys.argv anew
build_meta.build_sdist(folder)
build_meta.build_wheel(folder)
"""


@pytest.fixture(scope="module")
def project() -> dict[str, Any]:
    """The tables of pyproject.toml."""
    return tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory, project: dict[str, Any]) -> Path:
    """A folder with the wheel and the sdist, built from a clean copy by the build system that the project asks for."""
    work = tmp_path_factory.mktemp("packaging")
    shutil.copytree(ROOT, work / "tree", ignore=LEFT_OUT)
    (work / "dist").mkdir()
    wanted = project["build-system"]["requires"]
    _run([sys.executable, "-m", "pip", "install", "--quiet", "--target", str(work / "tools"), *wanted], work)
    _run([sys.executable, "-c", BUILD, str(work / "dist")], work / "tree", PYTHONPATH=str(work / "tools"))
    return work / "dist"


def _run(command: list[str], folder: Path, **settings: str) -> None:
    ran = subprocess.run(
        command, cwd=folder, env={**os.environ, **settings}, capture_output=True, text=True, timeout=300, check=False
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr


def _tree(folder: str) -> list[str]:
    paths = (path for path in (ROOT / folder).rglob("*") if path.suffix in SHIPPED and path.is_file())
    return sorted(path.relative_to(ROOT / folder).as_posix() for path in paths)


def _files_below(folder: str) -> list[str]:
    paths = (path for path in (ROOT / folder).rglob("*") if path.is_file())
    kept = (p for p in paths if not {"__pycache__", ".hypothesis"} & set(p.parts) and p.suffix != ".pyc")
    return sorted(path.relative_to(ROOT).as_posix() for path in kept)


@pytest.mark.slow
def test_wheel_holds_the_tree(built: Path) -> None:
    """The wheel holds the three folders' modules, schemas and py.typed and the rules' samples; no more and no less."""
    (wheel,) = built.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        packed = sorted(name for name in archive.namelist() if ".dist-info/" not in name)
    wanted = [f"{inside}/{name}" for folder, inside in FOLDERS.items() for name in _tree(folder)]
    samples = (path.relative_to(ROOT / TWINS).as_posix() for path in (ROOT / TWINS).rglob("*.yaml"))
    wanted += [f"lineshaft/twins/{name}" for name in samples]
    assert packed == sorted([*wanted, "lineshaft/twins/__init__.py"])
    assert "lineshaft/py.typed" in packed


@pytest.mark.slow
def test_sdist_holds_what_a_contributor_needs(built: Path) -> None:
    """The sdist has the texts, every sample, every test and all that the wheel is made from."""
    (sdist,) = built.glob("*.tar.gz")
    with tarfile.open(sdist) as archive:
        packed = {name.partition("/")[2] for name in archive.getnames()}
    wanted = {*EXTRAS, *_files_below("sample_rigs"), *_files_below("tests")}
    wanted |= {f"{folder}/{name}" for folder in FOLDERS for name in _tree(folder)}
    assert sorted(wanted - packed) == []


def test_a_rule_file_has_its_entry_point(project: dict[str, Any]) -> None:
    """Each file in rules/ is registered under its own name with dashes, and nothing else is."""
    files = [path.stem for path in (ROOT / "rules").glob("*.py") if path.stem != "__init__"]
    wanted = {stem.replace("_", "-"): f"lineshaft.rules.{stem}:RULE" for stem in files}
    assert project["project"]["entry-points"]["lineshaft.rules"] == wanted


def test_a_rule_is_called_by_its_entry_point(project: dict[str, Any]) -> None:
    """The id that a finding bears is the name the rule is found by, as installed."""
    ours = {e.name: e for e in entry_points(group="lineshaft.rules") if e.value.startswith("lineshaft.rules.")}
    assert sorted(ours) == sorted(project["project"]["entry-points"]["lineshaft.rules"]), "install again"
    assert [name for name, entry in ours.items() if entry.load().id != name] == []


def test_every_subpackage_is_listed(project: dict[str, Any]) -> None:
    """A folder that holds modules is a package, and pyproject.toml lists it: else the wheel would lack it."""
    folders = {path.parent for folder in FOLDERS for path in (ROOT / folder).rglob("*.py")}
    assert [folder for folder in folders if not (folder / "__init__.py").is_file()] == []
    named = {"lineshaft.twins"}
    for folder in folders:
        top, *inner = folder.relative_to(ROOT).parts
        named.add(".".join((FOLDERS[top].replace("/", "."), *inner)))
    assert sorted(project["tool"]["setuptools"]["packages"]) == sorted(named)
