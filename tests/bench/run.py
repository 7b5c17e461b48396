"""Benchmarks: `python tests/bench/run.py [NAME…] [--rounds N]`. Each prints one line; nothing is asserted.

Every number compares whole processes that took turns in this one run, so it holds on any machine. Needs the
`test` extra (PyYAML, check-jsonschema, yamllint, distributed) and a system with `wait4`.
"""

import argparse
import subprocess
import sys
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from fleet import Fleet
from processes import Pair, run, take_turns

_HERE = Path(__file__).resolve()
_SCHEMA = _HERE.parents[2] / "schema" / "rig.schema.json"
_LARGE = 100_000_000  # bytes; more than the rig of 100,000 parts has


@dataclass(frozen=True, slots=True)
class Yard:
    """A folder with the generated rigs, how often to run, and options that keep a check from remembering."""

    folder: Path
    rounds: int
    options: tuple[str, ...]
    rigs: int

    @property
    def fleet(self) -> Fleet:
        """Many rigs of 30 parts; the runs of one are long, so there are fewer of them."""
        return Fleet(self.folder, self.rigs)

    def rig(self, parts: int) -> str:
        """The file of a clean rig with so many parts; made by another process when it is first asked for."""
        name = f"parts-{parts}.rig.yaml"
        if not (self.folder / name).exists():
            subprocess.run([sys.executable, str(_HERE), "--make", str(parts), str(self.folder)], check=True)
        return name

    def check(self, parts: int) -> list[str]:
        """The command that checks a rig of so many parts."""
        size = ["--max-bytes", str(_LARGE)] if parts > 20_000 else []
        return [sys.executable, "-m", "lineshaft", "check", *self.options, *size, self.rig(parts)]

    def against(self, other: list[str], parts: int, rounds: int | None = None) -> Pair:
        """A check and another command, in turn."""
        return take_turns(self.check(parts), other, self.folder, rounds or self.rounds)


def _times(pair: Pair) -> str:
    note = "" if pair.codes == {0} else f"; the check did not exit 0 but {sorted(pair.codes)}"
    return f"{pair.one:.3f} s against {pair.other:.3f} s{note}"


def _yaml(yard: Yard) -> str:
    load = f"import yaml; yaml.load(open({yard.rig(10_000)!r}), Loader=yaml.CSafeLoader)"
    pair = yard.against([sys.executable, "-c", load], 10_000)
    return f"{pair.ratio:.2f} (limit: at most 1, stretch 0.8; {_times(pair)})"


def _schema(yard: Yard) -> str:
    other = [sys.executable, "-m", "check_jsonschema", "--schemafile", str(_SCHEMA), yard.rig(10_000)]
    pair = yard.against(other, 10_000, min(3, yard.rounds))
    return f"{1 / pair.ratio:.2f} (limit: at least 2.5; {_times(pair)})"


def _lint(yard: Yard) -> str:
    other = [sys.executable, "-m", "yamllint", "-d", "relaxed", yard.rig(10_000)]
    pair = yard.against(other, 10_000, min(3, yard.rounds))
    return f"{1 / pair.ratio:.2f} (limit: at least 6; {_times(pair)})"


def _memory(yard: Yard) -> str:
    """Over the peak of a check of ten parts, which is the start-up and little else."""
    bare = median(run(yard.check(10), yard.folder).peak for _ in range(3))
    large = run(yard.check(100_000), yard.folder)
    note = "" if large.code == 0 else f"; the check did not exit 0 but {large.code}"
    each = (large.peak - bare) / 100_000 / 1024
    megabytes = f"{large.peak / 2**20:.0f} MiB over {bare / 2**20:.0f} MiB"
    return f"{each:.2f} KiB a part (limit: below 4; {megabytes}{note})"


def _growth(yard: Yard) -> str:
    other = [*yard.check(10_000)[:-1], "--max-bytes", str(_LARGE), yard.rig(10_000)]
    pair = yard.against(other, 100_000, min(3, yard.rounds))
    return f"{pair.ratio:.2f} (limit: at most 11; {_times(pair)})"


