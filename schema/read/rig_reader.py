"""A rig's tree to its parts, connections, circuits, steps, readings and waivers, with the faults on the way."""

from types import MappingProxyType
from typing import TYPE_CHECKING, cast

from lineshaft.schema.model.catalogue import Catalogue
from lineshaft.schema.model.rig import Part, Rig
from lineshaft.schema.read.fields import Fields, Mapped, listing, mapping
from lineshaft.schema.read.part_index import PartIndex
from lineshaft.schema.read.part_reader import Fitting, no_part, outlet_number
from lineshaft.schema.read.step_reader import read_steps
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Plain, Tree

if TYPE_CHECKING:  # most files have none
    from lineshaft.schema.text.fault import Fault

_RUNNING = frozenset({"lubrication", "readings", "waivers"})


def places_blueprints(tree: Tree) -> bool:
    """Whether a part of a rig is a blueprint put in place."""
    parts = mapping(mapping(tree.data).get("parts"))
    return any("blueprint" in cast(Mapped, part) for part in parts.values())


def read_rig(tree: Tree, catalogue: Catalogue) -> tuple[Rig, tuple["Fault", ...]]:
    """The rig in a tree that fits the rig schema, read against ``catalogue``, and what is wrong with it."""
    fields = Fields(tree, [])
    data = mapping(tree.data)
    written = mapping(data.get("parts"))
    fitting = Fitting(catalogue)
    loose = [fitting.read(fields, name, mapping(part), ("parts", name), ()) for name, part in written.items()]
    index = PartIndex({part.name: number for number, part in enumerate(loose)})
    known = len(fields.faults)
    for number, entry in enumerate(written.values()):  # each in the place of the loose one: of a large rig that counts
        loose[number] = connected(fields, loose, index, loose[number], mapping(entry))
    parts = tuple(loose)
    all_connected = len(fields.faults) == known
    edition = data.get("edition")
    rig = Rig(
        tree,
        str(data.get("name", "")),
        catalogue,
        str(edition) if edition is not None else None,
        parts,
        MappingProxyType(index),
        steps=read_steps(fields, enumerate(listing(data.get("commissioning"))), parts, index),
        has_commissioning="commissioning" in data,
        all_connected=all_connected,
    )
    if not _RUNNING.isdisjoint(data):
        from lineshaft.schema.read.running_reader import with_running

        rig = with_running(rig, fields, data, index)
    return rig, tuple(fields.faults)


def connected(fields: Fields, parts: list[Part], index: PartIndex, part: Part, data: Mapped) -> Part:
    """A part with the inlets that its `driven-by` names among ``parts``; a reference that does not resolve is noted."""
    written = cast("str | list[Plain] | None", data.get("driven-by"))
    if written is None:
        return part
    if isinstance(written, str):
        # The common case, a plain name of a part with one outlet, without further ado.
        source = index.get(written)
        if source is not None and part.item.kind != "combiner" and _has_one_outlet(parts[source]):
            return part._replace(inlets=((source, 0),))
        names: list[tuple[Route, object]] = [(("parts", part.name, "driven-by"), written)]
    else:
        names = [(("parts", part.name, "driven-by", n), name) for n, name in enumerate(written)]
    known = len(fields.faults)
    count_inlets(fields, part, written)
    inlets = []
    for route, name in names:
        found = outlet_of(parts, index, str(name))
        if isinstance(found, str):
            fields.bad("unknown-reference", route, found)
        else:
            inlets.append(found)
    faulty = part.faulty or len(fields.faults) > known
    return part._replace(inlets=tuple(inlets), faulty=faulty)


def _has_one_outlet(part: Part) -> bool:
    return not part.outlets and part.item.kind != "driven-machine"


def count_inlets(fields: Fields, part: Part, written: str | list[Plain]) -> None:
    """Note a `driven-by` that names another number of inlets than the part has, or lists the only one."""
    item = part.item
    several = isinstance(written, list)
    count = len(written) if several else 1
    if item.kind in ("unknown", "prime-mover"):
        return  # said of the item, or of any `driven-by`
    if item.kind != "combiner":
        if several:
            message = f"{item.name} has one inlet: write one name in place of a list, as `driven-by: {written[0]}`"
            fields.bad_here("not-offered", (*part.route, "driven-by"), message)
    elif item.inlets is not None and count != item.inlets:
        given = f"{count} {'is' if count == 1 else 'are'} given"
        message = f"{item.name} has {item.inlets} inlet{'s' if item.inlets > 1 else ''}, {given}"
        fields.bad_here("not-offered", (*part.route, "driven-by"), message)


def outlet_of(parts: list[Part] | tuple[Part, ...], index: PartIndex, name: str) -> tuple[int, int] | str:
    """The part (index) and outlet (number) that a reference like ``part`` or ``part.outlet`` names, or why none."""
    head, _, tail = name.partition(".")
    source = index.get(head)
    if source is None:
        return no_part(head, index)
    found = outlet_number(parts[source], tail or None)
    return found if isinstance(found, str) else (source, found)
