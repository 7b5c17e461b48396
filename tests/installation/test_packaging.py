"""What is built is what stands in the tree: modules, schemas, entry points, and the source distribution's extras."""

import json
import os
import shutil
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parents[2]
FOLDERS = {"lint": "lineshaft", "rules": "lineshaft/rules", "schema": "lineshaft/schema"}
TWINS = "tests/rules"  # installed as lineshaft.twins, without what only the tests need
SHIPPED = (".py", ".json", ".typed", ".css", ".html", ".js")
EXTRAS = ("DEVELOPERS.md", "CHANGELOG.md", "README.md", "LICENSE", "pyproject.toml", "hatch_build.py")
LEFT_OUT = shutil.ignore_patterns(
    *(".git", ".venv", ".editable", ".*_cache", ".hypothesis", "__pycache__", "*.egg-info", "build", "dist", "*.pyc"),
    "node_modules",
)
BUILD = """
import sys
from importlib import import_module

folder, name = sys.argv[1:]  # kept, since a build may write sys.argv anew
backend = import_module(name)
backend.build_sdist(folder)
backend.build_wheel(folder)
"""


@pytest.fixture(scope="module")
def project() -> dict[str, Any]:
    """The tables of pyproject.toml."""
    return tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))


@pytest.fixture(scope="module")
def tools(tmp_path_factory: pytest.TempPathFactory, project: dict[str, Any]) -> Path:
    """A folder with the build system that the project asks for."""
    folder = tmp_path_factory.mktemp("tools")
    wanted = project["build-system"]["requires"]
    _run([sys.executable, "-m", "pip", "install", "--quiet", "--target", str(folder), *wanted], folder)
    return folder


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory, tools: Path, project: dict[str, Any]) -> Path:
    """A folder with the wheel and the sdist, built from a clean copy."""
    work = tmp_path_factory.mktemp("packaging")
    shutil.copytree(ROOT, work / "tree", ignore=LEFT_OUT)
    (work / "dist").mkdir()
    backend = project["build-system"]["build-backend"]
    _run([sys.executable, "-c", BUILD, str(work / "dist"), backend], work / "tree", PYTHONPATH=str(tools))
    return work / "dist"


@pytest.fixture(scope="module")
def built_elsewhere(tmp_path_factory: pytest.TempPathFactory, tools: Path, project: dict[str, Any]) -> Path:
    """The same from a copy in another folder, whose files are of another day, private, and made in another order."""
    work = tmp_path_factory.mktemp("elsewhere") / "a longer name"
    shutil.copytree(ROOT, work / "clone", ignore=LEFT_OUT)
    for path in sorted((work / "clone").rglob("*"), reverse=True):
        os.utime(path, (1_500_000_000, 1_500_000_000))
        path.chmod(0o700 if path.is_dir() or os.access(path, os.X_OK) else 0o600)
    (work / "dist").mkdir()
    command = [sys.executable, "-c", BUILD, str(work / "dist"), project["build-system"]["build-backend"]]
    _run(command, work / "clone", PYTHONPATH=str(tools), TZ="Pacific/Apia", PYTHONHASHSEED="7", LC_ALL="C")
    return work / "dist"


