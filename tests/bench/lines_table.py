"""What the engine of lines costs and finds, as one table: `python tests/bench/lines_table.py [--before PROGRAM]`.

Costs are processor time of whole processes that took turns in this one run; what is found is held against brute force
by code that shares nothing with the engine. With the numbers given here it takes some minutes.
"""

import argparse
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path
from statistics import median

from processes import run, take_turns

_HERE = Path(__file__).resolve()
_SAMPLES = _HERE.parents[2] / "sample_rigs"
_COMMAND = (sys.executable, "-m", "lineshaft")
_KINDS = ("over-torque", "over-speed", "short-machine")
_FAR = 12  # shafts below the one part that can mend them
_CATALOGUE = """catalogue: 1
edition: "1"
grades:
  pine: {torque-limit: 1500 N*m, speed-limit: 60 rad/s}
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  stage: {kind: gear-stage, ratios: [3], torque-limit: 5 kN*m, speed-limit: 90 rad/s}
  shaft: {kind: shaft, grades: [pine]}
  saw:   {kind: driven-machine, needs: {torque: 150 N*m, speed: 2 rad/s}}
"""


def _faulty(folder: Path, rigs: int) -> list[str]:
    """Rigs of about 30 parts with one fault each, the kinds in turn, and a catalogue for each; the rigs' files."""
    from rig_maker import make_rig
    from rig_maker.setbacks import SETBACKS

    names: list[str] = []
    seed = 0
    while len(names) < rigs:
        seed += 1
        made = make_rig(seed, 30, catalogue=f"faulty-{seed}.catalogue.yaml")
        text = next(SETBACKS[_KINDS[seed % len(_KINDS)]](made, seed), None)
        if text is not None:
            names.append(f"faulty-{seed}.rig.yaml")
            (folder / names[-1]).write_text(text, "utf-8")
            (folder / made.catalogue).write_text(made.catalogue_text, "utf-8")
    return names


def _far(folder: Path) -> str:
    """A line of shafts that all carry too much, of one grade: only the stage at its head can go or turn otherwise."""
    shafts = [f"  s{n}: {{item: shaft, grade: pine, driven-by: {f's{n - 1}' if n else 'step'}}}\n" for n in range(_FAR)]
    head = "rig: 1\ncatalogue: far.catalogue.yaml\nparts:\n  wheel: {item: wheel}\n"
    step = "  step: {item: stage, ratio: 3, set: reduce, driven-by: wheel}\n"
    (folder / "far.catalogue.yaml").write_text(_CATALOGUE, "utf-8")
    (folder / "far.rig.yaml").write_text(
        f"{head}{step}{''.join(shafts)}  saw: {{item: saw, driven-by: s{_FAR - 1}}}\n", "utf-8"
    )
    return "far.rig.yaml"


def _busy(command: Sequence[str], folder: Path, rounds: int) -> float:
    return median(run(command, folder).busy for _ in range(rounds))


def _costs(command: Sequence[str], folder: Path, names: Sequence[str], rounds: int) -> tuple[str, str, str]:
    """What repairs cost a program: of a sample, of faulty rigs, and of one fault in a large rig of the worst kind."""
    check = (*command, "check", "--no-cache")
    sample = "overloaded-step.rig.yaml"
    pair = take_turns((*command, "repair", sample), (*check, "--no-repairs", sample), _SAMPLES, rounds)
    times = _busy([*check, "--jobs", "1", *names], folder, 1) / _busy([*check, "--no-repairs", *names], folder, 1)
    worst = max(
        take_turns((*check, path.name), (*check, "--no-repairs", path.name), folder, rounds).busier
        for path in sorted(folder.glob("broken-*.rig.yaml"))
    )
    return f"{pair.busier:.2f} s", f"{times:.1f}", f"{worst:.2f} s"


def _table(folder: Path, asked: argparse.Namespace) -> Iterator[tuple[str, str, str]]:
    names = _faulty(folder, asked.rigs)
    subprocess.run([sys.executable, str(_HERE.with_name("run.py")), "--break", "1000", str(folder)], check=True)
    figures = [
        ("repair of a sample over its plain check", "0.1 s"),
        (f"check of {asked.rigs} faulty rigs, with repairs as many times as without", "5"),
        ("one fault in 1,000 parts, repairs over a plain check, the worst kind", "0.1 s"),
    ]
    now = _costs(_COMMAND, folder, names, asked.rounds)
    if asked.before is not None:
        before = _costs((str(asked.before),), folder, names, asked.rounds)
        now = tuple(f"{earlier} before, {later} now" for earlier, later in zip(before, now, strict=True))
    for (figure, goal), told in zip(figures, now, strict=True):
        yield figure, told, goal
    from trust.judge import CHECKS, judged

    for name, count in (("lines", asked.seeds), ("repairs", max(1, asked.seeds // 2))):
        tried, wrong = judged(CHECKS[name], range(count))
        yield CHECKS[name].claim, f"{len(wrong)} of {tried:,} differ", "0 differ"
    ran = subprocess.run((*_COMMAND, "repair", _far(folder)), cwd=folder, capture_output=True, text=True, check=False)
    found = any(words in ran.stdout for words in ("take step out", "set step to increase"))
    yield f"what mends {_FAR} shafts, at the stage above them all", "found" if found else "not found", "found"


def main() -> None:
    """Print the table."""
    reader = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    reader.add_argument("--rigs", type=int, default=500, help="faulty rigs")
    reader.add_argument("--seeds", type=int, default=2_000, help="lines tried by force; half as many rigs")
    reader.add_argument("--before", type=Path, metavar="PROGRAM", help="an earlier version, for its costs")
    reader.add_argument("--rounds", type=int, default=3, help="runs of each side; the median counts")
    asked = reader.parse_args()
    sys.path.insert(0, str(_HERE.parents[1]))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name).resolve()
        (folder / ".git").mkdir()  # ends the search for a root
        for figure, now, goal in _table(folder, asked):
            sys.stdout.write(f"{figure}: {now} (goal: {goal})\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
