"""A piece of an edited rig that can be solved and judged by itself: the lines that the edits touch.

Parts, circuits and steps that were not read again are taken over from the rig as it was.
"""

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

from lineshaft.repair.proof.edited_tree import EditedTree, Piece, Section, sections_of
from lineshaft.schema.loading import Loaded
from lineshaft.schema.model.rig import Part, Rig, Step
from lineshaft.schema.model.running import Reading
from lineshaft.schema.read.fields import Fields, Mapped, mapping
from lineshaft.schema.read.part_index import PartIndex
from lineshaft.schema.read.part_reader import Fitting
from lineshaft.schema.read.rig_reader import connected
from lineshaft.schema.read.running_reader import read_circuits
from lineshaft.schema.read.step_reader import read_steps
from lineshaft.schema.text.tree import Plain
from lineshaft.solve.components import Components, components_of


class Layout(NamedTuple):
    """What edited rigs have in common: where its entries stand, its lines, and what was read of its catalogue."""

    sections: tuple[Section, ...]
    components: Components
    fitting: Fitting


def layout_of(loaded: Loaded) -> Layout | None:
    """What edited rigs have in common; none where they are read whole: of a blueprint, and of a file with faults."""
    rig = loaded.rig
    if rig is None or rig.placed.alone or loaded.faults or not rig.parts:
        return None
    if any(part.tree is not rig.tree for part in rig.parts):
        return None
    return Layout(sections_of(rig.tree), components_of(rig), Fitting(rig.catalogue))


def touched_lines(rig: Rig, components: Components, tree: EditedTree) -> frozenset[int]:
    """The lines that an edited tree changes: of what was read again as it was, and of all that it names now."""
    names: set[str] = set()
    found: set[int] = set()
    for section, keys in tree.gone.items():
        if section == "parts":
            names.update(map(str, keys))
        elif section == "commissioning":
            names.update(rig.parts[rig.steps[int(key)].part].name for key in keys)
        else:
            for circuit in rig.circuits:
                if circuit.name in keys:
                    names.update(rig.parts[n].name for n in circuit.members)
    for (section, key), piece in tree.again.items():
        value = _value(piece)
        if section == "parts":
            names.add(str(key))
            value = value.get("driven-by") if isinstance(value, dict) else None
        names.update(text.partition(".")[0] for text in _texts(value))
    for name in names:
        number = rig.index.get(name)
        if number is not None:
            found.add(components.of_part[number])
    return frozenset(found)


def _value(piece: Piece) -> Plain:
    return piece.tree.data[piece.key]  # type: ignore[index]


def _texts(value: Plain) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, list):
        for inner in value:
            yield from _texts(inner)
    elif isinstance(value, dict):
        for inner in value.values():
            yield from _texts(inner)


def cut_out(
    rig: Rig, components: Components, tree: EditedTree, fitting: Fitting, keep: frozenset[int]
) -> Rig | None:
    """The lines in ``keep`` of ``rig`` as edited; none where something does not fit any more."""
    fields = Fields(tree, [])
    data = mapping(tree.data)
    written = mapping(data.get("parts"))
    names = _names(rig, components, tree, keep, written)
    index = PartIndex({name: number for number, name in enumerate(names)})
    fresh = {name for name in names if ("parts", name) in tree.again}
    if any("blueprint" in mapping(written[name]) for name in fresh):
        return None
    loose = [
        fitting.read(fields, name, mapping(written[name]), ("parts", name), ())
        if name in fresh
        else rig.parts[rig.index[name]]
        for name in names
    ]
    was_fresh = {rig.index[name] for name in fresh if name in rig.index}
    parts = []
    for part in loose:
        if part.name in fresh or any(source in was_fresh for source, _ in part.inlets):
            bare = part._replace(tree=tree, inlets=())
            parts.append(connected(fields, loose, index, bare, mapping(written[part.name])))
            continue
        try:
            inlets = tuple([(index[rig.parts[source].name], outlet) for source, outlet in part.inlets])
        except KeyError:
            return None
        parts.append(moved_part(part, tree, inlets))
    whole = tuple(parts)
    wired = _circuits(rig, components, tree, keep, data)
    circuits = read_circuits(fields, wired, whole, index, rig.catalogue.lubricants)
    steps = tuple(_steps(rig, components, tree, keep, whole, index, fields))
    readings = readings_at(rig, whole, index)
    if fields.faults or readings is None or any(w.part not in written for w in rig.waivers if w.part is not None):
        return None
    return replace(rig, tree=tree, parts=whole, index=index, circuits=circuits, steps=steps, readings=readings)


