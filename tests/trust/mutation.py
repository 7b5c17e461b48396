"""Mutants of solver, rules, engine and audit against the tests that bear on them: how many are killed.

    python tests/trust/mutation.py --draw 600 --seed 7         so many by a seed, the score with its 95 % interval
    python tests/trust/mutation.py --range 0..2000 --record    these, in their fixed order, and record them
    python tests/trust/mutation.py --module lint/solve/surplus.py
    python tests/trust/mutation.py --list                      how many there are in each module

A mutant meets the quickest tests that run through its line, until one fails or `--seconds` of a processor are used up.
What outlives them is a survivor, unless `equivalent_mutants.txt` says why no test can tell it from the program.
"""

import argparse
import hashlib
import json
import sys
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from math import sqrt
from pathlib import Path
from typing import NamedTuple

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from trust.mutant_killer import Outcome, alone, outcomes
from trust.mutants import Mutant, all_mutants, identity, modules, source
from trust.table import Form, Row

RECORD = Path(__file__).with_name("mutation.json")
GOAL = 0.9
SEED = 7
_SHORT_PLACES = ("lint/solve/", "rules/")
_SHORT_TESTS = ("solve", "reference", "check")


class Score(NamedTuple):
    """How many were killed of those that a test could tell from the program, and the survivors."""

    killed: int
    survivors: tuple[Mutant, ...]
    others: Mapping[Outcome, int]

    @property
    def tried(self) -> int:
        return self.killed + len(self.survivors)


def interval(part: int, whole: int, z: float = 1.959964) -> tuple[float, float]:
    """The 95 % interval of a share by Wilson's score (J. Am. Stat. Assoc. 22, 1927, 209); of nothing 0 to 1."""
    if not whole:
        return 0.0, 1.0
    share, square = part / whole, z * z / whole
    middle = (share + square / 2) / (1 + square)
    half = z * sqrt(share * (1 - share) / whole + square / (4 * whole)) / (1 + square)
    return max(0.0, middle - half), min(1.0, middle + half)


def drawn(mutants: Sequence[Mutant], count: int, seed: int) -> list[Mutant]:
    """So many of them by a seed; a larger draw by the same seed holds the smaller one.

    Each has its place by a digest of its own, so that a change of one module leaves those drawn of the others.
    """

    def place(mutant: Mutant) -> bytes:
        return hashlib.sha256(f"{seed}/{mutant.module}/{mutant.operator}/{mutant.occurrence}".encode()).digest()

    return sorted(mutants, key=place)[:count]


def score_of(found: Mapping[Mutant, Outcome]) -> Score:
    """The score of what became of some mutants."""
    others = Counter(what for what in found.values() if what not in ("killed", "survived"))
    survivors = tuple(mutant for mutant, what in found.items() if what == "survived")
    return Score(sum(what == "killed" for what in found.values()), survivors, others)


def told(score: Score) -> str:
    """The score in words."""
    low, high = interval(score.killed, score.tried)
    share = score.killed / score.tried if score.tried else 0.0
    others = "".join(f", {number} {what}" for what, number in sorted(score.others.items()))
    return f"{score.killed} of {score.tried} killed, {share:.1%} (95 %: {low:.1%} to {high:.1%}){others}"


def rows(form: Form) -> Iterator[Row]:
    """The row of the table: a draw by the same seed each time.

    The short form's are of solver and rules, against the tests beside these alone: those it is done with in a minute.
    So few tell a score within some fifteen in a hundred, and what fails it is a score that cannot be the goal.
    """
    if form.long:
        score = score_of(outcomes(drawn(all_mutants(), 600, SEED), 6.0))
        held = score.killed >= GOAL * score.tried
        yield Row("mutants that a test kills", f"{GOAL:.0%}", told(score), f"--draw 600 --seed {SEED}", held)
    else:
        mutants = [mutant for mutant in all_mutants() if mutant.module.startswith(_SHORT_PLACES)]
        score = score_of(outcomes(drawn(mutants, 40, SEED), 6.0, _SHORT_TESTS))
        held = interval(score.killed, score.tried)[1] >= GOAL
        yield Row("mutants of solver and rules that their own tests kill", f"{GOAL:.0%}", told(score), f"{SEED}", held)


def main(arguments: list[str]) -> int:
    """Draw, range or module."""
    asked = _parser().parse_args(arguments)
    if asked.alone:
        return alone(Mutant(*json.loads(asked.alone)), asked.tests)
    mutants = all_mutants(asked.module or None)
    if asked.list:
        for module, number in sorted(Counter(mutant.module for mutant in mutants).items()):
            sys.stdout.write(f"{number:6} {module}\n")
        return 0
    if asked.range:
        first, last = map(int, asked.range.split(".."))
        mutants = mutants[first:last]
    if asked.draw:
        mutants = drawn(mutants, asked.draw, asked.seed)
    score = score_of(outcomes(mutants, asked.seconds))
    for mutant in score.survivors:
        sys.stdout.write(f"{mutant}\n  {identity(mutant)}\n")
    sys.stdout.write(told(score) + "\n")
    if asked.record and asked.range:
        _record(asked.file, first, last, score)
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--draw", type=int, metavar="N", help="so many, by the seed")
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--range", metavar="FROM..TO", help="TO is not among them")
    parser.add_argument("--module", action="append", metavar="FILE", help="the mutants of a module; may be given again")
    parser.add_argument("--list", action="store_true", help="how many there are")
    parser.add_argument("--record", action="store_true", help="write the outcome of a range into the record")
    parser.add_argument("--file", type=Path, default=RECORD, help="the record")
    parser.add_argument("--seconds", type=float, default=6.0, help="what the tests of one mutant may take")
    parser.add_argument("--alone", help=argparse.SUPPRESS)
    parser.add_argument("tests", nargs="*", help=argparse.SUPPRESS)
    return parser


def _record(file: Path, first: int, last: int, score: Score) -> None:
    """A range in the record, which is of one state of the modules: of another one it begins anew."""
    state = hashlib.sha256("".join(source(module) for module in modules()).encode()).hexdigest()[:12]
    kept = json.loads(file.read_text("utf-8")) if file.is_file() else {}
    ranges = kept["ranges"] if kept.get("modules") == state else []
    survivors = [identity(mutant) for mutant in score.survivors]
    row = {"range": [first, last], "killed": score.killed, "tried": score.tried, "survivors": survivors}
    others = [other for other in ranges if other["range"] != [first, last]]
    ranges = sorted([*others, row], key=lambda each: each["range"])
    file.write_text(json.dumps({"modules": state, "ranges": ranges}, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
