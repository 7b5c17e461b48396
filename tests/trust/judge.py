"""The independent judge: what the program says of seeded rigs against code that shares nothing with it.

Each check has one seed an input, says what was asked of it, and why it failed where it did. ``python
tests/trust/judge.py repairs 0 500`` runs one check over a range and prints every difference.
"""

import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from independent.linear_solver import solve as solved_by_matrix
from independent.placed_by_force import placed_rig
from independent.port_comparison import disagreements
from independent.rig_by_force import catalogue_text, faults, little_rig, rig_text
from rig_maker import make_rig
from trust import (
    lines_by_force,
    rigs_by_force,
    shown_repairs,
    sizes_and_repairs,
    start_ups_by_state,
    uses_by_force,
    wishes_by_force,
)
from trust.fixed_rigs import FixedRig, whole_and_cut
from trust.table import Form, Row
from trust.verdicts import Word, verdict

from lineshaft.check.rulebook import open_rulebook
from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository
from lineshaft.solve.solved_rig import SolvedRig, solve_loaded

BOOK = open_rulebook()
NOT_ASKED = "not asked"
MODELLED = ("torque-over-limit", "speed-over-limit", "machine-underdriven", "combiner-mismatch")
_FOLDER = Path(Path.cwd().anchor, "lineshaft.judge")  # no such folder: all files are given


class Check(NamedTuple):
    """A claim that is tried on one seed at a time: what came of it, and why it failed where it did.

    ``short`` and ``long`` are how many seeds are asked.
    """

    claim: str
    tried: Callable[[int], tuple[str, str]]
    short: int
    long: int


def given(files: Mapping[str, str], rig: str) -> SolvedRig:
    """A rig solved from texts alone. Raises ValueError where one of them has a fault."""
    texts = {_FOLDER / name: text.encode("utf-8") for name, text in files.items()}
    loaded = Loader(Repository(_FOLDER, _FOLDER).with_texts(texts)).rig(_FOLDER / rig)
    if loaded.faults:
        raise ValueError(loaded.faults[0].message)
    return solve_loaded(loaded)


def ports(seed: int) -> tuple[str, str]:
    """Torque and speed at every inlet and outlet, against one system of linear equations."""
    made = make_rig(seed, 5 + seed % 40)
    rig = given({"made.rig.yaml": made.text, made.catalogue: made.catalogue_text}, "made.rig.yaml")
    found = disagreements(rig, solved_by_matrix(made.plan))
    return "alike", "; ".join(found[:3])


def limits(seed: int) -> tuple[str, str]:
    """Which parts are over a limit, starved or locked, against hand-written arithmetic over a table of parts."""
    little = little_rig(seed)
    with tempfile.TemporaryDirectory() as name:
        context = rigs_by_force.opened(Path(name).resolve(), rig_text(little), catalogue_text(little))
    said = {(finding.rule, finding.part) for finding in context.findings if finding.rule in MODELLED}
    differs = said.symmetric_difference(faults(little))
    return "broken" if said else "sound", ", ".join(f"{rule} at {part}" for rule, part in sorted(differs))


def start_ups(seed: int) -> tuple[str, str]:
    """Every state of a start-up list, and what is wrong with the list, against each state built anew."""
    return start_ups_by_state.compared(seed, given)


def lines(seed: int) -> tuple[str, str]:
    """The cheapest lines, and those that nothing beats, against all that can be put together."""
    try:
        return lines_by_force.compared(seed), ""
    except AssertionError as error:
        return "differs", str(error)[:300]


def repairs(seed: int) -> tuple[str, str]:
    """The first repair of each fault, or that there is none, against every single edit of the rig."""
    with tempfile.TemporaryDirectory() as name:
        found = rigs_by_force.outcomes(Path(name).resolve(), little_rig(seed), two=False)
    told = [f"{outcome.fault} {outcome.what}: {outcome.why}" for outcome in found if outcome.why]
    return "faulty" if found else "sound", "; ".join(told)


def shown(seed: int) -> tuple[str, str]:
    """The repairs that a check shows of a rig with one mistake, written into its text and judged as any file is."""
    with tempfile.TemporaryDirectory() as name:
        return shown_repairs.compared(Path(name).resolve(), seed)


def sizes(seed: int) -> tuple[str, str]:
    """The cheapest line that `size` finds, against the cheapest repair of the same machine."""
    with tempfile.TemporaryDirectory() as name:
        return sizes_and_repairs.compared(Path(name).resolve(), seed)


