"""The whole of an edited rig from two solved ones: as it was, with the lines that the edits touch in their place.

What an edit does to one line no other feels, so that the others are taken over as they were read and solved.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple, TypeVar

from lineshaft.repair.proof.edited_tree import EditedTree
from lineshaft.repair.proof.partial_rig import moved_part, moved_step, readings_at
from lineshaft.schema.model.rig import Part, Rig, Step
from lineshaft.schema.model.running import Circuit
from lineshaft.schema.read.fields import mapping
from lineshaft.schema.read.part_index import PartIndex
from lineshaft.solve.drivetrain import connect
from lineshaft.solve.solved_rig import SolvedRig, solve_rig
from lineshaft.solve.steady_state import Flows, Settings

_T = TypeVar("_T")


class _Numbers(NamedTuple):
    """The parts of the whole rig, each by its number in the rig before or, behind all of those, in the lines touched.

    ``now`` leads back to its number in the whole rig; ``first`` is what the numbers in the lines touched begin with.
    ``as_before`` is true where every part has the number that it had.
    """

    found: Sequence[int]
    now: Sequence[int]
    first: int
    as_before: bool


def rejoined(before: SolvedRig, near: SolvedRig, tree: EditedTree, *, places: bool) -> SolvedRig:
    """The whole rig that is written in an edited tree, solved; ``near`` is that of the lines that the edits touch.

    With ``places`` all of it stands where it is in the edited text; else, for who does not ask where, what the edits
    do not touch may stand where it was before.
    """
    data = mapping(tree.data)
    names = [*mapping(data.get("parts"))]
    if len(near.parts) == len(names) and len(near.rig.circuits) == len(mapping(data.get("lubrication"))):
        return near
    whole, numbers = _joined(before.rig, near.rig, tree, names, places)
    if not (all(before.flows.solved) and all(near.flows.solved)):
        return solve_rig(whole, before.file, before.policy)
    pairs = zip(before.settings, near.settings, strict=True)
    settings = Settings(*(bytes(_picked(one + other, numbers.found)) for one, other in pairs))
    flows = _flows(before.flows, near.flows, numbers.found)
    return SolvedRig(before.file, (), connect(whole), settings, flows, len(names), before.policy)


def _picked(row: Sequence[_T], found: Sequence[int]) -> tuple[_T, ...]:
    """Some places of a row."""
    return tuple([row[at] for at in found])


def _flows(before: Flows, near: Flows, found: Sequence[int]) -> Flows:
    """The flows of a rig in which every part is solved, so that there is no word of any that is not."""
    return Flows(
        _picked(before.torque_in + near.torque_in, found),
        _picked(before.torque_out + near.torque_out, found),
        _picked(before.speed_in + near.speed_in, found),
        _picked(before.speed_out + near.speed_out, found),
        _picked(before.passed + near.passed, found),
        bytes(_picked(before.solved + near.solved, found)),
        (),
    )


def _joined(
    before: Rig, near: Rig, tree: EditedTree, names: Sequence[str], places: bool
) -> tuple[Rig, _Numbers]:
    """The whole rig, and where its parts come from."""
    known, fresh, first = before.index, near.index, len(before.parts)
    place = dict(known)
    place.update((name, first + number) for name, number in fresh.items())
    found = [place[name] for name in names]
    now = [0] * (first + len(near.parts))
    for number, at in enumerate(found):
        now[at] = number
    numbers = _Numbers(found, now, first, [*known] == names)
    parts = _parts(before, near, tree, numbers, places)
    index = PartIndex(zip(names, range(len(names)), strict=True))
    circuits = tuple(_circuits(before, near, tree, numbers))
    steps = tuple(_steps(before, near, tree, numbers, places))
    readings = readings_at(before, parts, index)
    assert readings is not None  # of the lines touched it was asked already
    whole = replace(before, tree=tree, parts=parts, index=index, circuits=circuits, steps=steps, readings=readings)
    return whole, numbers


def _parts(before: Rig, near: Rig, tree: EditedTree, numbers: _Numbers, places: bool) -> tuple[Part, ...]:
    found, now, first, as_before = numbers
    if as_before and not places:
        parts = [*before.parts]
    else:
        known = before.parts + near.parts
        parts = [known[at] for at in found]
        for number, at in enumerate(found):  # of a large rig each step here counts
            part = parts[number]
            inlets = part.inlets
            if inlets and at < first:
                inlets = tuple([(now[source], outlet) for source, outlet in inlets])
            if at < first and (places or inlets != part.inlets):
                parts[number] = moved_part(part, tree, inlets)
    for at, part in enumerate(near.parts, first):
        inlets = tuple([(now[first + source], outlet) for source, outlet in part.inlets])
        parts[now[at]] = moved_part(part, tree, inlets)
    return tuple(parts)


def _circuits(before: Rig, near: Rig, tree: EditedTree, numbers: _Numbers) -> Iterator[Circuit]:
    known = {circuit.name: (circuit, 0) for circuit in before.circuits}
    known.update((circuit.name, (circuit, numbers.first)) for circuit in near.circuits)
    for name in mapping(mapping(tree.data).get("lubrication")):
        circuit, first = known[name]
        by = circuit.supplied_by
        feeds = tuple([numbers.now[first + number] for number in circuit.feeds])
        yield circuit._replace(supplied_by=None if by is None else numbers.now[first + by], feeds=feeds)


def _steps(before: Rig, near: Rig, tree: EditedTree, numbers: _Numbers, places: bool) -> Iterator[Step]:
    """The steps in the order of the list as it is now."""
    here = {step.number - 1: step for step in near.steps}
    positions = tree.positions.get("commissioning") or range(len(before.steps))
    for at, was in enumerate(positions):
        if (step := here.get(at)) is not None:
            yield moved_step(step, at, numbers.now[numbers.first + step.part], tree)
        elif was is not None:  # pragma: no branch - a step that was read anew is among those of the lines touched
            step = before.steps[was]
            part = numbers.now[step.part]
            moves = places or at != was or part != step.part
            yield moved_step(step, at, part, tree) if moves else step
