"""Who drives whom across files: names resolved from a rig into its blueprints and out of them again."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from lineshaft.schema.blueprint.placing import Scope
from lineshaft.schema.model.placement import Exit, Promise
from lineshaft.schema.model.rig import Part
from lineshaft.schema.read.fields import Mapped, mapping
from lineshaft.schema.read.part_reader import no_part, outlet_number
from lineshaft.schema.read.rig_reader import count_inlets
from lineshaft.schema.text.absent_names import no_such
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.use import Use

Outlet = tuple[int, int]
_RING = "leads back to itself through blueprints, with no part between"


class Onward(NamedTuple):
    """A name in another file that a name stands for."""

    scope: Scope
    text: str


@dataclass(slots=True)
class Wiring:
    """The parts of a rig, what each says to drive it in the names of its file, and the files as they stand in it.

    A reference is resolved to a part and outlet, to words for what is wrong with it, or to nothing where what is
    wrong is noted elsewhere.
    """

    parts: list[Part]
    written: Sequence[tuple[int, Scope, Mapped]]
    scopes: Sequence[Scope]
    all_connected: bool = True
    _known: dict[tuple[int, str], Outlet | str | None] = field(default_factory=dict)

    def connected(self) -> tuple[Part, ...]:
        """The parts, connected; what cannot be is noted, and the part is faulty."""
        self.all_connected = not any(scope.stand_ins for scope in self.scopes)
        parts = list(self.parts)
        for number, scope, data in self.written:
            if "driven-by" in data:
                parts[number] = self._connect(scope, parts[number], data)
        for scope in self.scopes:
            self._check_outlets(scope)
            self._check_feeds(scope)
        return tuple(parts)

    def _connect(self, scope: Scope, part: Part, data: Mapped) -> Part:
        written = data["driven-by"]
        route: Route = (*part.route, "driven-by")
        several = isinstance(written, list)
        entries = list(written) if isinstance(written, list) else [written]
        known = len(scope.fields.faults)
        count_inlets(scope.fields, part, written if isinstance(written, list) else str(written))
        inlets, silent = [], False
        for number, entry in enumerate(entries):
            found = self.resolve(scope, str(entry))
            if isinstance(found, tuple):
                inlets.append(found)
                continue
            silent = True
            if found is not None:
                scope.fields.bad("unknown-reference", (*route, number) if several else route, found)
        if silent:
            self.all_connected = False
        faulty = part.faulty or silent or len(scope.fields.faults) > known
        return part._replace(inlets=tuple(inlets), faulty=faulty)

    def resolve(self, scope: Scope, name: str) -> Outlet | str | None:
        """The part and outlet that a name in one file leads to, followed through inlets and outlets of blueprints."""
        trail: list[tuple[int, str]] = []
        seen: set[tuple[int, str]] = set()
        here, text = scope, name
        while True:
            key = (id(here), text)
            if key in self._known:
                end, ended_in = self._known[key], key
                break
            if key in seen:
                end = self._known[key] = f"{text} {_RING}"
                ended_in = key
                break
            trail.append(key)
            seen.add(key)
            step = self._step(here, text)
            if not isinstance(step, Onward):
                end, ended_in = step, key
                break
            here, text = step
        # Words belong to the file whose name is at fault; whoever leads there is silent.
        for key in trail:
            self._known[key] = None if isinstance(end, str) and key != ended_in else end
        return self._known[(id(scope), name)]

    def _step(self, scope: Scope, name: str) -> "Outlet | str | Onward | None":
        """What a name stands for in its file: a part's outlet, or another name in the file above or below."""
        head, _, tail = name.partition(".")
        if head in scope.edges or head in scope.section("inlets"):
            return _inlet(scope, head, tail)
        number = scope.index.get(head)
        if number is not None:
            outlet = outlet_number(self.parts[number]._replace(name=head), tail or None)
            return outlet if isinstance(outlet, str) else (number, outlet)
        inner = scope.inner(head)
        if inner is None:
            return no_part(head, scope.all_names)
        outlets = inner.section("outlets")
        if tail in outlets:
            return Onward(inner, str(inner.entry("outlets", tail)))
        if tail:
            return no_such("outlet", tail, outlets, f" of {head}")
        ways = " or ".join(f"{head}.{outlet}" for outlet in list(outlets)[:4])
        return f"{head} is a blueprint: say which outlet, {ways}" if ways else f"{head} is a blueprint without outlets"

    def _check_outlets(self, scope: Scope) -> None:
        for name in scope.section("outlets") if scope.blueprint is not None else ():
            found = self.resolve(scope, str(scope.entry("outlets", name)))
            if isinstance(found, str):
                scope.fields.bad("unknown-reference", ("outlets", name), found)

    def _check_feeds(self, scope: Scope) -> None:
        for feed in scope.feeds.values():
            above = scope.above
            found = self.resolve(above, feed.text) if above is not None else None
            if not isinstance(found, tuple):
                self.all_connected = False
            if isinstance(found, str) and above is not None:
                above.fields.bad("unknown-reference", feed.route, found)

    def exits(self) -> dict[Outlet, Exit | None]:
        """The outlets of blueprints, each by the outermost blueprint that hands it on."""
        found: dict[Outlet, Exit | None] = {}
        for scope in reversed(self.scopes):
            for name in scope.section("outlets") if scope.blueprint is not None else ():
                outlet = self.resolve(scope, str(scope.entry("outlets", name)))
                if not isinstance(outlet, tuple):
                    continue
                above = scope.above
                if above is None:
                    found[outlet] = None
                else:
                    found[outlet] = Exit(f"{scope.name}.{name}", scope.uses[-1], above.uses)
        return found

    def exit_numbers(self) -> dict[str, Outlet]:
        """The outlets of blueprints by their names in the rig, as ``leg-a.out``."""
        found = {}
        for scope in self.scopes[1:]:
            for name in scope.section("outlets"):
                outlet = self.resolve(scope, str(scope.entry("outlets", name)))
                if isinstance(outlet, tuple):
                    found[f"{scope.name}.{name}"] = outlet
        return found

    def promises(self) -> tuple[Promise, ...]:
        """What each placed blueprint promises at each inlet that is fed."""
        found = []
        for scope in self.scopes[1:]:
            for name, feed in scope.feeds.items():
                above = scope.above
                source = self.resolve(above, feed.text) if above is not None else None
                route: Route = ("inlets", name)
                entry = mapping(scope.entry(*route))
                torque = scope.fields.quantity(entry, route, "torque-up-to", "torque")
                speed = scope.fields.quantity(entry, route, "speed-up-to", "speed")
                if above is None or torque is None or speed is None or not isinstance(source, tuple):
                    continue
                fed, made = Use(above.tree, feed.route), Use(scope.tree, route)
                found.append(Promise(scope.name, name, torque, speed, source, fed, above.uses, made))
        return tuple(found)


def _inlet(scope: Scope, name: str, tail: str) -> Outlet | str | Onward | None:
    """What drives an inlet: the prime mover in its place, or a name in the file above."""
    if tail:
        return f"{name} is an inlet: write {name}"
    if name in scope.edges:
        return scope.edges[name], 0
    feed = scope.feeds.get(name)
    return None if feed is None or scope.above is None else Onward(scope.above, feed.text)
