"""Every branch of solver, engine, rules, repairs and schema is taken by a test, or says beside it why none takes it.

    python tests/trust/coverage_gate.py                   all of it; 1 where a branch is not taken
    python tests/trust/coverage_gate.py --tests solve     by these tests alone

An exception is a comment with its reason: `# pragma: no cover - ...` for lines, `# pragma: no branch - ...` for a
branch that is never taken.
"""

import argparse
import json
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from trust.table import Form, Row

ROOT = Path(__file__).resolve().parents[2]
PLACES = ("lint/solve", "lint/check", "rules", "lint/repair", "schema")
TESTS = (
    *("schema", "solve", "check", "reference", "repair", "commands", "hostile", "run", "starters", "audit"),
    *("changes", "properties", "design", "windows", "report_model", "write", "language_server"),
    *("test_api.py", "installation"),
)
_LEFT_OUT = (
    *("installation/test_packaging.py", "installation/test_without_compiled_extras.py", "properties/test_growth.py"),
    *("language_server/test_code_server.py", "language_server/test_real_clients.py"),
)
"""Tests that take long under measurement and take no branch that others do not."""
_SETTINGS = """\
[run]
branch = true
parallel = true
patch = subprocess
sigterm = true
data_file = {data}
include =
    {places}
[report]
exclude_also =
    if TYPE_CHECKING:
    def __repr__
    assert_never\\(
"""
_PRAGMA = re.compile(r"# pragma: no (?:cover|branch)(.*)")
_REASON = re.compile(r" - \S.{9,}")


class Taken(NamedTuple):
    """Of so many lines and branches so many are taken; ``missing`` are the others, as `rules/loose_end.py:48 -> 50`."""

    taken: int
    all: int
    missing: tuple[str, ...]


def taken_by(tests: Sequence[str]) -> Taken:
    """What tests take. Raises RuntimeError where one of them fails: what it would take is not known then."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        places = "\n    ".join(str(ROOT / place / "*") for place in PLACES)
        settings = folder / "settings"
        settings.write_text(_SETTINGS.format(places=places, data=folder / "data"), "utf-8")
        left_out = [f"--ignore=tests/{one}" for one in _LEFT_OUT]
        options = ("-q", "-n", "0", "-m", "", "-x", "-p", "no:cacheprovider", *left_out)
        ran = _coverage("run", settings, "-m", "pytest", *options, *(f"tests/{one}" for one in tests))
        if ran.returncode != 0:
            raise RuntimeError(f"the tests fail: {ran.stdout.strip()[-1500:]}")
        _coverage("combine", settings, "-q", str(folder))
        _coverage("json", settings, "-q", "-o", str(folder / "told.json"))
        return _read(json.loads((folder / "told.json").read_text("utf-8"))["files"])


def _coverage(name: str, settings: Path, *arguments: str) -> "subprocess.CompletedProcess[str]":
    command = [sys.executable, "-m", "coverage", name, f"--rcfile={settings}", *arguments]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)


def _read(files: dict[str, dict[str, object]]) -> Taken:
    taken = whole = 0
    missing: list[str] = []
    for path, said in sorted(files.items()):
        summary = said["summary"]
        assert isinstance(summary, dict)
        taken += summary["covered_lines"] + summary["covered_branches"]
        whole += summary["num_statements"] + summary["num_branches"]
        name = Path(ROOT, path).resolve().relative_to(ROOT).as_posix()
        lines, branches = said["missing_lines"], said["missing_branches"]
        assert isinstance(lines, list) and isinstance(branches, list)
        missing += [f"{name}:{line}" for line in lines]
        missing += [f"{name}:{a} -> {b if b > 0 else 'the end'}" for a, b in branches if not {a, b} & set(lines)]
    return Taken(taken, whole, tuple(missing))


def unreasoned() -> list[str]:
    """The exceptions without a reason beside them."""
    found = []
    for place in PLACES:
        for path in sorted((ROOT / place).rglob("*.py")):
            for number, line in enumerate(path.read_text("utf-8").splitlines(), 1):
                pragma = _PRAGMA.search(line)
                if pragma is not None and not _REASON.match(pragma[1]):
                    found.append(f"{path.relative_to(ROOT).as_posix()}:{number}")
    return found


def rows(form: Form) -> Iterator[Row]:
    """The row of the table, in the long form alone: it takes every test."""
    if form.long:
        found, bare = taken_by(TESTS), unreasoned()
        first = "".join(f"; the first: {place}" for place in (*found.missing, *bare)[:1])
        now = f"{found.taken:,} of {found.all:,}, {100 * found.taken / found.all:.2f}%{first}"
        figure = "lines and branches of solve, check, rules, repair, schema that tests take"
        yield Row(figure, "100%", now, "coverage_gate.py", not found.missing and not bare)


def main(arguments: list[str]) -> int:
    """Each line and branch that no test takes, and each exception without a reason."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--tests", action="append", metavar="NAME", help="of the folder `tests`; may be given again")
    asked = parser.parse_args(arguments)
    found, bare = taken_by(asked.tests or TESTS), unreasoned()
    sys.stdout.write("".join(f"{place} is not taken\n" for place in found.missing))
    sys.stdout.write("".join(f"{place} has no reason beside it\n" for place in bare))
    sys.stdout.write(f"{found.taken:,} of {found.all:,} lines and branches, {100 * found.taken / found.all:.2f}%\n")
    return 1 if found.missing or bare else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