def blueprints(seed: int) -> tuple[str, str]:
    """What is found in a rig and its values, against the same rig cut into blueprints: no rule is skipped in one."""
    said = []
    for rig in whole_and_cut(seed):
        words = verdict(rig, BOOK)
        said.append(Counter(_placed(rig, word) for word in words if word.part in rig.parts))
    whole, cut = said
    apart = [f"{rule} ({level}) at part {number}" for number, rule, level, _ in sorted((whole - cut) + (cut - whole))]
    return "broken" if whole else "sound", "; ".join(apart)


def uses(seed: int) -> tuple[str, str]:
    """Repairs and sizes of what stands in a placed blueprint, against every edit of the rig's own file."""
    placed = placed_rig(seed)
    if placed is None:
        return NOT_ASKED, ""
    with tempfile.TemporaryDirectory() as name:
        found = uses_by_force.outcomes(Path(name).resolve(), placed, two=False)
    told = [f"{outcome.fault} {outcome.what}: {outcome.why}" for outcome in found if outcome.why]
    return "faulty" if found else "sound", "; ".join(told)


def wishes(seed: int) -> tuple[str, str]:
    """The designs that a wish has, the cheapest first, or that there is none, against all that can be put together."""
    with tempfile.TemporaryDirectory() as name:
        try:
            return " ".join(wishes_by_force.compared(seed, Path(name).resolve(), BOOK)), ""
        except AssertionError as error:
            return "differs", str(error)[:300]


def _placed(rig: FixedRig, word: Word) -> tuple[int, str, str, str]:
    """A finding by its part's place. Of several parts that break in one state the first in the file is told, and a cut
    puts others first: then neither part nor values say anything."""
    if word.rule == "commissioning-overload":
        return -1, word.rule, word.level, ""
    return rig.parts.index(word.part), word.rule, word.level, word.values


CHECKS: Mapping[str, Check] = {
    "ports": Check("torque and speed of a rig by linear equations", ports, 200, 12_000),
    "limits": Check("parts over a limit, starved, locked, by hand arithmetic", limits, 100, 6_000),
    "start_ups": Check("states and faults of a start-up list by each state anew", start_ups, 60, 6_000),
    "blueprints": Check("findings of a rig and of the same rig cut into blueprints", blueprints, 60, 3_000),
    "lines": Check("cheapest lines by trying all", lines, 60, 3_000),
    "repairs": Check("cheapest repairs, and that nothing mends, by every edit", repairs, 8, 1_000),
    "shown": Check("repairs that a check shows, made in the text", shown, 60, 3_000),
    "uses": Check("repairs and sizes in a placed blueprint, by every edit of the rig", uses, 12, 900),
    "wishes": Check("designs of a wish by trying all", wishes, 6, 200),
    "sizes": Check("a machine sized and the same machine repaired", sizes, 60, 6_800),
}


def rows(form: Form) -> Iterator[Row]:
    """A row for each check: how many were asked, how many differ."""
    for name, check in CHECKS.items():
        count = form.of(check.short, check.long)
        asked, wrong = judged(check, range(form.first, form.first + count))
        first = "" if not wrong else f"; the first: {name} {wrong[0]}"
        yield Row(check.claim, "0 differ", f"{len(wrong)} of {asked:,} differ{first}", _span(form, count), not wrong)


def _span(form: Form, count: int) -> str:
    return f"{form.first}..{form.first + count}"


def judged(check: Check, seeds: range) -> tuple[int, list[int]]:
    """How many of the seeds could be asked, and those that failed."""
    kinds: Counter[str] = Counter()
    wrong = []
    for seed in seeds:
        what, why = check.tried(seed)
        kinds[what] += 1
        if why:
            wrong.append(seed)
    return kinds.total() - kinds[NOT_ASKED], wrong


def main(arguments: list[str]) -> int:
    """One check over a range of seeds, each difference told."""
    name, first, last = arguments[0], int(arguments[1]), int(arguments[2])
    kinds: Counter[str] = Counter()
    wrong = 0
    for seed in range(first, last):
        what, why = CHECKS[name].tried(seed)
        kinds[what] += 1
        if why:
            wrong += 1
            sys.stdout.write(f"seed {seed}: {why}\n")
    sys.stdout.write(", ".join(f"{number} {what}" for what, number in sorted(kinds.items())) + f": {wrong} differ\n")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
