"""Repairs and sizes of what stands in a placed blueprint against every edit of the rig's own file, by force.

``python tests/trust/uses_by_force.py 300 0 pairs``: so many rigs from a seed on; with ``pairs`` two edits together too.
"""

import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from itertools import chain
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from independent.placed_by_force import (
    PlacedRig,
    changes_only,
    cheapest,
    line_of_feed,
    own_edits,
    placed_faults,
    placed_rig,
    texts,
    whole_name,
)
from independent.rig_by_force import Fault, catalogue_text, edits, holds_itself, mends, pairs, worth
from trust.rigs_by_force import Outcome

from lineshaft.check.finding import Finding
from lineshaft.check.finding_diff import none_against
from lineshaft.check.rulebook import open_rulebook
from lineshaft.repair.plan.fix_budget import offers
from lineshaft.repair.proof.context import RepairContext, open_repair_context
from lineshaft.repair.size import line_for, size, wanted_by
from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository

BOOK = open_rulebook()
RULES = ("torque-over-limit", "speed-over-limit", "machine-underdriven", "combiner-mismatch", "inlet-promise-broken")
MOST_CONFIRMED = 40
MOST_SECONDS = 270


class Tried(NamedTuple):
    """An edit by force: what it adds in worth, the rig with it, what is wrong then."""

    worth: float
    what: str
    placed: PlacedRig
    after: dict[Fault, tuple[float, ...]]
    near: bool


def opened(folder: Path, placed: PlacedRig) -> RepairContext:
    """A rig with its blueprint, from text."""
    rig, leg = texts(placed)
    for name, text in {"rig": rig, "catalogue": catalogue_text(placed.rig)}.items():
        (folder / f"little.{name}.yaml").write_text(text, encoding="utf-8")
    (folder / "leg.blueprint.yaml").write_text(leg, encoding="utf-8")
    loader = Loader(Repository(folder, folder))
    return open_repair_context(loader, loader.rig(folder / "little.rig.yaml"), BOOK)


def tried_by_force(placed: PlacedRig, *, two: bool) -> list[Tried]:
    """Every edit of the rig's own file, cheapest first."""
    base, line = worth(placed.rig), line_of_feed(placed)
    made = chain(edits(placed.rig), pairs(placed.rig)) if two else edits(placed.rig)
    found = [
        Tried(worth(e.rig) - base, e.what, after, placed_faults(after), changes_only(line, placed.rig, e.rig))
        for e, after in own_edits(placed, made)
        if holds_itself(e, placed.rig, placed_faults(after))
    ]
    return sorted(found, key=lambda one: one.worth)


def outcomes(folder: Path, placed: PlacedRig, *, two: bool) -> list[Outcome]:
    """Each fault of a rig, repaired, and each machine of the blueprint, sized."""
    before = placed_faults(placed)
    context = opened(folder, placed)
    known = {(f.rule, f.home[1]) for f in context.findings if f.rule in RULES}
    assert known == {(rule, whole_name(placed, part)) for rule, part in before}, (known, before)
    tried = tried_by_force(placed, two=two)
    return [*_repaired(folder, placed, context, before, tried), *_sized(folder, placed, context, before, tried)]


def _repaired(
    folder: Path, placed: PlacedRig, context: RepairContext, before: dict[Fault, tuple[float, ...]], tried: list[Tried]
) -> Iterator[Outcome]:
    for plan in offers(context, context.findings):
        fault = (plan.finding.rule, (plan.finding.home[1] or "").rpartition("/")[2])
        said = plan.no_repair or ""
        if fault not in before or said.startswith("it stands in"):
            continue
        least = plan.repairs[0].worth if plan.repairs else float("inf")
        better = _needed([one for one in tried if mends(fault, before, one.after)], least)
        found = next((one for one in better[:MOST_CONFIRMED] if _confirmed(folder, one, context.findings)), None)
        kind = "cheapest" if plan.repairs else "none"
        if found is not None:
            bounded = "stopped at its bound" in said or "took the effort" in said
            kind = "dearer" if plan.repairs else "stopped" if bounded else "untrue"
        inside = " inside" if fault[1] in placed.inside else ""
        why = "" if found is None else f"{found.what!r} at {found.worth}; shown {least}, {said}"
        yield Outcome(fault, kind + inside, why)


def _sized(
    folder: Path, placed: PlacedRig, context: RepairContext, before: dict[Fault, tuple[float, ...]], tried: list[Tried]
) -> Iterator[Outcome]:
    """No edit of the line that leads to the blueprint is cheaper than the first chain, of a machine that is short."""
    rig = context.rig
    for part in placed.rig.parts:
        number = rig.rig.index.get(whole_name(placed, part.name))
        if part.name not in placed.inside or placed.rig.items[part.item].kind != "driven-machine" or number is None:
            continue
        wanted = wanted_by(rig.parts[number])
        short = ("machine-underdriven", part.name)
        if short not in before or line_for(rig, number) is None or wanted is None:
            continue
        sizing = size(context, number, wanted)
        least = cheapest([sized.repair.worth for sized in sizing.found])
        way = _way_to(placed, part.name)
        holding = [one for one in tried if one.near and not any(name in way for _, name in one.after)]
        better = _needed([one for one in holding if mends(short, before, one.after)], least)
        found = next((one for one in better[:MOST_CONFIRMED] if _confirmed(folder, one, context.findings)), None)
        kind = "sized" if sizing.found else "not sized"
        if found is not None and sizing.outcome.endswith("within-bound"):
            kind = "stopped"
        why = "" if found is None else f"{found.what!r} at {found.worth}; sized {least}, {sizing.outcome}"
        yield Outcome(short, kind, why if kind != "stopped" else "")


def _needed(mending: list[Tried], least: float) -> list[Tried]:
    """Those that cost less; of two edits both have to be needed: what only saves elsewhere mends nothing."""
    alone = {one.what for one in mending if ";" not in one.what}
    return [
        one
        for one in mending
        if one.worth < least - 1e-9 and (one.what in alone or not alone & set(one.what.split("; ")))
    ]


def _way_to(placed: PlacedRig, name: str) -> set[str]:
    """All parts above a part: a chain makes those hold as well."""
    above = {part.name: [driver for driver, _ in part.above] for part in placed.rig.parts}
    found = {name}
    todo = [name]
    while todo:
        drivers = above.get(todo.pop(), [])
        todo += [driver for driver in drivers if driver not in found]
        found.update(drivers)
    return found


def _confirmed(folder: Path, one: Tried, before: tuple[Finding, ...]) -> bool:
    """Whether a check of the edited file finds nothing new or worse; other rules may have a word too."""
    return none_against(before, opened(folder, one.placed).findings)


def main() -> int:
    """Compare so many rigs from a seed on; ends after ``MOST_SECONDS``."""
    count, first = int(sys.argv[1]), int(sys.argv[2])
    kinds: Counter[str] = Counter()
    began, done = time.monotonic(), 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name).resolve()
        for seed in range(first, first + count):
            if time.monotonic() - began > MOST_SECONDS:
                break
            placed = placed_rig(seed)
            if placed is None:
                continue
            done += 1
            for outcome in outcomes(folder, placed, two="pairs" in sys.argv):
                kinds[outcome.what] += 1
                if outcome.why:
                    kinds["wrong"] += 1
                    print(seed, *outcome.fault, outcome.what, outcome.why, flush=True)  # noqa: T201
    print(f"{done} rigs:", ", ".join(f"{n} {kind}" for kind, n in sorted(kinds.items())))  # noqa: T201
    return 1 if kinds["wrong"] else 0


if __name__ == "__main__":
    sys.exit(main())
