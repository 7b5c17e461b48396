"""Where something can be read on a build, and by which name a reading calls the place."""

from collections.abc import Iterator

from lineshaft.schema.read.part_reader import outlet_number
from lineshaft.schema.text.absent_names import no_such
from lineshaft.solve.solved_rig import SolvedRig

_TELLING = frozenset({"prime-mover", "gear-stage", "right-angle", "splitter", "combiner", "driven-machine"})
Place = tuple[int, int]
"""A part (index) and its outlet; of a machine the inlet is meant."""


def places_to_read(rig: SolvedRig) -> Iterator[Place]:
    """What is worth reading, in the order of the file: all that does not merely pass on what it gets.

    What was read already is among it, wherever that is.
    """
    taken = {(reading.part, reading.outlet) for reading in rig.rig.readings}
    for number, part in enumerate(rig.parts):
        for outlet in range(max(1, len(part.outlets))):
            if part.item.kind in _TELLING or (number, outlet) in taken:
                yield number, outlet


def name_of(rig: SolvedRig, place: Place) -> str:
    """A place as a reading names it: `step`, `divide.saw`."""
    part = rig.parts[place[0]]
    return f"{part.name}.{part.outlets[place[1]]}" if part.outlets else part.name


def place_of(rig: SolvedRig, name: str) -> Place | str:
    """The place that a name calls, or why there is none."""
    known = [place for place, way in rig.rig.placed.exits.items() if way is not None and way.name == name]
    if known:
        return known[0]
    head, _, outlet = name.partition(".")
    number = rig.rig.index.get(head)
    if number is None:
        return no_such("part", head, rig.rig.index)
    part = rig.parts[number]
    if part.item.kind == "driven-machine" and not outlet:
        return number, 0
    found = outlet_number(part, outlet or None)
    return found if isinstance(found, str) else (number, found)
