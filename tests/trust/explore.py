"""Fuzzing led by coverage: atheris looks for bytes that take a target where no input has been.

    python tests/trust/explore.py rig --runs 20000             so many inputs, from the next seed on
    python tests/trust/explore.py rig --runs 20000 --record    and count them in the record
    python tests/trust/explore.py rig --seed 12 --runs 500     a run that is told again
    python tests/trust/explore.py rig --replay FILE            one input, such as a crash that was kept

It starts from the corpus in `corpora/` and from samples, twins and the files of the schema's tests. What it finds worth
keeping stays in `--keep`; a crash is written there and shown with its traceback. Without atheris the row of the table
replays the corpus and mutates it at random, by the same seeds each time.
"""

import argparse
import json
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from random import Random

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from trust.table import Form, Row

HERE = Path(__file__).parent
RECORD = HERE / "explored.json"
NAMES = ("text", "quantities", "ratios", "rig", "catalogue", "blueprint", "stock", "edits")
_ROOT = HERE.parents[1]
_LONGEST = 4096  # bytes of an input
_MEGABYTES = 2048
_SECONDS = 60  # of one input
_SIGNS = b"\0\t\r\n :{}[]&*!|>'\"%#-/.0159eE$aN\xc2\xff"


def corpus(target: str) -> list[Path]:
    """The inputs to begin with, the target's own ones first."""
    own = sorted((HERE / "corpora" / target).glob("*"))
    ending = "rig" if target == "text" else target
    folders = (_ROOT / "sample_rigs", _ROOT / "tests" / "rules", _ROOT / "tests" / "schema" / "corpus")
    others = (path for folder in folders for path in sorted(folder.rglob(f"*.{ending}.yaml")))
    return own + [path for path in others if path.stat().st_size <= _LONGEST]


def replayed(target: str, inputs: int, seed: int) -> list[tuple[bytes, str]]:
    """The corpus, and so many mutations of it by a seed: those that raised, and what."""
    run, rng = import_module("trust.targets").TARGETS[target], Random(f"{target}/{seed}")
    known = [path.read_bytes() for path in corpus(target)] or [b""]
    found = []
    for number in range(len(known) + inputs):
        raw = known[number] if number < len(known) else _mutated(rng.choice(known), rng)
        try:
            run(raw)
        except Exception as error:
            found.append((raw, f"{type(error).__name__}: {error}"))
    return found


def _mutated(raw: bytes, rng: Random) -> bytes:
    """Some bytes taken out, put in, changed or doubled."""
    changed = bytearray(raw)
    for _ in range(rng.choice((1, 1, 2, 5))):
        at = rng.randint(0, len(changed))
        way = rng.randrange(4)
        if way == 0:
            del changed[at : at + rng.choice((1, 1, 7, 60))]
        elif way == 1:
            changed[at:at] = bytes(rng.choice(_SIGNS) for _ in range(rng.randint(1, 3)))
        elif way == 2 and at < len(changed):
            changed[at] = rng.randrange(256)
        else:
            changed[at:at] = changed[max(0, at - rng.choice((1, 9, 80))) : at]
    return bytes(changed[:_LONGEST])


def explored(target: str, runs: int, seed: int, keep: Path) -> tuple[int, str]:
    """So many inputs by atheris in a process of its own: how many there were, and what it told of a crash."""
    for name in ("found", "seeds"):
        (keep / name).mkdir(parents=True, exist_ok=True)
    for number, path in enumerate(corpus(target)):
        (keep / "seeds" / str(number)).write_bytes(path.read_bytes())
    options = [f"-runs={runs}", f"-seed={seed + 1}", f"-max_len={_LONGEST}", f"-rss_limit_mb={_MEGABYTES}"]
    options += [f"-timeout={_SECONDS}", f"-artifact_prefix={keep}/", str(keep / "found"), str(keep / "seeds")]
    command = [sys.executable, __file__, target, "--child", *options]
    ran = subprocess.run(command, capture_output=True, text=True, errors="replace", check=False)
    done = re.findall(r"^#(\d+)\s|^Done (\d+) runs", ran.stderr, re.MULTILINE)
    count = max((int(a or b) for a, b in done), default=0)
    return count, "" if ran.returncode == 0 else ran.stderr[-3000:] or f"exit code {ran.returncode}"


def _child(target: str, options: list[str]) -> None:
    """Runs in a process of its own, which libFuzzer ends."""
    import atheris

    with atheris.instrument_imports(include=["lineshaft"]):
        targets = import_module("trust.targets").TARGETS
    atheris.Setup([sys.argv[0], *options], targets[target])
    atheris.Fuzz()


def recorded() -> dict[str, list[list[int]]]:
    """By target the seeds so far, each with how many inputs it made."""
    found: dict[str, list[list[int]]] = json.loads(RECORD.read_text("utf-8")) if RECORD.is_file() else {}
    return found


def inputs_so_far() -> int:
    """The inputs of all recorded runs."""
    return sum(count for runs in recorded().values() for _, count in runs)


def rows(form: Form) -> Iterator[Row]:
    """The row of the table: mutations by a seed everywhere, and atheris in the long form."""
    each = form.of(40, 600)
    wrong = [f"{name}: {what}" for name in NAMES for _, what in replayed(name, each, form.first)]
    first = f"; the first: {wrong[0]}" if wrong else ""
    now = f"{len(wrong)} of {len(NAMES) * each:,} and the corpora{first}"
    yield Row("bytes that a target does not stand", "0", now, f"{form.first}", not wrong)
    if form.long and find_spec("atheris") is not None:
        with tempfile.TemporaryDirectory() as name:
            done = [explored(target, 3000, form.first, Path(name, target)) for target in NAMES]
        crashes = [target for target, (_, told) in zip(NAMES, done, strict=True) if told]
        now = f"{len(crashes)} crashes in {sum(count for count, _ in done):,}{': ' * bool(crashes)}{', '.join(crashes)}"
        yield Row("inputs led by coverage that crash", "0", now, f"--seed {form.first}", not crashes)


def main(arguments: list[str]) -> int:
    """Explore one target, or replay one input."""
    if "--child" in arguments:
        _child(arguments[0], arguments[2:])
        return 0
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("target", choices=NAMES)
    parser.add_argument("--runs", type=int, default=10_000, help="how many inputs")
    parser.add_argument("--seed", type=int, help="by default the next one after the record")
    parser.add_argument("--keep", type=Path, metavar="DIR", help="where what is worth keeping stays")
    parser.add_argument("--record", action="store_true", help="count them in the record")
    parser.add_argument("--replay", type=Path, metavar="FILE", help="one input")
    asked = parser.parse_args(arguments)
    if asked.replay is not None:
        import_module("trust.targets").TARGETS[asked.target](asked.replay.read_bytes())
        return 0
    done = recorded()
    seed = asked.seed if asked.seed is not None else len(done.get(asked.target, []))
    with tempfile.TemporaryDirectory() as name:
        count, told = explored(asked.target, asked.runs, seed, asked.keep or Path(name))
    if told and asked.keep is None:
        told += "\nrun again with --keep DIR and this seed to have the input\n"
    sys.stdout.write(f"{told}{asked.target}, seed {seed}: {count:,} inputs{', a crash' if told else ''}\n")
    if asked.record and not told:
        done.setdefault(asked.target, []).append([seed, count])
        RECORD.write_text(json.dumps(dict(sorted(done.items()))) + "\n", "utf-8")
    return 1 if told else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
