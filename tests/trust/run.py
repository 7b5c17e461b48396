"""All that guards the guards, in one table: figure, goal, now, seed.

    python tests/trust/run.py                      the short form, as every change runs it
    python tests/trust/run.py --long               the long form, some 40 minutes on two cores
    python tests/trust/run.py --long --page FILE   and write the table into that page, with the day and the version
    python tests/trust/run.py --row judge          one of them; --first 20000 goes on behind that seed

The rows run side by side, each in a process of its own, at the lowest priority. Ends in 1 where a goal is missed.
"""

import argparse
import json
import os
import subprocess
import sys
import time
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from importlib import import_module
from pathlib import Path

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from trust.table import Form, Row, as_markdown

from lineshaft import __version__

MINUTES = {
    "mutation": (1.2, 20.0),
    "judge": (0.3, 9.0),
    "coverage_gate": (0.0, 8.0),
    "defects": (0.6, 4.0),
    "faults": (0.1, 4.0),
    "fuzzing": (0.1, 2.0),
    "explore": (0.1, 2.0),
    "upgrade": (0.1, 1.0),
    "instructions": (0.5, 0.5),
}
"""The modules that have rows, the longest first, so that the last ones to run are short; beside each the minutes that
its short and its long form take on one core that does nothing else."""
MODULES = tuple(MINUTES)


def main(arguments: list[str]) -> int:
    """Run the rows and print the table."""
    asked = _parser().parse_args(arguments)
    form = Form(asked.long, asked.first)
    if asked.one:
        return _one(asked.one, form)
    names = asked.row or MODULES
    sys.stderr.write(f"{expected(names, form, asked.jobs)}\n")
    began = time.monotonic()
    with ThreadPoolExecutor(asked.jobs) as pool:
        done = list(pool.map(lambda name: _timed(name, form), names))
    rows = [row for some, _ in done for row in some]
    missed = sum(not row.holds for row in rows)
    table = as_markdown(rows)
    minutes = (time.monotonic() - began) / 60
    each = ", ".join(f"{name} {took:.1f}" for name, (_, took) in zip(names, done, strict=True))
    sys.stdout.write(f"{table}\n{len(rows)} figures, {missed} goals missed, {minutes:.1f} min on {asked.jobs} cores\n")
    sys.stdout.write(f"minutes of each: {each}\n")
    if asked.page:
        asked.page.write_text(page(table, form, names, (minutes, asked.jobs)), "utf-8")
    return 1 if missed else 0


def expected(names: Sequence[str], form: Form, jobs: int) -> str:
    """How long it will take, of each and in all, where the cores have nothing else to do."""
    each = {name: MINUTES[name][form.long] for name in names}
    whole = max(sum(each.values()) / jobs, max(each.values()))
    told = ", ".join(f"{name} {minutes:g}" for name, minutes in each.items())
    return f"takes some {whole:.0f} min on {jobs} cores: {told}"


def _timed(name: str, form: Form) -> tuple[Sequence[Row], float]:
    """The rows of a module, and the minutes that they took."""
    began = time.monotonic()
    return _apart(name, form), (time.monotonic() - began) / 60


def page(table: str, form: Form, names: Sequence[str], took: tuple[float, int]) -> str:
    """The page that shows a run, with what gives it again; ``took`` is minutes and how many rows ran side by side."""
    day = datetime.now(UTC).date().isoformat()
    python = ".".join(map(str, sys.version_info[:3]))
    command = " ".join(["python tests/trust/run.py", *(["--long"] if form.long else [])])
    left = [name for name in MODULES if name not in names]
    out = f"Not in it: {', '.join(left)}.\n\n" if left else ""
    return (
        "# What was measured\n\n"
        f"This is the last run of `{command}`, {'the long form' if form.long else 'the short form'}. The seeds beside\n"
        "each figure give it again on any machine. A goal that is missed says so.\n\n"
        f"Version {__version__}, {day}, Python {python}, {took[0]:.0f} minutes, {took[1]} at once.\n\n"
        f"{out}{table}"
    )


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--long", action="store_true", help="the long form")
    parser.add_argument("--row", action="append", choices=MODULES, help="these rows alone; may be given again")
    parser.add_argument("--first", type=int, default=0, help="the first seed of what goes by seeds")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1, help="how many run side by side")
    parser.add_argument("--page", type=Path, metavar="FILE", help="write the table into this page too")
    parser.add_argument("--one", choices=MODULES, help=argparse.SUPPRESS)  # what a process of a row is asked
    return parser


def _one(name: str, form: Form) -> int:
    for row in import_module(f"trust.{name}").rows(form):
        sys.stdout.write(json.dumps(row) + "\n")
        sys.stdout.flush()
    return 0


def _apart(name: str, form: Form) -> Sequence[Row]:
    """The rows of a module, run in a process of its own; one that says so where it ended before its time."""
    command = [sys.executable, __file__, "--one", name, "--first", str(form.first), *(["--long"] if form.long else [])]
    ran = subprocess.run(command, capture_output=True, text=True, preexec_fn=lambda: os.nice(15), check=False)
    rows = [Row(*json.loads(line)) for line in ran.stdout.splitlines() if line.startswith("[")]
    if ran.returncode:
        last = (ran.stderr.strip().splitlines() or ["nothing said"])[-1][:200]
        rows.append(Row(f"the rows of {name}", "are run", f"ended with exit code {ran.returncode}: {last}", "", False))
    return rows


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
