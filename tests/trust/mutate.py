"""A campaign: mutated rigs, catalogues, blueprints, policies and snag lists through every command.

No input may end in an unhandled error, a traceback, an exit code other than 0, 1 or 2, or JSON that does not fit its
schema, nor go over a bound of counted calls or of memory. An input is one seed; the same seed is the same input.

    python tests/trust/mutate.py --seeds 0..2000            these seeds
    python tests/trust/mutate.py --minutes 30 --record      go on behind the last recorded seed, and record
    python tests/trust/mutate.py --seed 123 --keep DIR      one input; its files stay in DIR
"""

import argparse
import json
import sys
import tempfile
import time
from pathlib import Path

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from trust.trial import Trouble, bound_memory, try_seed

RECORD = Path(__file__).with_name("campaign.json")


def main(arguments: list[str]) -> int:
    """Run the campaign; 0 where nothing went wrong."""
    asked = _parser().parse_args(arguments)
    done = _recorded(asked.file)
    first, last = _range(asked, done)
    bound_memory()
    with tempfile.TemporaryDirectory() as scratch:
        place = Path(asked.keep or scratch)
        end = time.monotonic() + asked.minutes * 60 if asked.minutes else None
        seed, found = first, list[Trouble]()
        while seed < last and (end is None or time.monotonic() < end):
            found += _tried(seed, place / "works", seed % asked.count == 0)
            seed += 1
            if asked.record and (seed - first) % 500 == 0:
                _record(asked.file, done, first, seed)
    if asked.record:
        _record(asked.file, done, first, seed)
    sys.stdout.write(f"{seed - first:,} inputs, seeds {first}..{seed}: {len(found)} unhandled\n")
    return 1 if found else 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", metavar="FROM..TO", help="TO is not among them")
    parser.add_argument("--seed", type=int, help="one input")
    parser.add_argument("--minutes", type=float, help="stop after so long")
    parser.add_argument("--record", action="store_true", help="write into the record how far it came")
    parser.add_argument("--file", type=Path, default=RECORD, help="the record")
    parser.add_argument("--keep", metavar="DIR", help="where the files of the last input stay")
    parser.add_argument("--count", type=int, default=10, help="count the calls of every Nth input")
    return parser


def _range(asked: argparse.Namespace, done: list[list[int]]) -> tuple[int, int]:
    if asked.seed is not None:
        return asked.seed, asked.seed + 1
    if asked.seeds:
        first, last = asked.seeds.split("..")
        return int(first), int(last)
    return max((span[1] for span in done), default=0), sys.maxsize


def _tried(seed: int, folder: Path, counted: bool) -> list[Trouble]:
    found = try_seed(seed, folder, count_calls=counted)
    for trouble in found:
        sys.stdout.write(f"seed {trouble.seed}: {' '.join(trouble.arguments)}\n  {trouble.what}\n{trouble.trace}")
        sys.stdout.flush()
    return found


def _recorded(file: Path) -> list[list[int]]:
    spans: list[list[int]] = json.loads(file.read_text("utf-8"))["seeds"] if file.is_file() else []
    return spans


def _record(file: Path, done: list[list[int]], first: int, last: int) -> None:
    """The spans of seeds run so far, joined, and how many inputs that is."""
    joined: list[list[int]] = []
    for low, high in sorted([*done, [first, last]]):
        if joined and low <= joined[-1][1]:
            joined[-1][1] = max(joined[-1][1], high)
        else:
            joined.append([low, high])
    inputs = sum(high - low for low, high in joined)
    file.write_text(json.dumps({"inputs": inputs, "seeds": joined}) + "\n", encoding="utf-8")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
