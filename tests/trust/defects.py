"""Defects put in by hand, and drawn by a seed: which of the guards sees each.

    python tests/trust/defects.py              the three by hand, each against tests, judge and upgrade run
    python tests/trust/defects.py --draw 30    so many mutants: what the tests do not kill meets the other two

Each defect is put into a copy of the repository; nothing here is changed.
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from importlib import metadata
from pathlib import Path
from typing import NamedTuple

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from trust.mutant_killer import outcomes
from trust.mutants import ROOT, Mutant, all_mutants, mutated_source
from trust.mutation import drawn
from trust.table import Form, Row

_FOLDERS = ("lint", "rules", "schema", "tests", "sample_rigs")
_FINDER = """\
import sys
from importlib.util import spec_from_file_location
FOLDERS = {folders!r}
class Finder:
    @classmethod
    def find_spec(cls, name, path=None, target=None):
        folder = FOLDERS.get(name)
        if folder is None:
            return None
        return spec_from_file_location(name, folder + "/__init__.py", submodule_search_locations=[folder])
sys.meta_path.insert(0, Finder)
"""


class Defect(NamedTuple):
    """A change of one module: the text that is there once, and what takes its place."""

    name: str
    module: str
    old: str
    new: str
    tests: tuple[str, ...]


BY_HAND = (
    Defect(
        "a wrong sign in a lossy stage",
        "lint/solve/steady_state.py",
        "        torque *= item.efficiency\n",
        "        torque /= item.efficiency\n",
        ("tests/solve/test_steady_state.py", "tests/reference"),
    ),
    Defect(
        "a skipped rule in a blueprint",
        "lint/check/inspection.py",
        "        found = inside_blueprints(rig, found)\n",
        "        found = inside_blueprints(rig, [f for f in found if f.file == rig.file or f.rule != 'margin-thin'])\n",
        ("tests/check/test_uses.py", "tests/commands/test_with_blueprints.py", "tests/properties/test_blueprints.py"),
    ),
    Defect(
        "an off-by-one in batches",
        "lint/bill_of_materials.py",
        "            makings = -(-count // component.yields)",
        "            makings = count // component.yields + 1",
        ("tests/test_bill_of_materials.py", "tests/reference"),
    ),
)
GUARDS: Mapping[str, tuple[str, ...]] = {
    "judge": ("tests/trust/run.py", "--one", "judge"),
    "upgrade": ("tests/trust/upgrade.py", "--seeds", "0..120"),
}
"""What else than tests may see a defect: commands that end in another code than 0, or in a row that does not hold."""


def copied(folder: Path) -> None:
    """A copy of the repository's code with a folder beside through which Python finds it, and not us."""
    for name in _FOLDERS:
        shutil.copytree(ROOT / name, folder / "copy" / name, ignore=shutil.ignore_patterns("__pycache__", "verdicts-*"))
    shutil.copy(ROOT / "pyproject.toml", folder / "copy")
    site = folder / "site"
    site.mkdir()
    places = {"lineshaft": "lint", "lineshaft.rules": "rules", "lineshaft.schema": "schema"}
    folders = {name: str(folder / "copy" / place) for name, place in places.items()}
    folders["lineshaft.twins"] = str(folder / "copy" / "tests" / "rules")
    (site / "sitecustomize.py").write_text(_FINDER.format(folders=folders), "utf-8")
    described = Path(str(metadata.distribution("lineshaft").locate_file(""))).glob("lineshaft-*.dist-info")
    shutil.copytree(next(described), site / "lineshaft-0.dist-info")


def sees(folder: Path, command: Sequence[str]) -> bool:
    """Whether a guard ends otherwise than well in the copy."""
    paths = [str(folder / "site"), *filter(None, [os.environ.get("PYTHONPATH")])]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(paths), "PYTHONDONTWRITEBYTECODE": "1"}
    ran = subprocess.run(
        [sys.executable, *command], cwd=folder / "copy", env=environment, capture_output=True, text=True, check=False
    )
    return ran.returncode != 0 or any(line.endswith("false]") for line in ran.stdout.splitlines())


def seen_by(folder: Path, module: str, text: str, tests: Sequence[str]) -> list[str]:
    """The guards that see a module with another text."""
    target = folder / "copy" / module
    sound = target.read_text("utf-8")
    options = ("-m", "pytest", "-q", "-x", "-n", "0", "-p", "no:cacheprovider")
    guards = {"tests": (*options, *tests), **GUARDS} if tests else GUARDS
    try:
        target.write_text(text, "utf-8")
        return [name for name, command in guards.items() if sees(folder, command)]
    finally:
        target.write_text(sound, "utf-8")


def by_hand(folder: Path) -> Iterator[tuple[str, list[str]]]:
    """Each defect put in by hand, and who sees it. Raises RuntimeError where a guard sees one in the code as it is."""
    for name, command in GUARDS.items():
        if sees(folder, command):
            raise RuntimeError(f"{name} sees something where nothing was put in: run it by itself first")
    for defect in BY_HAND:
        text = (folder / "copy" / defect.module).read_text("utf-8")
        if text.count(defect.old) != 1:
            raise RuntimeError(f"{defect.name}: {defect.old.strip()!r} is not there once; the code has changed")
        yield defect.name, seen_by(folder, defect.module, text.replace(defect.old, defect.new), defect.tests)


def outlived(folder: Path, count: int, seed: int) -> tuple[list[Mutant], int]:
    """Of so many mutants those that no guard sees, and how many there were: what is no mutant is drawn again."""
    found = outcomes(drawn(all_mutants(), 2 * count, seed), 6.0)
    tried = [mutant for mutant in drawn(all_mutants(), 2 * count, seed) if found[mutant] in ("killed", "survived")]
    survivors = [mutant for mutant in tried[:count] if found[mutant] == "survived"]
    left = [one for one in survivors if not seen_by(folder, one.module, mutated_source(one), ())]
    return left, len(tried[:count])


def rows(form: Form) -> Iterator[Row]:
    """A row for each defect put in by hand, and one for those that are drawn."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        copied(folder)
        for what, guards in by_hand(folder):
            yield Row(what, "seen by 2", f"seen by {', '.join(guards) or 'none'}", "defects.py", len(guards) >= 2)
        if form.long:
            left, count = outlived(folder, 30, 3)
            now = f"{count - len(left)} of {count}"
            yield Row("defects drawn by a seed that a guard sees", "27 of 30", now, "--draw 30", len(left) <= 3)


def main(arguments: list[str]) -> int:
    """By hand, or drawn."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--draw", type=int, metavar="N", help="so many mutants, by the seed")
    parser.add_argument("--seed", type=int, default=3)
    asked = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as name:
        copied(Path(name))
        if asked.draw:
            left, count = outlived(Path(name), asked.draw, asked.seed)
            sys.stdout.write("".join(f"nobody sees {mutant}\n" for mutant in left))
            sys.stdout.write(f"{count - len(left)} of {count} are seen\n")
            return 1 if 10 * len(left) > count else 0
        few = 0
        for what, guards in by_hand(Path(name)):
            few += len(guards) < 2
            sys.stdout.write(f"{what}: {', '.join(guards) or 'nobody'}\n")
            sys.stdout.flush()
    return 1 if few else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