def _run(command: list[str], folder: Path, **settings: str) -> None:
    ran = subprocess.run(
        command, cwd=folder, env={**os.environ, **settings}, capture_output=True, text=True, timeout=300, check=False
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr


def _tree(folder: str) -> list[str]:
    return _tree_at(ROOT, folder)


def _tree_at(root: Path, folder: str) -> list[str]:
    paths = (path for path in (root / folder).rglob("*") if path.is_file() and _shipped(path))
    return sorted(path.relative_to(root / folder).as_posix() for path in paths)


def _shipped(path: Path) -> bool:
    """Modules and schemas wherever they stand, and the texts of first files."""
    return path.suffix in SHIPPED or path.parent.parts[-2:] == ("starters", "files")


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
    wanted = {*EXTRAS, *_files_below("sample_rigs"), *_files_below("tests"), *_files_below(".ci/release")}
    wanted |= {f"{folder}/{name}" for folder in FOLDERS for name in _tree(folder)}
    assert sorted(wanted - packed) == []


@pytest.mark.slow
def test_builds_are_equal_byte_for_byte(built: Path, built_elsewhere: Path) -> None:
    """Wheel and sdist hang on nothing but the sources: not on folder, day, rights, hash seed, language or time zone."""
    one, other = (
        {path.name: sha256(path.read_bytes()).hexdigest() for path in folder.iterdir()}
        for folder in (built, built_elsewhere)
    )
    assert len(one) == 2
    assert one == other


@pytest.mark.slow
def test_the_wheel_holds_its_bill_of_software(built: Path, project: dict[str, Any]) -> None:
    """By CycloneDX's own schema, it names all that the wheel asks for, optional where a marker stands."""
    pytest.importorskip("cyclonedx", reason="needs the extra `packages`")
    from cyclonedx.schema import SchemaVersion
    from cyclonedx.validation.json import JsonStrictValidator

    (wheel,) = built.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        (name,) = [name for name in archive.namelist() if ".dist-info/sboms/" in name]
        text = archive.read(name).decode("utf-8")
    assert JsonStrictValidator(SchemaVersion.V1_7).validate_str(text) is None
    bill = json.loads(text)
    found = {one["name"]: (one["versionRange"], one["scope"]) for one in bill["components"]}
    wanted = {}
    for line in project["project"]["dependencies"]:
        asked, _, marker = line.partition(";")
        name, _, least = asked.partition(">=")
        wanted[canonicalize_name(name)] = (f"vers:pypi/>={least}", "optional" if marker else "required")
    assert found == wanted
    assert bill["metadata"]["component"]["version"] == project["project"]["version"]


def _install(tree: Path, target: Path, tools: Path, *options: str) -> None:
    install = [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--no-build-isolation"]
    _run([*install, "--target", str(target), *options, "."], tree, PYTHONPATH=str(tools))


@pytest.mark.slow
def test_what_an_earlier_install_left_does_not_come_back(tmp_path: Path, tools: Path) -> None:
    """Install, delete a rule, install again: the second installation lacks it, and the clone is as it was.

    What builds of an earlier kind left in the clone (`build/lib`, an egg-info folder) does not count either.
    """
    tree = tmp_path / "clone"
    shutil.copytree(ROOT, tree, ignore=LEFT_OUT)
    before = _listing(tree)
    _install(tree, tmp_path / "first", tools)
    assert (tmp_path / "first" / "lineshaft" / "rules" / "layout_gap.py").is_file()
    assert _listing(tree) == before
    shutil.copytree(tmp_path / "first" / "lineshaft", tree / "build" / "lib" / "lineshaft")
    (tree / "lineshaft.egg-info").mkdir()
    (tree / "lineshaft.egg-info" / "SOURCES.txt").write_text("rules/layout_gap.py\n", "utf-8")
    (tree / "rules" / "layout_gap.py").unlink()
    _install(tree, tmp_path / "second", tools)
    assert not (tmp_path / "second" / "lineshaft" / "rules" / "layout_gap.py").exists()
    first, second = (_listing(tmp_path / name / "lineshaft") for name in ("first", "second"))
    assert first - second == {"rules/layout_gap.py"} and second <= first


def _listing(folder: Path) -> set[str]:
    found = (path for path in folder.rglob("*") if path.is_file() and "__pycache__" not in path.parts)
    return {path.relative_to(folder).as_posix() for path in found}


@pytest.mark.slow
def test_an_editable_installation_is_live_and_seen_by_type_checkers(tmp_path: Path, tools: Path) -> None:
    """A path in site-packages leads to a package of links: a change, and a new file in a folder, are there at once."""
    tree, target = tmp_path / "clone", tmp_path / "site"
    shutil.copytree(ROOT, tree, ignore=LEFT_OUT)
    _install(tree, target, tools, "--editable")
    (path_file,) = target.glob("*.pth")
    places = path_file.read_text("utf-8").splitlines()
    assert places == [str(tree / ".editable")]
    package = Path(places[0], "lineshaft")
    (tree / "rules" / "brand_new.py").touch()
    wanted = {f"{inside}/{name}" for folder, inside in FOLDERS.items() for name in _tree_at(tree, folder)}
    assert [name for name in sorted(wanted) if not (package.parent / name).is_file()] == []
    assert (package / "rules" / "brand_new.py").samefile(tree / "rules" / "brand_new.py")
    assert (package / "twins" / "__init__.py").samefile(tree / "tests" / "rules" / "__init__.py")
    assert ".editable/" in (ROOT / ".gitignore").read_text("utf-8").splitlines()
