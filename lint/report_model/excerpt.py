"""A part of a schematic: only the paths to one of its parts."""

from collections.abc import Sequence

from lineshaft.report_model.schematic_record import DrawnCircuit, Schematic


def paths_to(schematic: Schematic, part: str) -> Schematic:
    """What leads from prime movers to ``part``, which is one of the rig's, and the circuits that touch that."""
    names = [node.name for node in schematic.nodes]
    above: dict[int, list[int]] = {}
    for link in schematic.links:
        above.setdefault(link.target, []).append(link.source)
    end = names.index(part)
    kept, waiting = {end}, [end]
    for here in waiting:
        for source in above.get(here, ()):
            if source not in kept:
                kept.add(source)
                waiting.append(source)
    return without(schematic, kept)._replace(only=part)


def without(schematic: Schematic, kept: set[int]) -> Schematic:
    """The schematic with these parts only, in their order."""
    place = {number: at for at, number in enumerate(sorted(kept))}
    nodes = tuple(schematic.nodes[number] for number in place)
    links = tuple(
        link._replace(source=place[link.source], target=place[link.target])
        for link in schematic.links
        if link.source in place and link.target in place
    )
    left = ((frame, tuple(place[n] for n in frame.nodes if n in place)) for frame in schematic.frames)
    names = {name for node in nodes for name in (node.name, *node.stands_for)}
    return schematic._replace(
        nodes=nodes,
        links=links,
        frames=tuple(frame._replace(nodes=inside) for frame, inside in left if inside),
        circuits=tuple(circuit for circuit in schematic.circuits if not names.isdisjoint(_members(circuit))),
    )


def _members(circuit: DrawnCircuit) -> Sequence[str]:
    return circuit.feeds if circuit.supplied_by is None else (*circuit.feeds, circuit.supplied_by)
