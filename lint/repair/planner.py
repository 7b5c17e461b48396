"""Findings to proved repairs: the ways that fit a finding, alone and in pairs, each proved before it is kept.

The search takes single moves first and combines two only where no single one mends; it stops after a stated number of
proofs and says so. What is shown is a short list of different ways, ranked by worth, parts added and name.
"""

from collections.abc import Iterator
from itertools import combinations
from typing import NamedTuple

from lineshaft.judge.finding import Finding, Repair
from lineshaft.repair.effect import repair_of
from lineshaft.repair.part_edits import add_steps
from lineshaft.repair.proof import Trial, Workshop, mends
from lineshaft.repair.steps import safe_list_move
from lineshaft.repair.ways import Move, insert_stage, regear, regrade, reshare, reverse
from lineshaft.solve.solved_rig import SolvedRig

MOST_PROOFS = 600
MOST_PARTS_SOLVED = 200_000
"""Bounds of one search: how many proofs, and how many parts are solved in all of them."""
MOST_SHOWN = 4
_BY_LIST = frozenset(
    {
        "direction-before-commissioning",
        "commissioning-overload",
        "commissioning-incomplete",
        "lubricant-missing",
        "lubricant-loop",
    }
)


class Plan(NamedTuple):
    """The repairs of one finding, cheapest first; or why there is none."""

    finding: Finding
    repairs: tuple[Repair, ...]
    no_repair: str | None


def plan(workshop: Workshop, finding: Finding) -> Plan:
    """The proved repairs of a finding in a rig; none of one in a blueprint, which other rigs may use."""
    if finding.uses:
        return Plan(finding, (), f"it stands in {finding.file}, which this rig shares; mend it there")
    moves = list(_moves(workshop.rig, finding))
    proofs, most = 0, _most_proofs(workshop.rig)
    found: list[tuple[Move, Repair]] = []
    for group in _groups(moves):
        if proofs >= most or (found and len(group) > 1):
            break
        proofs += 1
        trial = _tried(workshop, group)
        if trial is not None and mends(workshop, finding, trial):
            title = ", and ".join(move.title for move in group)
            edits = tuple(edit for move in group for edit in move.edits)
            found.append((group[0], repair_of(title, edits, workshop.rig, trial.rig)))
    repairs = _different(found)
    return Plan(finding, repairs, None if repairs else _why_none(finding, len(moves), proofs, most))


def _most_proofs(rig: SolvedRig) -> int:
    return max(8, min(MOST_PROOFS, MOST_PARTS_SOLVED // max(1, len(rig.parts))))


def _tried(workshop: Workshop, group: tuple[Move, ...]) -> Trial | None:
    return workshop.trial(edit for move in group for edit in move.edits)


def _groups(moves: list[Move]) -> Iterator[tuple[Move, ...]]:
    """Single moves, then pairs of moves that touch different parts."""
    yield from ((move,) for move in moves)
    for one, other in combinations(moves, 2):
        if not set(one.parts) & set(other.parts):
            yield (one, other)


def _different(found: list[tuple[Move, Repair]]) -> tuple[Repair, ...]:
    """The cheapest of each way: by effect and the first part it touches."""
    ranked = sorted(found, key=lambda pair: (pair[1].worth, pair[1].parts_added, pair[1].title))
    kept: dict[tuple[str, tuple[int, ...]], Repair] = {}
    for move, repair in ranked:
        kept.setdefault((repair.effect, move.parts), repair)
    return tuple(kept.values())[:MOST_SHOWN]


def _moves(rig: SolvedRig, finding: Finding) -> Iterator[Move]:
    if finding.rule in _BY_LIST:
        yield from safe_list_move(rig)
    for promise in rig.rig.placed.promises if finding.rule == "inlet-promise-broken" else ():
        if promise.part == finding.part:
            yield from _line(rig, promise.source[0])
    number = rig.rig.index.get(finding.part or "")
    if number is None:
        return
    if finding.rule == "lubricant-missing":
        yield from _fill(rig, number)
    elif finding.rule == "direction-before-commissioning":
        yield from _set(rig, number)
        yield from reverse(rig, number)
    elif finding.rule in ("torque-over-limit", "speed-over-limit"):
        yield from regrade(rig, number)
        yield from _line(rig, number)
    elif finding.rule in ("machine-underdriven", "target-missed", "machine-surplus", "split-for-speed"):
        yield from _line(rig, number)
    elif finding.rule == "combiner-mismatch":
        for inlet, (source, _) in enumerate(rig.parts[number].inlets):
            yield from insert_stage(rig, number, inlet)
            yield from _line(rig, source)


def _line(rig: SolvedRig, number: int) -> Iterator[Move]:
    """Moves on the line that leads to a part, nearest first: directions, ratios, shares; a stage in front of it."""
    for above in reversed(rig.chain(number)):
        yield from reverse(rig, above)
        yield from regear(rig, above)
        yield from reshare(rig, above)
        if above != number and rig.parts[above].ratio is not None:
            yield from regrade(rig, above)
    yield from insert_stage(rig, number)


def _fill(rig: SolvedRig, number: int) -> Iterator[Move]:
    need = rig.parts[number].item.lubricant
    if need is not None:
        name = rig.parts[number].name
        added = add_steps(rig.rig.tree, 0, (f"fill: {{part: {name}, with: {need.holds:g} L}}",))
        if added is not None:
            yield Move(f"fill {name} with {need.holds:g} L before the start", (added,), (number,))


def _set(rig: SolvedRig, number: int) -> Iterator[Move]:
    part = rig.parts[number]
    added = add_steps(rig.rig.tree, 0, (f"set: {{part: {part.name}, to: {part.direction}}}",))
    if added is not None:
        yield Move(f"set {part.name} to {part.direction} before the start", (added,), (number,))


def _why_none(finding: Finding, moves: int, proofs: int, most: int) -> str:
    if not moves:
        return f"{finding.rule} is mended by hand: no setting or part of the catalogue decides it"
    if proofs >= most:
        return f"{proofs} ways were tried and none mends it without new findings; the search stopped there"
    return f"all {proofs} ways of one or two changes were tried; each leaves it or makes a new finding"
