"""Instructions that the processor is given, counted by cachegrind: unlike seconds they repeat on a busy machine.

What is counted is the package as a wheel lays it out, beside the wheels that it stands on and no others. Figures are
recorded by interpreter and wheels; where these are the same, a count is to stay within 2 % of its record.

    python tests/trust/instructions.py             count, and compare
    python tests/trust/instructions.py --record    count, and record the figures of this interpreter and these wheels
"""

import argparse
import json
import os
import platform
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from importlib import metadata
from pathlib import Path
from typing import Final, NamedTuple

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from rig_maker import make_rig
from trust.table import Form, Row

ROOT: Final = Path(__file__).resolve().parents[2]
RECORD: Final = Path(__file__).with_name("instructions.json")
WITHIN: Final = 0.02
WHEELS: Final = ("click", "jsonschema-rs", "ruamel.yaml", "ruamel.yaml.clib", "wcwidth")
BARE: Final = "bare imports"
CASES: Final[Mapping[str, tuple[str, ...]]] = {
    BARE: ("-c", "import click, ruamel.yaml, jsonschema_rs"),
    "start-up": ("-m", "lineshaft", "check", "--no-cache", "ten.rig.yaml"),
    "clean check of 700 parts": ("-m", "lineshaft", "check", "--no-cache", "many.rig.yaml"),
    "check with repairs": ("-m", "lineshaft", "check", "--no-cache", "overloaded-step.rig.yaml"),
    "one repair": ("-m", "lineshaft", "repair", "overloaded-step.rig.yaml"),
}
"""By name, the arguments of the interpreter."""
MISSING: Final = "not counted: valgrind, which brings cachegrind, is not installed"

Counts = Mapping[str, int]


class Compared(NamedTuple):
    """A case, its count and the one on record, if there is one for this interpreter and these wheels."""

    case: str
    now: int
    recorded: int | None

    @property
    def holds(self) -> bool:
        """Whether it is within 2 % of its record, above or below; where there is none, nothing is asked."""
        return self.recorded is None or abs(self.now - self.recorded) <= WITHIN * self.recorded

    @property
    def words(self) -> str:
        """For example `469.1 M, +0.3 %`."""
        change = "no record" if self.recorded is None else f"{100 * (self.now / self.recorded - 1):+.2f} %"
        return f"{self.now / 1e6:.1f} M, {change}"


def there() -> bool:
    """Whether cachegrind is."""
    return shutil.which("valgrind") is not None


def environment() -> str:
    """The interpreter, how it was built, and the wheels, by version: what a count hangs on beside our code."""
    wheels = ", ".join(f"{name} {metadata.version(name)}" for name in WHEELS)
    python = f"{platform.python_implementation()} {platform.python_version()}"
    return f"{python} ({platform.python_compiler()}, {platform.machine()}); {wheels}"


def instructions(arguments: tuple[str, ...], folder: Path, env: Mapping[str, str]) -> int:
    """The instructions of one process. Raises RuntimeError where it cannot be counted."""
    counter = ("valgrind", "--tool=cachegrind", "--cache-sim=no", "--cachegrind-out-file=/dev/null")
    command = (*counter, sys.executable, "-S", *arguments)
    ran = subprocess.run(command, cwd=folder, env=dict(env), capture_output=True, text=True, check=False)
    found = re.search(r"I +refs: +([0-9,]+)", ran.stderr)
    if found is None:
        raise RuntimeError(f"cachegrind counted nothing: {ran.stderr[-300:]}")
    return int(found[1].replace(",", ""))


