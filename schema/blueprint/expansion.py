"""A rig that places blueprints, or a blueprint alone, to one flat rig: every part with its own file and its uses."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Protocol

from lineshaft.schema.blueprint.blueprint import Blueprint, read_blueprint
from lineshaft.schema.blueprint.parameters import Slot, lacking_in, parameter_in, unknown_in
from lineshaft.schema.blueprint.placing import Feed, PartNames, PlacedFields, Scope, bind, defaults
from lineshaft.schema.blueprint.wiring import Wiring
from lineshaft.schema.model.catalogue import UNKNOWN_ITEM, Catalogue, Item, Output
from lineshaft.schema.model.placement import Lack
from lineshaft.schema.model.rig import Part, Placed, Rig, Step
from lineshaft.schema.read.fields import Mapped, mapping
from lineshaft.schema.read.part_reader import Fitting
from lineshaft.schema.read.running_reader import read_circuits, read_readings, read_waivers
from lineshaft.schema.read.step_reader import read_steps
from lineshaft.schema.text.absent_names import no_such
from lineshaft.schema.text.fault import Fault, FaultRule
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Tree
from lineshaft.schema.text.use import Use
from lineshaft.schema.text.yaml_pass import Bounds

DEEPEST = 8
"""How many blueprints may stand inside one another."""
MOST_BLUEPRINTS = 1000
"""How many different blueprint files one rig may use."""
_PURPOSES = ("distribute", "relieve-torque", "raise-speed")


class Library(Protocol):
    """Where blueprints and catalogues are read from."""

    @property
    def bounds(self) -> Bounds:
        """How large a rig may become."""

    def included(self, tree: Tree, route: Route) -> Path | Fault:
        """The real path that the text at a route names."""

    def blueprint(self, path: Path) -> tuple[Blueprint | None, tuple[Fault, ...]]:
        """The blueprint at a path, with its faults."""

    def catalogue_of(self, tree: Tree) -> tuple[Catalogue | None, tuple[Fault, ...]]:
        """The catalogue that holds for a file, with its faults."""


def expanded(
    tree: Tree, catalogue: Catalogue, library: Library, *, alone: bool = False
) -> tuple[Rig, tuple[Fault, ...]]:
    """The flat rig of a rig's tree, or with ``alone`` of a blueprint's tree at its defaults, and what is wrong.

    A blueprint alone is fed by prime movers in place of its inlets, each with the torque and speed it promises.
    """
    yard = _Yard(catalogue, library, deepest=DEEPEST - 1 if alone else DEEPEST)
    blueprint, found = read_blueprint(tree) if alone else (None, ())
    yard.faults += found
    given = defaults(blueprint) if blueprint is not None else {}
    top = Scope("", PlacedFields(tree, yard.faults, given, (), ""), blueprint)
    if alone:
        yard.add_edges(top)
    yard.nodes = len(tree.starts)
    yard.read(top, (tree.source.path,))
    wiring = Wiring(yard.parts, yard.written, yard.scopes)
    parts = wiring.connected()
    data = mapping(tree.data)
    steps = tuple(yard.steps(parts))
    waivable = PartNames({**top.index, **dict.fromkeys(yard.names, 0)}, top.stand_ins)
    edition = data.get("edition")
    rig = Rig(
        tree,
        str(data.get("name", "")),
        catalogue,
        str(edition) if edition is not None else None,
        parts,
        MappingProxyType(top.index),
        read_circuits(top.fields, data, parts, top.index, catalogue.lubricants),
        steps,
        "commissioning" in data and not alone,
        read_readings(top.fields, data, parts, top.index, wiring.exit_numbers()),
        read_waivers(top.fields, data, waivable),
        wiring.all_connected,
        placed=Placed(
            MappingProxyType(wiring.exits()),
            wiring.promises(),
            MappingProxyType(yard.names),
            alone,
            frozenset(top.edges.values()),
            tuple(yard.lacks),
        ),
    )
    return rig, tuple(dict.fromkeys(yard.faults))


@dataclass(slots=True)
class _Yard:
    """The parts gathered so far, with what each says to drive it, in the order of the files."""

    catalogue: Catalogue
    library: Library
    faults: list[Fault] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)
    written: list[tuple[int, Scope, Mapped]] = field(default_factory=list)
    scopes: list[Scope] = field(default_factory=list)
    names: dict[str, tuple[Use, ...]] = field(default_factory=dict)
    lacks: list[Lack] = field(default_factory=list)
    nodes: int = 0
    deepest: int = DEEPEST
    _fitting: Fitting = field(init=False)
    _sizes: dict[Path, dict[int, int]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._fitting = Fitting(self.catalogue)

    def read(self, scope: Scope, chain: tuple[Path, ...]) -> None:
        """Gather a file's parts, those of the blueprints that it places among them; ``chain`` leads to the file."""
        self.scopes.append(scope)
        first = len(self.parts)
        for name, written in scope.section("parts").items():
            if "blueprint" in mapping(written):
                self._place(scope, name, chain)
            else:
                self._part(scope, name)
        prefix = len(scope.prefix)
        names = {part.name[prefix:]: n for n, part in enumerate(self.parts[first:], first)}
        scope.index = PartNames(names, scope.stand_ins)

    def _part(self, scope: Scope, name: str) -> None:
        route: Route = ("parts", name)
        entry = mapping(scope.entry(*route))
        blueprint = scope.blueprint
        slots = blueprint.slots.get(route, ()) if blueprint is not None else ()
        purpose = entry.get("purpose")
        if slots and purpose is not None and purpose not in _PURPOSES:
            scope.fields.bad("not-schema", (*route, "purpose"), f"write {', '.join(_PURPOSES[:2])} or {_PURPOSES[2]}")
        part = self._fitting.read(scope.fields, scope.prefix + name, entry, route, scope.uses)
        if slots and unknown_in(slots, scope.fields.given):
            part = part._replace(faulty=True)
            self._note_lacks(scope, slots, len(self.parts))
        self.written.append((len(self.parts), scope, entry))
        self.parts.append(part)

    def _note_lacks(self, scope: Scope, slots: tuple[Slot, ...], part: int | None) -> None:
        for given in lacking_in(slots, scope.fields.given):
            declared = given.route[:2]
            self.lacks.append(Lack(str(declared[1]), Use(given.tree, declared), part))

    def _place(self, scope: Scope, name: str, chain: tuple[Path, ...]) -> None:
        """Put a blueprint in place, or a stand-in that cannot be solved where it cannot be put there."""
        inner = self._opened(scope, name, chain)
        if inner is None:
            scope.stand_ins[name] = len(self.parts)
            self.parts.append(Part(scope.prefix + name, UNKNOWN_ITEM, scope.tree, faulty=True, uses=scope.uses))
            return
        scope.placed[name] = inner
        self.names[scope.prefix + name] = scope.uses
        self.read(inner, (*chain, inner.tree.source.path))

    def _opened(self, scope: Scope, name: str, chain: tuple[Path, ...]) -> Scope | None:
        route: Route = ("parts", name, "blueprint")
        if scope.blueprint is not None and parameter_in(scope.tree.at(route)):
            return None  # said once, of the blueprint itself
        path = self.library.included(scope.tree, route)
        if isinstance(path, Fault):
            self.faults.append(path._replace(uses=scope.uses))
            return None
        use = Use(scope.tree, ("parts", name))
        why = self._barred(scope, path, chain)
        if why is not None:
            scope.fields.bad(why[0], route, why[1])
            return None
        blueprint = self._blueprint(path, (*scope.uses, use))
        if blueprint is None or not self._same_catalogue(scope, route, blueprint):
            return None
        uses = (*scope.uses, use)
        given = bind(scope, name, blueprint, uses)
        fields = PlacedFields(blueprint.tree, self.faults, given, uses, f"{scope.prefix}{name}/")
        inner = Scope(scope.prefix + name, fields, blueprint, scope)
        inner.feeds = self._feeds(scope, name, blueprint)
        return inner

    def _barred(self, scope: Scope, path: Path, chain: tuple[Path, ...]) -> tuple[FaultRule, str] | None:
        """The rule and words against placing a blueprint: inside itself, too deep, too many, too much."""
        if path in chain:
            ring = " -> ".join(step.name for step in (*chain[chain.index(path) :], path))
            return "unknown-reference", f"a blueprint cannot contain itself: {ring}"
        if len(scope.uses) >= self.deepest:
            return "not-yaml", f"blueprints stand more than {DEEPEST} deep inside one another here"
        if scope.above is None:
            most = self.library.bounds.nodes
            self.nodes += self._size(path, self.deepest)
            if self.nodes > most:
                return "not-yaml", f"with this blueprint in place there are more than {most:,} nodes; split the rig"
        if len(self._sizes) > MOST_BLUEPRINTS:
            return "not-yaml", f"more than {MOST_BLUEPRINTS:,} different blueprints are put in place"
        return None

    def _size(self, path: Path, deep: int) -> int:
        """Nodes of a blueprint with all that it places written out; counting ends a little past the bound."""
        known = self._sizes.setdefault(path, {})
        found = known.get(deep)
        if found is None:
            blueprint = self.library.blueprint(path)[0]
            total = 0 if blueprint is None else blueprint.nodes
            inner = self._inside(blueprint) if blueprint is not None and deep > 1 else ()
            for below in inner:
                if total > self.library.bounds.nodes or len(self._sizes) > MOST_BLUEPRINTS:
                    break
                total += self._size(below, deep - 1)
            found = known[deep] = total
        return found

    def _inside(self, blueprint: Blueprint) -> Iterator[Path]:
        """The files of the blueprints that a blueprint places, as often as it does."""
        for route in blueprint.placed_here():
            path = self.library.included(blueprint.tree, (*route, "blueprint"))
            if isinstance(path, Path):
                yield path

    def _blueprint(self, path: Path, uses: tuple[Use, ...]) -> Blueprint | None:
        """The blueprint at a path; its faults are noted with each use."""
        blueprint, faults = self.library.blueprint(path)
        self.faults += [fault._replace(uses=uses) for fault in faults]
        return blueprint

    def _same_catalogue(self, scope: Scope, route: Route, blueprint: Blueprint) -> bool:
        """Whether a blueprint was drawn for the catalogue that the rig is judged by."""
        catalogue, faults = self.library.catalogue_of(blueprint.tree)
        if catalogue is None:
            use = Use(scope.tree, route[:2])
            self.faults += [fault._replace(uses=(*scope.uses, use)) for fault in faults]
            return False
        own, other = self.catalogue.tree.source, catalogue.tree.source
        if own.path == other.path:
            return True
        message = f"{blueprint.title} is drawn for the catalogue {other.shown}, this rig for {own.shown}"
        scope.fields.bad("unknown-reference", route, f"{message}: let both name one, or the site's policy")
        return False

    def _feeds(self, scope: Scope, name: str, blueprint: Blueprint) -> dict[str, Feed]:
        """What drives each inlet; a key that is no inlet, an inlet that has none, and plain text for two are noted."""
        route: Route = ("parts", name, "driven-by")
        inlets = list(mapping(blueprint.data.get("inlets")))
        written = mapping(scope.entry("parts", name)).get("driven-by")
        title, listed = blueprint.title, ", ".join(inlets[:8])
        if isinstance(written, str) and len(inlets) == 1:
            return {inlets[0]: Feed(written, route)}
        if isinstance(written, str):
            say = f"it has the inlets {listed}: write `driven-by: {{{inlets[0]}: …}}`" if inlets else "it has no inlet"
            scope.fields.bad("not-offered", route, f"{title} is driven by inlet; {say}")
            return {}
        feeds = {key: Feed(str(text), (*route, key)) for key, text in mapping(written).items()}
        for key in [key for key in feeds if key not in inlets]:
            message = no_such("inlet", key, dict.fromkeys(inlets), f" of {title}")
            scope.fields.bad_key("unknown-reference", (*route, key), message)
            del feeds[key]
        lacking = [inlet for inlet in inlets if inlet not in feeds]
        if lacking:
            message = f"{title} is fed by nothing at {', '.join(lacking[:8])}; say what drives it with `driven-by`"
            scope.fields.bad_key("not-offered", ("parts", name), message)
        return feeds

    def add_edges(self, top: Scope) -> None:
        """Prime movers in place of a lone blueprint's inlets, each with all that is promised."""
        for name in top.section("inlets"):
            if name in top.section("parts"):
                continue
            route: Route = ("inlets", name)
            entry = mapping(top.entry(*route))
            torque = top.fields.quantity(entry, route, "torque-up-to", "torque")
            speed = top.fields.quantity(entry, route, "speed-up-to", "speed")
            known = torque is not None and speed is not None
            if not known and top.blueprint is not None:
                self._note_lacks(top, top.blueprint.slots.get(route, ()), len(self.parts))
            item = Item("", "prime-mover", source=Output(torque or 1.0, speed or 1.0))
            top.edges[name] = len(self.parts)
            self.parts.append(Part(name, item, top.tree, faulty=not known, section="inlets"))

    def steps(self, parts: tuple[Part, ...]) -> Iterator[Step]:
        """The steps of every blueprint in the order in which they stand in the rig, then the rig's own."""
        number = 0
        for scope in (*self.scopes[1:], self.scopes[0]):
            entries = scope.tree.at(("commissioning",))
            if not isinstance(entries, list):
                continue
            slots = scope.blueprint.slots if scope.blueprint is not None else {}
            known = []
            for at in range(len(entries)):
                its = slots.get(("commissioning", at), ())
                if unknown_in(its, scope.fields.given):
                    self._note_lacks(scope, its, None)
                else:
                    known.append((at, scope.entry("commissioning", at)))
            for step in read_steps(scope.fields, known, parts, scope.index):
                number += 1
                yield step._replace(number=number)
