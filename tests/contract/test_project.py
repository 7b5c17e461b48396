"""What pyproject.toml says is so: what it asks for, where; the rules it registers; the folders that it packs."""

import sys
import tomllib
from importlib.metadata import distributions
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).resolve().parents[2]
FOLDERS = ("lint", "rules", "schema")


@pytest.fixture(scope="module")
def project() -> dict[str, Any]:
    """The tables of pyproject.toml."""
    return tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))


def test_what_is_compiled_is_asked_for_where_it_has_wheels(project: dict[str, Any]) -> None:
    """By their markers: on the usual systems, and not in a browser, on Windows for ARM, or on another Python."""
    lines = {Requirement(line).name: Requirement(line).marker for line in project["project"]["dependencies"]}
    usual = {"platform_python_implementation": "CPython", "python_version": "3.11"}
    linux = {"sys_platform": "linux", "platform_machine": "x86_64", **usual}
    for name in ("jsonschema-rs", "ruamel.yaml.clib"):
        marker = lines[name]
        assert marker is not None
        assert marker.evaluate(linux)
        assert marker.evaluate({**linux, "platform_machine": "aarch64", "python_version": "3.14"})
        assert marker.evaluate({**usual, "sys_platform": "darwin", "platform_machine": "arm64"})
        assert marker.evaluate({**usual, "sys_platform": "win32", "platform_machine": "AMD64"})
        assert not marker.evaluate({**usual, "sys_platform": "win32", "platform_machine": "ARM64"})
        assert not marker.evaluate({**usual, "sys_platform": "emscripten", "platform_machine": "wasm32"})
        assert not marker.evaluate({**linux, "platform_machine": "riscv64"})
        assert not marker.evaluate({**linux, "platform_python_implementation": "PyPy"})
        assert not marker.evaluate({**linux, "python_version": "3.15"})
    anywhere = [name for name, marker in lines.items() if marker is None]
    assert anywhere == ["click", "jinja2", "pint", "ruamel.yaml", "wcwidth"]


def test_a_rule_file_has_its_entry_point(project: dict[str, Any]) -> None:
    """Each file in rules/ is registered under its own name with dashes, and nothing else is."""
    files = [path.stem for path in (ROOT / "rules").glob("*.py") if path.stem != "__init__"]
    wanted = {stem.replace("_", "-"): f"lineshaft.rules.{stem}:RULE" for stem in files}
    assert project["project"]["entry-points"]["lineshaft.rules"] == wanted


def test_a_rule_is_called_by_its_entry_point(project: dict[str, Any]) -> None:
    """The id that a finding bears is the name the rule is found by, as installed."""
    # Not through the root of the clone: the metadata that an earlier build left there is not what is installed.
    found = distributions(name="lineshaft", path=[folder for folder in sys.path if Path(folder).resolve() != ROOT])
    ours = {entry.name: entry for entry in next(iter(found)).entry_points if entry.group == "lineshaft.rules"}
    assert sorted(ours) == sorted(project["project"]["entry-points"]["lineshaft.rules"]), "install again"
    assert [name for name, entry in ours.items() if entry.load().id != name] == []


def test_every_folder_with_modules_is_a_package() -> None:
    """A folder that holds modules has its `__init__.py`: else it would be no part of the package for type checkers."""
    folders = {path.parent for folder in FOLDERS for path in (ROOT / folder).rglob("*.py")}
    assert [folder for folder in folders if not (folder / "__init__.py").is_file()] == []