def laid_out(folder: Path) -> dict[str, str]:
    """Put the package, its wheels and the rigs into a folder; the environment in which they are found and compiled."""
    package = folder / "package"
    ignored = shutil.ignore_patterns("__pycache__")
    for name, inside in (("lint", ""), ("rules", "rules"), ("schema", "schema")):
        shutil.copytree(ROOT / name, package / "lineshaft" / inside, ignore=ignored, dirs_exist_ok=True)
    ours = metadata.distribution("lineshaft")
    info = package / f"lineshaft-{ours.version}.dist-info"
    info.mkdir()
    (info / "entry_points.txt").write_text(ours.read_text("entry_points.txt") or "", "utf-8")
    (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: lineshaft\nVersion: {ours.version}\n", "utf-8")
    for name in WHEELS:
        wheel = metadata.distribution(name)
        for top in sorted({file.parts[0] for file in wheel.files or ()} - {"..", "__pycache__"}):
            _linked(Path(str(wheel.locate_file(top))), package / top)
    for name, parts in (("ten", 10), ("many", 700)):
        made = make_rig(1, parts, catalogue=f"{name}.catalogue.yaml")
        (folder / f"{name}.rig.yaml").write_text(made.text, "utf-8")
        (folder / made.catalogue).write_text(made.catalogue_text, "utf-8")
    shutil.copytree(ROOT / "sample_rigs" / "catalogues", folder / "catalogues")
    shutil.copy(ROOT / "sample_rigs" / "overloaded-step.rig.yaml", folder)
    (folder / ".git").mkdir()  # ends the search for a root
    kept = {name: os.environ[name] for name in ("PATH", "LANG", "HOME") if name in os.environ}
    return {**kept, "PYTHONPATH": str(package), "PYTHONHASHSEED": "0", "PYTHONPYCACHEPREFIX": str(folder / "compiled")}


def _linked(source: Path, target: Path) -> None:
    """A link to what a wheel installed; of a namespace that several share, to each of its packages."""
    if target.is_dir() and not target.is_symlink():
        for inner in source.iterdir():
            if not (target / inner.name).exists():
                (target / inner.name).symlink_to(inner)
    elif source.is_dir() and not (source / "__init__.py").exists() and source.suffix != ".dist-info":
        target.mkdir()
        _linked(source, target)
    else:
        target.symlink_to(source)


def counted() -> Counts:
    """The count of each case."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch).resolve()
        env = laid_out(folder)
        found = {}
        for case, arguments in CASES.items():
            command = (sys.executable, "-S", *arguments)
            subprocess.run(command, cwd=folder, env=env, capture_output=True, check=False)  # compiles what it loads
            found[case] = instructions(arguments, folder, env)
        return found


def compared(now: Counts, records: Mapping[str, Counts], where: str) -> list[Compared]:
    """Each case beside its record of this interpreter and these wheels."""
    recorded = records.get(where, {})
    return [Compared(case, count, recorded.get(case)) for case, count in now.items()]


def recorded() -> dict[str, Counts]:
    """What is on record, by interpreter and wheels."""
    return dict(json.loads(RECORD.read_text("utf-8"))) if RECORD.exists() else {}


def rows(_: Form) -> Iterator[Row]:
    """The rows of the table of trust."""
    if not there():
        yield Row("instructions", "within 2 % of the record", MISSING, "", True)
        return
    for case in compared(counted(), recorded(), environment()):
        yield Row(f"instructions, {case.case}", "within 2 % of the record", case.words, "any", case.holds)


def main(arguments: list[str]) -> int:
    """Count, and compare or record; 1 where a count is not within 2 % of its record."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--record", action="store_true", help="record the figures")
    asked = parser.parse_args(arguments)
    if not there():
        sys.stdout.write(f"{MISSING}\n")
        return 0
    now, where = counted(), environment()
    sys.stdout.write(f"{where}\n")
    for case in (found := compared(now, recorded(), where)):
        times = f", {now[case.case] / now[BARE]:.2f} times its {BARE}" if case.case == "start-up" else ""
        sys.stdout.write(f"{case.case}: {case.words}{times}{'' if case.holds else ' (missed)'}\n")
    if asked.record:
        kept = {**recorded(), where: now}
        RECORD.write_text(json.dumps(dict(sorted(kept.items())), indent=1) + "\n", "utf-8")
        return 0
    return 0 if all(case.holds for case in found) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
