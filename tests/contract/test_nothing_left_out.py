"""No test is forgotten in silence: bare pytest runs it, as the README says, or a step of `.ci/run` names its folder."""

import re
import subprocess
import tomllib
from collections.abc import Collection, Iterable
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SCRIPT = ROOT / ".ci" / "run"


def asked_by_name(script: str) -> set[str]:
    """The folders and files that the commands of a script ask pytest for; the folder it stands in where it says none.

    The clone that the script makes is the root: `cd "$work/other/tests/x"` stands in `tests/x`.
    """
    found, folder = set[str](), ""
    for line in re.sub(r"\\\n\s*", " ", script).splitlines():
        words = re.split(r"(?:^|\s)#", line)[0]
        went = re.search(r'cd "\$work/other/?([^"]*)"', words)
        folder = went[1] if went else folder
        if re.search(r"-m pytest\b", words):
            found |= set(re.findall(r"(?<=\s)tests/[\w/.]+", words)) or {folder}
    return found - {""}  # bare


def asked_by_default() -> set[str]:
    """What bare pytest collects."""
    tables = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    patterns = tables["tool"]["pytest"]["ini_options"]["testpaths"]
    found = {pattern: list(ROOT.glob(pattern)) for pattern in patterns}
    assert [pattern for pattern, paths in found.items() if not paths] == []
    return {path.relative_to(ROOT).as_posix() for paths in found.values() for path in paths}


def left_out(files: Iterable[str], asked: Collection[str]) -> list[str]:
    """The files that are not asked for, nor a folder above them."""
    return [file for file in files if not any(file == place or file.startswith(f"{place}/") for place in asked)]


def every_test_file() -> list[str]:
    """All that pytest would take for tests, below `tests/`."""
    return sorted(path.relative_to(ROOT).as_posix() for path in (ROOT / "tests").rglob("test_*.py"))


def test_every_test_is_run_by_bare_pytest_or_by_a_step_of_ci() -> None:
    """A new folder that neither names is told here."""
    script = SCRIPT.read_text("utf-8")
    assert left_out(every_test_file(), asked_by_default() | asked_by_name(script)) == []
    assert "tests/plugin_sample" in asked_by_name(script)


def test_what_bare_pytest_runs_is_what_the_readme_says() -> None:
    """Its second command names no folder, and CI runs that command as it stands there."""
    (_, command) = re.findall(r"^```sh\n(.*?)^```$", (ROOT / "README.md").read_text("utf-8"), re.S | re.M)[:2]
    assert command.endswith("/python -m pytest\n")
    assert 'sh "$work/second.sh"' in SCRIPT.read_text("utf-8")


def test_what_bare_pytest_leaves_out_by_its_mark_is_a_step_of_ci() -> None:
    """And no test bears that mark in a folder that this step, which names none, does not collect."""
    assert "-m 'not further'" in (ROOT / "pyproject.toml").read_text("utf-8")
    assert re.search(r"-m pytest -q -m further\)$", SCRIPT.read_text("utf-8"), re.M)
    marked = re.compile(r"\ba_few\(|\bmark\.further\b")
    files = [file for file in every_test_file() if marked.search((ROOT / file).read_text("utf-8"))]
    assert len(files) > 3
    assert left_out(files, {*asked_by_default(), "tests/contract/test_nothing_left_out.py"}) == []


@pytest.mark.parametrize(
    ("script", "asked"),
    [
        ('(cd "$work/other" && "$bin/python" -m pytest \\\n  tests/a tests/b_c.py)\n', ["tests/a", "tests/b_c.py"]),
        ('cd "$work/other/tests/d"\n"$bin/python" -m pytest -q\n', ["tests/d"]),
        ('"$bin/python" tests/e/run.py\n# "$bin/python" -m pytest tests/f\n', []),
    ],
    ids=["named", "stood in", "not asked"],
)
def test_what_a_script_asks_for_is_read_from_its_commands(script: str, asked: list[str]) -> None:
    """Over several lines, by the folder it stands in, and not from other commands or from comments."""
    assert sorted(asked_by_name(script)) == asked


def test_a_folder_that_nobody_names_is_told() -> None:
    """Names that only begin alike are other folders."""
    files = ["tests/a/test_x.py", "tests/ab/test_y.py", "tests/test_z.py"]
    assert left_out(files, {"tests/a", "tests/test_z.py"}) == ["tests/ab/test_y.py"]


@pytest.mark.parametrize("script", [SCRIPT, ROOT / ".ci" / "page", ROOT / ".ci" / "long"], ids=lambda path: path.name)
def test_what_a_script_names_is_there(script: Path) -> None:
    """A file that was moved is not asked for at its old place; and the shell understands the script."""
    assert [place for place in asked_by_name(script.read_text("utf-8")) if not (ROOT / place).exists()] == []
    assert subprocess.run(["bash", "-n", script], check=False).returncode == 0
