"""The sample of a third party's distribution: installed by itself, tried by its own test, shown on one page."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from installation.installed import lineshaft

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "tests" / "plugin_sample"
PAGE = (ROOT / "docs" / "rules-of-your-own.md").read_text("utf-8")


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder into which pip has put the sample."""
    work = tmp_path_factory.mktemp("sample")
    shutil.copytree(SAMPLE, work / "source", ignore=shutil.ignore_patterns("__pycache__"))
    command = [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--target", str(work / "site"), "."]
    ran = subprocess.run(command, cwd=work / "source", capture_output=True, text=True, timeout=300, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    return work / "site"


@pytest.mark.slow
def test_the_samples_own_test_passes_where_it_is_installed(installed: Path) -> None:
    """As its author would run it."""
    plain = ("-n", "0", "-p", "no:cacheprovider", "-c", "pyproject.toml")
    ran = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", *plain, "test_harbour_rules.py"],
        cwd=SAMPLE,
        env={**os.environ, "PYTHONPATH": str(installed), "PYTHONDONTWRITEBYTECODE": "1"},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert "1 passed" in ran.stdout


@pytest.mark.slow
def test_the_samples_rule_is_listed_explained_and_found(installed: Path) -> None:
    """Like one of ours, beside them: warnings alone end with 0, and the finding says why nothing mends it."""
    assert "machine-unlabelled  " in lineshaft("rules", beside=installed).stdout
    assert "How to repair: write `label:`" in lineshaft("explain", "machine-unlabelled", beside=installed).stdout
    broken = SAMPLE / "twins" / "machine-unlabelled" / "breaks.rig.yaml"
    ran = lineshaft("check", "--no-cache", str(broken), beside=installed)
    assert ran.returncode == 0
    assert ":6:3 (machine-unlabelled)" in " ".join(ran.stdout.split())
    assert "only somebody on the site knows what it is called" in ran.stdout


@pytest.mark.slow
def test_its_twins_are_tried_and_those_it_lacks_are_named(installed: Path, tmp_path: Path) -> None:
    """0 with its twins; without the failing one, or where it does not fail, 1 and the rule's name."""
    ran = lineshaft("rules", "test", "twins", beside=installed, cwd=SAMPLE)
    assert (ran.returncode, ran.stdout.splitlines()[0]) == (0, "machine-unlabelled  breaks and holds")
    twins = tmp_path / "twins"
    shutil.copytree(SAMPLE / "twins", twins)
    (twins / "machine-unlabelled" / "breaks.rig.yaml").unlink()
    ran = lineshaft("rules", "test", str(twins), beside=installed)
    assert ran.returncode == 1
    told = " ".join(ran.stdout.split())
    assert "machine-unlabelled no failing twin: machine-unlabelled/breaks.rig.yaml is not there" in told
    sound = twins / "machine-unlabelled" / "holds.rig.yaml"
    shutil.copy(sound, sound.with_name("breaks.rig.yaml"))
    ran = lineshaft("rules", "test", str(twins), beside=installed)
    assert (ran.returncode, "breaks.rig.yaml does not break it" in " ".join(ran.stdout.split())) == (1, True)
    shutil.copy(SAMPLE / "twins" / "machine-unlabelled" / "breaks.rig.yaml", sound)
    ran = lineshaft("rules", "test", str(twins), beside=installed)
    told = " ".join(ran.stdout.split())
    assert (ran.returncode, "holds.rig.yaml does not hold: machine-unlabelled at line 6" in told) == (1, True)


def test_the_page_shows_the_very_files() -> None:
    """The rule of at most twenty lines of code, its test and its distribution stand on the page as they are."""
    shown = re.findall(r"```(?:python|toml)\n(.*?)```", PAGE, re.DOTALL)
    files = ("harbour_rules.py", "pyproject.toml", "test_harbour_rules.py")
    assert shown == [(SAMPLE / name).read_text("utf-8") for name in files]
    code = shown[0].partition('"""\n\n')[2].splitlines()
    assert len([line for line in code if line.strip()]) <= 20


def test_the_page_names_what_is_stable() -> None:
    """Its table has every stable name, and no other."""
    from lineshaft import api, testing

    table = PAGE.partition("| name | what it is |")[2]
    rows = (row.split("|")[1] for row in table.splitlines() if row.startswith("| `"))
    named = {name for row in rows for name in re.findall(r"`(\w+)`", row)}
    assert named == api.STABLE_SINCE.keys() | testing.STABLE_SINCE.keys()
