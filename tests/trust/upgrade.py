"""What a change does to the verdicts of 5,000 fixed rigs, against the record of the last version.

    python tests/trust/upgrade.py                       all of them; 1 where a verdict is another
    python tests/trust/upgrade.py --seeds 0..300        these
    python tests/trust/upgrade.py --record              write the record of this version
    python tests/trust/upgrade.py --show 41 --keep DIR  the files of one rig, to look at

Each rule that finds more, less or other values is told with the smallest rig that shows it. Where that is meant, record
it in the same commit, so that who reads the commit sees what it does.
"""

import argparse
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from trust.fixed_rigs import FixedRig, fixed_rig
from trust.table import Form, Row
from trust.verdict_record import BLOCK, Record, inputs_digest, read_record, recorded
from trust.verdicts import Word, verdict

from lineshaft import __version__
from lineshaft.check.rulebook import Rulebook, open_rulebook

SEEDS = 5000
_FOLDER = Path(__file__).parent / "verdicts"


class Change(NamedTuple):
    """What is otherwise with one finding of one rig: gained, lost, or it has another level or other values."""

    what: str
    rule: str
    level: str
    part: str
    seed: int
    size: int

    def __str__(self) -> str:
        return f"seed {self.seed}: {self.what} {self.rule} ({self.level}) at {self.part or 'the file'}"


def changes(before: Sequence[Word], now: Sequence[Word], seed: int, size: int) -> Iterator[Change]:
    """What differs between two verdicts on one rig, each finding told once."""
    lost, gained = Counter(before) - Counter(now), Counter(now) - Counter(before)
    for old in sorted(lost.elements()):
        same = [new for new in sorted(gained.elements()) if (new.part, new.rule) == (old.part, old.rule)]
        if not same:
            yield Change("lost", old.rule, old.level, old.part, seed, size)
            continue
        gained[same[0]] -= 1
        what = "other values in" if same[0].level == old.level else f"{old.level} became {same[0].level} in"
        yield Change(what, old.rule, same[0].level, old.part, seed, size)
    for new in sorted(gained.elements()):
        yield Change("gained", new.rule, new.level, new.part, seed, size)


def compared(record: Record, seeds: range, book: Rulebook) -> Iterator[Change]:
    """All changes over some seeds. Raises ValueError where the rigs themselves are not those of the record."""
    for first in range(seeds.start - seeds.start % BLOCK, seeds.stop, BLOCK):
        block = range(first, first + BLOCK)
        rigs = [fixed_rig(seed) for seed in block]
        if inputs_digest(rigs) != record.inputs[first // BLOCK]:
            raise ValueError(f"the rigs {first} to {first + BLOCK} are not those of the record: the generator changed")
        for seed, rig in zip(block, rigs, strict=True):
            if seed in seeds:
                yield from changes(record.words(seed, rig), verdict(rig, book), seed, len(rig.parts))


def told(found: Sequence[Change]) -> str:
    """Each kind of change with how many there are and the smallest rig that shows it."""
    kinds: dict[tuple[str, str], list[Change]] = {}
    for change in found:
        kinds.setdefault((change.what, change.rule), []).append(change)
    lines = []
    for (what, rule), those in sorted(kinds.items()):
        least = min(those, key=lambda change: (change.size, change.seed))
        lines.append(f"{len(those):5} × {what} {rule}; smallest: {least} ({least.size} parts)")
    return "\n".join(lines)


def rows(form: Form) -> Iterator[Row]:
    """The row of the table."""
    seeds = range(form.of(300, SEEDS))
    found = list(compared(read_record(newest()), seeds, open_rulebook()))
    now = f"{len(found)} of {len(seeds):,} rigs otherwise" if found else f"none of {len(seeds):,} rigs is otherwise"
    yield Row("verdicts changed since the record", "0", now, f"0..{len(seeds)}", not found)


def newest() -> Path:
    """The record of the latest version that has one."""
    return max(_FOLDER.glob("*.txt"), key=lambda path: [int(number) for number in path.stem.split(".")])


def main(arguments: list[str]) -> int:
    """Compare, record or show."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", metavar="FROM..TO", default=f"0..{SEEDS}", help="TO is not among them")
    parser.add_argument("--record", action="store_true", help="write the record of this version")
    parser.add_argument("--show", type=int, metavar="SEED", help="write the files of one rig")
    parser.add_argument("--keep", type=Path, metavar="DIR", default=Path("fixed-rig"), help="where they are written")
    parser.add_argument("--all", action="store_true", help="tell every change, not one of a kind")
    asked = parser.parse_args(arguments)
    if asked.show is not None:
        return _shown(fixed_rig(asked.show), asked.keep)
    if asked.record:
        return _recorded(open_rulebook())
    first, last = map(int, asked.seeds.split(".."))
    found = list(compared(read_record(newest()), range(first, last), open_rulebook()))
    sys.stdout.write("".join(f"{change}\n" for change in found) if asked.all else f"{told(found)}\n" if found else "")
    sys.stdout.write(f"{last - first:,} rigs against {newest().stem}: {len(found)} findings are otherwise\n")
    return 1 if found else 0


def _recorded(book: Rulebook) -> int:
    rigs = [fixed_rig(seed) for seed in range(SEEDS)]
    inputs = [inputs_digest(rigs[first : first + BLOCK]) for first in range(0, SEEDS, BLOCK)]
    said = [(seed, rig, verdict(rig, book)) for seed, rig in enumerate(rigs)]
    rules = sorted({word.rule for _, _, words in said for word in words})
    _FOLDER.mkdir(exist_ok=True)
    (_FOLDER / f"{__version__}.txt").write_text(recorded(rules, inputs, said), "ascii")
    return 0


def _shown(rig: FixedRig, folder: Path) -> int:
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in rig.files.items():
        (folder / name).write_text(text, "utf-8")
    sys.stdout.write(f"lineshaft check {folder / rig.rig}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