def _start(yard: Yard) -> str:
    other = [sys.executable, "-c", "import click, ruamel.yaml, jsonschema_rs"]
    pair = yard.against(other, 10, 3 * yard.rounds)
    return f"{pair.ratio:.2f} (limit: at most 2; {_times(pair)})"


def _commissioning(yard: Yard) -> str:
    """334 trains of wheel, stage and machine, each set, coupled and started by a step of its own."""
    sys.path.insert(0, str(_HERE.parent))
    from long_list import CATALOGUE, long_list

    (yard.folder / "long.catalogue.yaml").write_text(CATALOGUE, encoding="utf-8")
    (yard.folder / "long.rig.yaml").write_text(long_list(334), encoding="utf-8")
    (yard.folder / "short.rig.yaml").write_text(long_list(1), encoding="utf-8")
    check = [sys.executable, "-m", "lineshaft", "check", *yard.options]
    pair = take_turns([*check, "long.rig.yaml"], [*check, "short.rig.yaml"], yard.folder, yard.rounds)
    return f"{pair.ratio:.1f} (limit: 5 s; {_times(pair)})"


def _repairs(yard: Yard) -> str:
    """Each kind of fault alone in a rig of 1,000 parts, of many lines and of one."""
    subprocess.run([sys.executable, str(_HERE), "--break", "1000", str(yard.folder)], check=True)
    shown = []
    for path in sorted(yard.folder.glob("broken-*.rig.yaml")):
        check = [sys.executable, "-m", "lineshaft", "check", *yard.options, path.name]
        pair = take_turns(check, [*check, "--no-repairs"], yard.folder, yard.rounds)
        kind = path.name.removeprefix("broken-").removesuffix(".rig.yaml")
        shown.append(f"{kind} {1000 * pair.busier:.0f} ms more, {pair.ratio:.1f} times")
    return f"{'; '.join(shown)} (limit: 1,000 ms of processor time more)"


def _jobs(yard: Yard) -> str:
    return yard.fleet.jobs(min(3, yard.rounds))


def _cache(yard: Yard) -> str:
    return yard.fleet.remembered(min(3, yard.rounds))


def _dask(yard: Yard) -> str:
    return yard.fleet.cluster(min(3, yard.rounds))


def _audits(yard: Yard) -> str:
    """200 rigs of 40 parts with 13 places read, one deviation and two; and a rig of 200 parts with 60 and two."""
    script = [sys.executable, str(_HERE.with_name("audits.py"))]
    rigs = str(min(200, 40 * yard.rounds))

    def named(count: str) -> str:
        found = subprocess.run([*script, "share", count, rigs], check=True, capture_output=True, text=True)
        return found.stdout.strip()

    subprocess.run([*script, "make", str(yard.folder)], check=True)
    command = [sys.executable, "-m", "lineshaft", "audit", "audit-200.rig.yaml"]
    seconds = median(run(command, yard.folder).seconds for _ in range(min(3, yard.rounds)))
    one, two = named("1"), named("2")
    return f"one deviation {one} (limit: 95 %); two {two} (limit: 85 %); 200 parts {seconds:.2f} s (limit: 5 s)"


def _report(yard: Yard) -> str:
    """500 rigs of 30 parts in one report, opened in the system's chromium."""
    from report_opening import opened

    return opened(Fleet(yard.folder, 500).root, yard.folder / "report.html", yard.rounds)


