"""One file's names while a rig is put together: the rig's own, or a blueprint's where it stands in the rig."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from lineshaft.schema.blueprint.blueprint import Blueprint
from lineshaft.schema.blueprint.parameters import Given, Parameter, checked, filled, parameter_in
from lineshaft.schema.read.fields import Fields, Mapped, mapping
from lineshaft.schema.read.part_index import PartIndex
from lineshaft.schema.text.absent_names import no_such
from lineshaft.schema.text.fault import Fault, FaultRule, Related
from lineshaft.schema.text.faults import at_key, at_value
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Plain, Tree
from lineshaft.schema.text.use import Use


def without_prefix(text: str, prefix: str) -> str:
    """A message in the names of the blueprint's own file: `leg-a/step` is `step` there."""
    return re.sub(rf"(?<![\w/-]){re.escape(prefix)}", "", text) if prefix else text


class PlacedFields(Fields):
    """Fields of a file that stands in a rig: a fault of a parameter's value is noted where the value is written."""

    __slots__ = ("given", "prefix", "uses")

    def __init__(
        self, tree: Tree, faults: list[Fault], given: Mapping[str, Given], uses: tuple[Use, ...], prefix: str
    ) -> None:
        super().__init__(tree, faults)
        self.given, self.uses, self.prefix = given, uses, prefix

    def bad(self, rule: FaultRule, route: Route, message: str) -> None:
        """Note a fault at a value, or where the parameter gets its value that stands there."""
        name = parameter_in(self.tree.at(route)) if self.given else None
        given = self.given.get(name) if name is not None else None
        if given is None:
            self.faults.append(self._own(at_value(rule, self.tree, route, message)))
        elif given.sound:
            here = Related(self.tree.source.shown, self.tree.span(route), f"`{name}` stands here")
            self.at_given(given, rule, message, here)

    def bad_here(self, rule: FaultRule, route: Route, message: str) -> None:
        """Note a fault at a value as it stands."""
        self.faults.append(self._own(at_value(rule, self.tree, route, message)))

    def bad_key(self, rule: FaultRule, route: Route, message: str) -> None:
        """Note a fault at a key."""
        self.faults.append(self._own(at_key(rule, self.tree, route, message)))

    def at_given(self, given: Given, rule: FaultRule, message: str, *related: Related) -> None:
        """Note a fault where a parameter gets its value."""
        words = without_prefix(message, self.prefix)
        self.faults.append(at_value(rule, given.tree, given.route, words, *related)._replace(uses=given.uses))

    def _own(self, fault: Fault) -> Fault:
        return fault._replace(uses=self.uses, message=without_prefix(fault.message, self.prefix))


class PartNames(PartIndex):
    """Names of parts as one file knows them; what lies inside a blueprint that could not be read is its stand-in."""

    def __init__(self, names: Mapping[str, int], stand_ins: Mapping[str, int]) -> None:
        super().__init__(names)
        self._stand_ins = stand_ins

    def get(self, name: str, default: int | None = None) -> int | None:  # type: ignore[override]
        """The part's number, or its blueprint's stand-in."""
        found = super().get(name)
        if found is not None or not self._stand_ins:
            return default if found is None else found
        steps = name.split("/")
        for count in range(1, len(steps)):
            stand_in = self._stand_ins.get("/".join(steps[:count]))
            if stand_in is not None:
                return stand_in
        return default


class Feed(NamedTuple):
    """What a line that places a blueprint says to drive an inlet, and where."""

    text: str
    route: Route


@dataclass(slots=True)
class Scope:
    """One file's names where it stands. ``above`` is the file that places it; none for the file that is judged.

    ``feeds`` leads from its inlets to what drives them, in the names of ``above``; ``edges`` to the prime movers that
    stand for them where a blueprint is judged alone. ``prefix`` precedes its parts' names in the rig.
    """

    name: str
    fields: PlacedFields
    blueprint: Blueprint | None
    above: "Scope | None" = None
    feeds: dict[str, Feed] = field(default_factory=dict)
    edges: dict[str, int] = field(default_factory=dict)
    placed: "dict[str, Scope]" = field(default_factory=dict)
    stand_ins: dict[str, int] = field(default_factory=dict)
    index: PartNames = field(default_factory=lambda: PartNames({}, {}))
    _all_names: PartIndex | None = None

    @property
    def tree(self) -> Tree:
        """The file's tree."""
        return self.fields.tree

    @property
    def prefix(self) -> str:
        """What stands before its parts' names in the rig."""
        return self.fields.prefix

    @property
    def uses(self) -> tuple[Use, ...]:
        """The lines that put it in place."""
        return self.fields.uses

    def entry(self, *route: str | int) -> Plain:
        """An entry of the file with its parameters' values in place."""
        value = self.tree.at(route)
        slots = self.blueprint.slots.get(route) if self.blueprint is not None else None
        return value if slots is None else filled(value, slots, self.fields.given)

    def section(self, name: str) -> Mapped:
        """A section of the file, as written."""
        return mapping(mapping(self.tree.data).get(name))

    @property
    def all_names(self) -> PartIndex:
        """Its parts and the blueprints placed in it, once all are read: for the words of a name that is neither."""
        if self._all_names is None:
            self._all_names = PartIndex({**self.index, **dict.fromkeys(self.placed, 0)})
        return self._all_names

    def inner(self, path: str) -> "Scope | None":
        """A blueprint placed in this one, at any depth, by its name."""
        here: Scope | None = self
        for step in path.split("/"):
            here = None if here is None else here.placed.get(step)
        return here


def bind(scope: Scope, name: str, blueprint: Blueprint, uses: tuple[Use, ...]) -> dict[str, Given]:
    """What stands for each parameter of a blueprint that ``scope`` places as ``name``; ``uses`` lead into it."""
    route: Route = ("parts", name, "with")
    written = mapping(scope.tree.at(route))
    for key in written:
        if key not in blueprint.takes:
            message = no_such("parameter", key, blueprint.takes, f" of {blueprint.title}")
            scope.fields.bad_key("unknown-reference", (*route, key), message)
    found = {}
    for key, parameter in blueprint.takes.items():
        if key in written:
            found[key] = _handed(scope, (*route, key), parameter)
        elif parameter.default is not None:
            found[key] = Given(parameter.default, blueprint.tree, ("takes", key, "default"), uses)
        else:
            message = f"{blueprint.title} needs its {key}: write `with: {{{key}: …}}`, a {parameter.kind}"
            scope.fields.bad_key("not-offered", ("parts", name), message)
            found[key] = Given(None, scope.tree, route, uses, sound=False)
    return found


def defaults(blueprint: Blueprint) -> dict[str, Given]:
    """What stands for each parameter of a blueprint judged alone; nothing where it has no default."""
    return {
        key: Given(parameter.default, blueprint.tree, ("takes", key, "default"), (), parameter.default is not None)
        for key, parameter in blueprint.takes.items()
    }


def _handed(scope: Scope, route: Route, parameter: Parameter) -> Given:
    """The value at a route, or that of the parameter which it hands on, checked for the parameter it is for."""
    value = scope.tree.at(route)
    outer = scope.fields.given.get(parameter_in(value) or "")
    given = outer if outer is not None else Given(value, scope.tree, route, scope.uses)
    if not given.sound or (outer is None and parameter_in(value) and scope.blueprint is not None):
        return given._replace(sound=False)
    found = checked(parameter.kind, given.value)
    if isinstance(found, tuple):
        scope.fields.at_given(given, *found)
        return given._replace(sound=False)
    return given._replace(value=found)