def moved_part(part: Part, tree: EditedTree, inlets: tuple[tuple[int, int], ...]) -> Part:
    """A part that was not read again, at its place in the edited text, behind what drives it by other numbers."""
    return part._replace(tree=tree, inlets=inlets)


def readings_at(rig: Rig, parts: tuple[Part, ...], index: PartIndex) -> tuple[Reading, ...] | None:
    """The readings at the parts that are kept; none where an outlet that was read is another one now."""
    found = []
    for reading in rig.readings:
        was = rig.parts[reading.part]
        number = index.get(was.name)
        if number is not None:
            if parts[number].outlets != was.outlets or parts[number].item.kind != was.item.kind:
                return None
            found.append(reading._replace(part=number))
    return tuple(found)


def _names(
    rig: Rig, components: Components, tree: EditedTree, keep: frozenset[int], written: Mapped
) -> list[str]:
    """The names of the parts to keep, in the order of the file."""
    kept = [n for line in keep for n in components.parts[line]]
    if not tree.gone.get("parts"):
        return [rig.parts[n].name for n in sorted(kept)]
    wanted = {rig.parts[n].name for n in kept}
    wanted.update(str(key) for section, key in tree.again if section == "parts")
    return [name for name in written if name in wanted]


def _circuits(
    rig: Rig, components: Components, tree: EditedTree, keep: frozenset[int], data: Mapped
) -> Mapped:
    """The part of a file that `read_circuits` reads: the circuits of the lines to keep, and those read again."""
    written = mapping(data.get("lubrication"))
    kept = {rig.circuits[n].name for line in keep for n in components.circuits.get(line, ())}
    kept.update(str(key) for section, key in tree.again if section == "lubrication")
    return {"lubrication": {name: value for name, value in written.items() if name in kept}} if kept else {}


def _steps(
    rig: Rig,
    components: Components,
    tree: EditedTree,
    keep: frozenset[int],
    parts: tuple[Part, ...],
    index: PartIndex,
    fields: Fields,
) -> Iterator[Step]:
    """The steps of the lines to keep, in the order of the list, with their new numbers."""
    old = sorted(n for line in keep for n in components.steps.get(line, ()))
    positions = tree.positions.get("commissioning")
    if positions is None:
        pairs: list[tuple[int, int | None]] = [(n, n) for n in old]
    else:
        kept = set(old)
        pairs = [(at, n) for at, n in enumerate(positions) if n is None or n in kept]
    for at, n in pairs:
        if n is None:
            yield from read_steps(fields, [(at, _value(tree.again["commissioning", at]))], parts, index)
            continue
        step = rig.steps[n]
        part = index.get(rig.parts[step.part].name)
        if part is None:
            fields.bad("unknown-reference", step.route, "")
            return
        if ("parts", parts[part].name) in tree.again:
            entry = mapping(mapping(tree.data)["commissioning"][at])  # type: ignore[index]
            yield from read_steps(fields, [(at, entry)], parts, index)
        else:
            yield moved_step(step, at, part, tree)


def moved_step(step: Step, at: int, part: int, tree: EditedTree) -> Step:
    """A step that was not read again, at its place in the edited list (from 0), of a part by its number now."""
    return Step(at + 1, step.kind, part, tree, ("commissioning", at), step.to, step.amount)


