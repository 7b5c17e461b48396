"""An installation that lost its metadata, or a line of them, says so and judges nothing."""

import os
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from lineshaft import __version__

ROOT = Path(__file__).resolve().parents[2]
INFO = f"lineshaft-{__version__}.dist-info"
FOLDERS = {"lint": "lineshaft", "rules": "lineshaft/rules", "schema": "lineshaft/schema"}
JUDGES = (
    ("check", "small-saw.rig.yaml"),
    ("repair", "overloaded-step.rig.yaml"),
    ("commission", "lagoon.rig.yaml"),
    ("snags", "record", "overloaded-step.rig.yaml", "-o", "-"),
    ("rules",),
    ("explain", "torque-over-limit"),
)


@pytest.fixture(scope="module")
def resolved(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder like site-packages: what we depend on by links, and lineshaft as its wheel would lie there."""
    folder = tmp_path_factory.mktemp("site")
    for place in (Path(place) for place in sys.path if "-packages" in place):
        for entry in place.iterdir():
            if not entry.name.startswith(("lineshaft", "__editable__", "_lineshaft")) and entry.suffix != ".pth":
                target = folder / entry.name
                if not target.exists():
                    target.symlink_to(entry)
    for source, inside in FOLDERS.items():
        shutil.copytree(ROOT / source, folder / inside, ignore=shutil.ignore_patterns("__pycache__"))
    rules = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["entry-points"]["lineshaft.rules"]
    lines = "".join(f"{name} = {target}\n" for name, target in rules.items())
    (folder / INFO).mkdir()
    (folder / INFO / "entry_points.txt").write_text(f"[lineshaft.rules]\n{lines}", "utf-8")
    return folder


def ran(resolved: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """One run with nothing installed but what lies in ``resolved``."""
    return subprocess.run(
        [sys.executable, "-S", "-P", "-m", "lineshaft", *arguments],
        cwd=ROOT / "sample_rigs",
        env={**os.environ, "PYTHONPATH": str(resolved), "XDG_CACHE_HOME": str(resolved / "cache")},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def test_a_whole_installation_judges(resolved: Path) -> None:
    """The control: a sound rig passes, a broken one does not."""
    assert ran(resolved, "check", "small-saw.rig.yaml").returncode == 0
    assert ran(resolved, "check", "--no-repairs", "overloaded-step.rig.yaml").returncode == 1


@pytest.mark.parametrize("arguments", JUDGES, ids=" ".join)
def test_without_metadata_nothing_passes(resolved: Path, arguments: tuple[str, ...]) -> None:
    """No `.dist-info`, no rules: exit 2 with the reason and what to do, and no sheet that looks like a verdict."""
    info = resolved / INFO
    away = info.rename(resolved / "put-away")
    try:
        found = ran(resolved, *arguments)
    finally:
        away.rename(info)
    assert (found.returncode, found.stdout) == (2, "")
    assert found.stderr.startswith("lineshaft: this installation of lineshaft is damaged: ")
    assert found.stderr.endswith("; install lineshaft again\n")


@pytest.mark.parametrize("arguments", JUDGES, ids=" ".join)
def test_fewer_rules_than_were_built_is_no_verdict(resolved: Path, arguments: tuple[str, ...]) -> None:
    """One line of `entry_points.txt` is gone: exit 2, and the rule is named."""
    table = resolved / INFO / "entry_points.txt"
    whole = table.read_text("utf-8")
    table.write_text(whole.replace("machine-surplus = lineshaft.rules.machine_surplus:RULE\n", ""), "utf-8")
    try:
        found = ran(resolved, *arguments)
    finally:
        table.write_text(whole, "utf-8")
    assert (found.returncode, found.stdout) == (2, "")
    assert "1 of " in found.stderr and "rules (machine-surplus) are not registered" in found.stderr


@pytest.mark.parametrize("version", [__version__, "0.0.7"])
def test_what_a_build_left_in_the_working_folder_is_not_another_distribution(
    resolved: Path, tmp_path: Path, version: str
) -> None:
    """An egg-info folder found first, as `python -m pytest` in a clone finds it, of this version or an earlier one.

    A cluster's workers, started elsewhere, do not see it; they are told from others by name and version.
    """
    left = tmp_path / "lineshaft.egg-info"
    left.mkdir()
    (left / "PKG-INFO").write_text(f"Metadata-Version: 2.4\nName: lineshaft\nVersion: {version}\n\n# l\n", "utf-8")
    (left / "entry_points.txt").write_text("[lineshaft.rules]\ngone = lineshaft.rules.gone:RULE\n", "utf-8")
    search_for = (
        "from lineshaft.check.registry import registry; from lineshaft.run.code_identity import rule_versions;"
        "print(rule_versions(), [entry.id for entry in registry().rules])"
    )
    said = [
        subprocess.run(
            [sys.executable, "-S", "-c", search_for],
            cwd=folder,
            env={**os.environ, "PYTHONPATH": str(resolved)},
            capture_output=True,
            text=True,
            timeout=60,
            check=True,
        ).stdout
        for folder in (tmp_path, resolved.parent)
    ]
    assert said[0] == said[1]
    assert said[0].startswith(f"('lineshaft {__version__}',) ['bad-quantity', ")


def test_a_rules_module_that_is_gone_is_named(resolved: Path) -> None:
    """Its entry point leads nowhere: the others judge, exit 2."""
    module = resolved / "lineshaft" / "rules" / "machine_surplus.py"
    away = module.rename(resolved / "put-away")
    try:
        found = ran(resolved, "check", "--no-cache", "--no-repairs", "overloaded-step.rig.yaml")
    finally:
        away.rename(module)
    assert found.returncode == 2
    assert "the rule machine-surplus could not be loaded (ModuleNotFoundError)" in found.stdout
    assert "torque-over-limit" in found.stdout
