"""A blueprint's tree to what it takes and where, with the faults that it has wherever it is put in place."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple, cast

from lineshaft.schema.blueprint.parameters import (
    Parameter,
    ParameterKind,
    Slot,
    checked,
    kind_at,
    slots_in,
)
from lineshaft.schema.read.fields import Fields, Mapped, listing, mapping
from lineshaft.schema.text.absent_names import no_such
from lineshaft.schema.text.fault import Fault
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Plain, Tree

_SECTIONS = ("inlets", "parts", "outlets", "commissioning")


class Blueprint(NamedTuple):
    """A blueprint that fits its schema. ``slots`` are the parameters in each entry, by the entry's route.

    ``nodes`` is its size when every alias is written out, the blueprints that it places left out.
    """

    tree: Tree
    takes: Mapping[str, Parameter]
    slots: Mapping[Route, tuple[Slot, ...]]
    nodes: int

    @property
    def data(self) -> Mapped:
        """What the file says."""
        return mapping(self.tree.data)

    @property
    def title(self) -> str:
        """What people call it; else its file's name."""
        name = str(self.data.get("name") or "")
        return name if name else self.tree.source.path.name

    def placed_here(self) -> Iterator[Route]:
        """The route to each part that is itself a blueprint put in place."""
        for name, part in mapping(self.data.get("parts")).items():
            if "blueprint" in mapping(part):
                yield ("parts", name)


def read_blueprint(tree: Tree) -> tuple[Blueprint, tuple[Fault, ...]]:
    """The blueprint in a tree that fits the blueprint schema, and what is wrong with it wherever it stands."""
    fields = Fields(tree, [])
    data = mapping(tree.data)
    takes = {name: _parameter(fields, name, mapping(value)) for name, value in mapping(data.get("takes")).items()}
    slots: dict[Route, tuple[Slot, ...]] = {}
    for route, entry in _entries(data):
        found = slots_in(entry)
        if found:
            slots[route] = found
            for slot in found:
                _check_slot(fields, (*route, *slot.route), slot.name, takes)
    for name in mapping(data.get("inlets")):
        if name in mapping(data.get("parts")):
            message = f"the inlet {name} has the name of a part; give it another"
            fields.bad_key("not-schema", ("inlets", name), message)
    return Blueprint(tree, takes, slots, nodes_of(tree.data)), tuple(fields.faults)


def _entries(data: Mapped) -> Iterator[tuple[Route, Plain]]:
    for section in _SECTIONS:
        held = data.get(section)
        if isinstance(held, dict):
            yield from (((section, name), entry) for name, entry in held.items())
        else:
            yield from (((section, number), entry) for number, entry in enumerate(listing(held)))


def _parameter(fields: Fields, name: str, data: Mapped) -> Parameter:
    kind = cast(ParameterKind, data["kind"])
    default = data.get("default")
    if default is not None:
        found = checked(kind, default)
        if isinstance(found, tuple):
            fields.bad(found[0], ("takes", name, "default"), found[1])
            default = None
        else:
            default = found
    return Parameter(name, kind, default)


def _check_slot(fields: Fields, route: Route, name: str, takes: Mapping[str, Parameter]) -> None:
    """A parameter must be declared, of the kind that its place takes, and stand where one may."""
    if name not in takes:
        fields.bad("unknown-reference", route, no_such("parameter", name, takes))
        return
    if route[0] == "parts" and route[2:] == ("blueprint",):
        fields.bad("not-schema", route, "the path of a blueprint is written out; it cannot be a parameter")
        return
    wanted = kind_at(route)
    kind = takes[name].kind
    if wanted is not None and kind != wanted:
        message = f"a {wanted} is due here, and `{name}` is declared a {kind}; declare it `kind: {wanted}`"
        fields.bad("not-schema", route, message)


def nodes_of(value: Plain) -> int:
    """Keys and values of a tree with every alias written out; what aliases share is counted once and remembered."""
    known: dict[int, int] = {}

    def count(held: Plain) -> int:
        if not isinstance(held, dict | list):
            return 1
        found = known.get(id(held))
        if found is None:
            inner = held.values() if isinstance(held, dict) else held
            own = 1 + (len(held) if isinstance(held, dict) else 0)
            found = known[id(held)] = own + sum(count(entry) for entry in inner)
        return found

    return count(value)
