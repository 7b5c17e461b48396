"""The repairs of little rigs against every single edit, and pairs: ``python tests/trust/rigs_by_force.py 500 0 pairs``.

For each fault the first repair has to cost no more than the cheapest edit that mends it; where none is shown, no edit
may. What mends is found by an independent solver and bill, and confirmed by a check of the edited file.
"""

import resource
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from independent.rig_by_force import (
    SHAPES,
    Edit,
    LittleRig,
    catalogue_text,
    edits,
    faults,
    holds_itself,
    little_rig,
    pairs,
    rig_text,
    worth,
)
from independent.rig_by_force import mends as mends_by_force

from lineshaft.check.finding_diff import none_against
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.check.rulebook import Rulebook, open_rulebook
from lineshaft.repair.plan.fix_budget import offers
from lineshaft.repair.proof.context import RepairContext, open_repair_context
from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository

BOOK = open_rulebook()
MOST_CONFIRMED = 60
MOST_SECONDS = 270


class Outcome(NamedTuple):
    """What came of one fault: `none` where there is no repair, `cheapest`, `untrue`, `dearer`, `stopped`; and why."""

    fault: tuple[str, str]
    what: str
    why: str = ""


def opened(folder: Path, text: str, catalogue: str, book: Rulebook = BOOK) -> RepairContext:
    """A rig from text."""
    (folder / "little.catalogue.yaml").write_text(catalogue, encoding="utf-8")
    (folder / "little.rig.yaml").write_text(text, encoding="utf-8")
    loader = Loader(Repository(folder, folder))
    return open_repair_context(loader, loader.rig(folder / "little.rig.yaml"), book)


def outcomes(folder: Path, rig: LittleRig, two: bool) -> list[Outcome]:
    """Each fault of a rig; pairs of edits are tried too where ``two``."""
    before, base = faults(rig), worth(rig)
    context = opened(folder, rig_text(rig), catalogue_text(rig))
    known = {(f.rule, f.part) for f in context.findings}
    modelled = {(rule, part) for rule, part in known if rule in _RULES}
    assert modelled == set(before), (modelled, before)
    if not before:
        return []
    found = []
    made = [(worth(e.rig) - base, len(e.rig.parts) - len(rig.parts), e) for e in edits(rig)]
    if two:
        made += [(worth(e.rig) - base, len(e.rig.parts) - len(rig.parts), e) for e in pairs(rig)]
    tried = [(*row, faults(row[2].rig)) for row in sorted(made, key=lambda row: row[:2])]
    tried = [row for row in tried if holds_itself(row[2], rig, row[3])]
    for plan in offers(context, context.findings):
        fault = (plan.finding.rule, plan.finding.part or "")
        if fault not in before:
            continue
        least = plan.repairs[0].worth if plan.repairs else float("inf")
        candidates = [row for row in tried if row[0] < least - 1e-9 and mends_by_force(fault, before, row[3])]
        # Of two edits both are needed: what only saves elsewhere mends nothing.
        alone = {e.what for _, _, e, after in tried if ";" not in e.what and mends_by_force(fault, before, after)}
        candidates = [row for row in candidates if row[2].what in alone or not alone & set(row[2].what.split("; "))]
        better = next((row for row in candidates[:MOST_CONFIRMED] if confirmed(folder, row[2], context.findings)), None)
        said = plan.no_repair or ""
        if better is not None:
            bounded = "stopped at its bound" in said or "took the effort" in said
            what = "dearer" if plan.repairs else "stopped" if bounded else "untrue"
            shown = f"shown {plan.repairs[0].title!r} at {least}" if plan.repairs else said
            found.append(Outcome(fault, what, f"{better[2].what!r} at {better[0]}; {shown}"))
        else:
            found.append(Outcome(fault, "cheapest" if plan.repairs else "none"))
    return found


_RULES = ("torque-over-limit", "speed-over-limit", "machine-underdriven", "combiner-mismatch")


def confirmed(folder: Path, edit: Edit, before: tuple[JudgedFinding, ...]) -> bool:
    """Whether a check of the edited file finds nothing that was not there, or that is worse than it was.

    By the product's own word: other rules than those that are worked out here may have one.
    """
    return none_against(before, opened(folder, rig_text(edit.rig), catalogue_text(edit.rig)).findings)


def main() -> int:
    """Compare so many rigs from a seed on; with ``pairs`` pairs of edits too; ends after ``MOST_SECONDS``."""
    count, first = int(sys.argv[1]), int(sys.argv[2])
    two = "pairs" in sys.argv
    shapes: Counter[str] = Counter()
    kinds: Counter[str] = Counter()
    began, done = time.monotonic(), 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name).resolve()
        for seed in range(first, first + count):
            if time.monotonic() - began > MOST_SECONDS:
                break
            done += 1
            for outcome in outcomes(folder, little_rig(seed), two):
                kinds[outcome.what] += 1
                if outcome.why:
                    shape = SHAPES[seed % len(SHAPES)]
                    shapes[f"{shape} {outcome.what}"] += 1
                    print(seed, shape, *outcome.fault, outcome.what, outcome.why, flush=True)  # noqa: T201
    print(f"{done} rigs:", ", ".join(f"{n} {kind}" for kind, n in sorted(kinds.items())))  # noqa: T201
    print("; ".join(f"{n} {kind}" for kind, n in sorted(shapes.items())))  # noqa: T201
    print(f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")  # noqa: T201
    return 1 if kinds["untrue"] or kinds["dearer"] else 0


if __name__ == "__main__":
    sys.exit(main())