BENCHES: Mapping[str, tuple[str, Callable[[Yard], str]]] = {
    "start": ("start-up, ten parts, as many times as its bare imports", _start),
    "yaml": ("check of 10,000 parts, as many times as PyYAML's C loader", _yaml),
    "schema": ("check of 10,000 parts, as many times as fast as check-jsonschema", _schema),
    "lint": ("check of 10,000 parts, as many times as fast as yamllint", _lint),
    "commissioning": ("1,002 parts and 1,002 steps judged, as many times as 3 and 3", _commissioning),
    "repairs": ("one fault in 1,000 parts, check with repairs against one without", _repairs),
    "audit": ("the deviations put in stand first, or are tied with the first by all that was read", _audits),
    "growth": ("100,000 parts, as many times as 10,000", _growth),
    "jobs": ("a fleet of rigs, one process as many times as two", _jobs),
    "cache": ("a fleet of rigs, a first run as many times as a second", _cache),
    "dask": ("a fleet of rigs, one process as many times as a Dask cluster of two", _dask),
    "report": ("the report on 500 rigs, opened in a browser", _report),
    "memory": ("peak memory at 100,000 parts", _memory),
}
"""By name: what the line says, and the benchmark."""


def _make(parts: int, folder: Path) -> None:
    """Write a clean rig and its catalogue; a process of its own, so that its memory is not the runner's."""
    sys.path.insert(0, str(_HERE.parents[1]))
    from rig_maker import make_rig  # on the path only from here on

    made = make_rig(1, parts, catalogue=f"parts-{parts}.catalogue.yaml")
    (folder / f"parts-{parts}.rig.yaml").write_text(made.text, encoding="utf-8")
    (folder / made.catalogue).write_text(made.catalogue_text, encoding="utf-8")


def _break(parts: int, folder: Path) -> None:
    """Write a rig for each kind of fault, and one whose parts all hang on one prime mover."""
    sys.path[:0] = [str(_HERE.parents[1]), str(_HERE.parent)]
    from one_line import CATALOGUE, one_line
    from rig_maker import make_rig
    from rig_maker.setbacks import SETBACKS

    made = make_rig(3, parts, catalogue="broken.catalogue.yaml")
    (folder / made.catalogue).write_text(made.catalogue_text, encoding="utf-8")
    for kind, texts in SETBACKS.items():
        for text in texts(made, 1):
            (folder / f"broken-{kind}.rig.yaml").write_text(text, encoding="utf-8")
            break
    (folder / "one-line.catalogue.yaml").write_text(CATALOGUE, encoding="utf-8")
    (folder / "broken-one-line.rig.yaml").write_text(one_line(parts), encoding="utf-8")


def _forgetful() -> tuple[str, ...]:
    """`--no-cache`, where there is such an option: a remembered result is not a measured one."""
    command = [sys.executable, "-m", "lineshaft", "check", "--help"]
    shown = subprocess.run(command, capture_output=True, text=True, check=False).stdout
    return ("--no-cache",) if "--no-cache" in shown else ()


def main() -> None:
    """Run the benchmarks that are named, or all."""
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("names", nargs="*", metavar="NAME", help=f"which to run: {', '.join(BENCHES)}")
    reader.add_argument("--rounds", type=int, default=5, help="runs of each side; the median counts")
    reader.add_argument("--rigs", type=int, default=10_000, help="how many rigs of 30 parts are in a fleet")
    reader.add_argument("--make", nargs=2, metavar=("PARTS", "FOLDER"), help="only write a generated rig")
    reader.add_argument("--break", dest="broken", nargs=2, metavar=("PARTS", "FOLDER"), help="only write broken rigs")
    asked = reader.parse_args()
    if asked.broken:
        _break(int(asked.broken[0]), Path(asked.broken[1]))
        return
    if asked.make:
        _make(int(asked.make[0]), Path(asked.make[1]))
        return
    unknown = sorted(set(asked.names) - set(BENCHES))
    if unknown:
        reader.error(f"there is no benchmark {', '.join(unknown)}; there are {', '.join(BENCHES)}")
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / ".git").mkdir()  # ends the search for a root
        yard = Yard(Path(folder), max(1, asked.rounds), _forgetful(), asked.rigs)
        for name in asked.names or BENCHES:
            title, bench = BENCHES[name]
            sys.stdout.write(f"{title}: {bench(yard)}\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
