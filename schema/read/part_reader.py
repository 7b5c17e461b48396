"""One part of a rig or blueprint: its fields against what its item offers."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, cast

from lineshaft.schema.model.catalogue import (
    UNKNOWN_ITEM,
    Catalogue,
    Direction,
    Grade,
    HeadTable,
    Hydraulic,
    Item,
)
from lineshaft.schema.model.outlets import OutletNames, Weights
from lineshaft.schema.model.rig import Part
from lineshaft.schema.quantities.quantity import BadQuantity, weight
from lineshaft.schema.quantities.ratio import Ratio, ratio
from lineshaft.schema.read.fields import Fields, Mapped, listing, mapping
from lineshaft.schema.read.part_index import PartIndex
from lineshaft.schema.text.absent_names import no_such
from lineshaft.schema.text.span import Route

if TYPE_CHECKING:  # few rigs place blueprints
    from lineshaft.schema.text.use import Use

_NAMED = 4  # uses that are named in a hint; the rest is counted
ALWAYS = frozenset({"item", "driven-by", "grade", "label", "at"})
_SETTINGS: Mapping[str, frozenset[str]] = {
    "prime-mover": frozenset({"head"}),
    "gear-stage": frozenset({"ratio", "set"}),
    "right-angle": frozenset({"ratio", "set"}),
    "splitter": frozenset({"shares", "purpose"}),
    "clutch": frozenset({"engaged"}),
    "driven-machine": frozenset({"target"}),
}


def no_part(name: str, index: PartIndex) -> str:
    """The words for a part that is not there; a blueprint in place is none, but has parts that can be named."""
    inside = index.first_inside(name)
    if inside is not None:
        return f"{name} is a blueprint: name a part in it, as {inside}"
    where = where_placed(name, index)
    return f"there is no part {name[:60]} in this file; {where}" if where else no_such("part", name, index)


def known_part(fields: Fields, name: object, route: Route, index: PartIndex) -> int | None:
    """The number of the part that a name in a rig stands for; none, which is noted, where there is no such part."""
    number = index.get(str(name))
    if number is None:
        fields.bad("unknown-reference", route, no_part(str(name), index))
    return number


def where_placed(name: str, index: PartIndex) -> str:
    """How to name a part that is known by its name in a blueprint's file alone; empty where no blueprint has it."""
    known = index.ending_in(name)
    if not known:
        return ""
    more = f" and {len(known) - _NAMED} more" if len(known) > _NAMED else ""
    return f"a part of a blueprint is named with where that stands: {', '.join(known[:_NAMED])}{more}"


class Fitting:
    """Reads parts against one catalogue; remembers what repeats (limits, ratios) within one reading."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self._limits: dict[tuple[str, str | None], tuple[Grade | None, float | None, float | None]] = {}
        self._ratios: dict[tuple[str, object], Ratio | None] = {}

    def read(self, fields: Fields, name: str, data: Mapped, route: Route, uses: tuple["Use", ...]) -> Part:
        """The part, not yet connected; faults go to ``fields`` and make it ``faulty``."""
        known = len(fields.faults)
        item = self.catalogue.items.get(cast(str, data["item"]))
        if item is None:
            message = no_such("item", str(data["item"]), self.catalogue.items, " in the catalogue")
            fields.bad("unknown-reference", (*route, "item"), message)
            named = OutletNames(mapping(data.get("shares")))
            alike = Weights(1.0 for _ in named)
            return Part(name, UNKNOWN_ITEM, fields.tree, outlets=named, shares=alike, faulty=True, uses=uses)
        kind = item.kind
        _settings(fields, item, data, route)
        grade, torque_limit, speed_limit = self._limits_of(fields, item, data, route)
        outlets: tuple[str, ...] = ()
        shares: tuple[float, ...] = ()
        if kind == "splitter":
            outlets, shares = _shares(fields, item, data, route)
        is_stage = item.is_stage
        return Part(
            name,
            item,
            fields.tree,
            (),
            grade,
            torque_limit,
            speed_limit,
            self._ratio_of(fields, item, data, route) if is_stage else None,
            _direction(fields, data, route) if is_stage else None,
            outlets,
            shares,
            _head(fields, item, data, route) if kind == "prime-mover" else None,
            cast("str | None", data.get("purpose")),
            data.get("engaged", True) is True,
            _target(fields, item, data, route) if "target" in data else None,
            cast("tuple[float, float, float]", tuple(listing(data["at"]))) if "at" in data else None,
            cast("str | None", data.get("label")),
            len(fields.faults) > known,
            uses,
        )

    def _limits_of(
        self, fields: Fields, item: Item, data: Mapped, route: Route
    ) -> tuple[Grade | None, float | None, float | None]:
        chosen = cast("str | None", data.get("grade"))
        key = (item.name, chosen)
        found = self._limits.get(key)
        if found is None:
            if not _grade_offered(fields, item, chosen, route):
                return None, None, None
            found = self._limits[key] = limits_of(self.catalogue, item, chosen)
        return found

    def _ratio_of(self, fields: Fields, item: Item, data: Mapped, route: Route) -> Ratio | None:
        written = data.get("ratio")
        if written is None:
            fields.bad_key("not-offered", route, f"{item.name} needs a ratio: {_ratios(item)}")
            return None
        key = (item.name, written)
        if key in self._ratios:
            return self._ratios[key]
        read = ratio(written)
        if isinstance(read, BadQuantity):
            fields.bad("bad-quantity", (*route, "ratio"), read.message)
            return None
        if all(offered.ratio.terms != read.terms for offered in item.ratios):
            message = f"{item.name} does not come in {read.text} : 1; it offers {_ratios(item)}"
            fields.bad("not-offered", (*route, "ratio"), message)
            return None
        self._ratios[key] = read
        return read


def _ratios(item: Item) -> str:
    return ", ".join(offered.ratio.text for offered in item.ratios) or "no ratio"


def settings_of(item: Item) -> frozenset[str]:
    """The settings that a part of an item takes, beside the keys that every part has."""
    if item.kind == "right-angle" and not item.ratios:
        return frozenset()
    return _SETTINGS.get(item.kind, frozenset())


def _settings(fields: Fields, item: Item, data: Mapped, route: Route) -> None:
    """Settings that the item's kind does not have."""
    allowed = settings_of(item)
    for key in data.keys() - ALWAYS - allowed:
        offers = f"; it takes {', '.join(sorted(allowed))}" if allowed else ""
        fields.bad_here("not-offered", (*route, key), f"{item.name} ({item.kind}) takes no {key}{offers}")
    if item.kind == "prime-mover" and "driven-by" in data:
        message = f"{item.name} is a prime mover: nothing drives it"
        fields.bad_here("not-offered", (*route, "driven-by"), message)


def _grade_offered(fields: Fields, item: Item, chosen: str | None, route: Route) -> bool:
    if chosen is None:
        if item.chooses_grade:
            message = f"{item.name} needs a grade: {', '.join(item.grades)}"
            fields.bad_key("not-offered", route, message)
            return False
        return True
    if chosen in item.grades:
        return True
    offers = ", ".join(item.grades) or "no grade"
    message = f"{item.name} is not made in {chosen[:60]}; it offers {offers}"
    fields.bad("not-offered", (*route, "grade"), message)
    return False


def limits_of(
    catalogue: Catalogue, item: Item, chosen: str | None
) -> tuple[Grade | None, float | None, float | None]:
    """The grade of an item (the chosen one, or its own) with the torque [N*m] and speed [rad/s] that it stands."""
    name = chosen if chosen is not None else (item.grades[0] if item.grades else None)
    grade = catalogue.grades.get(name) if name is not None else None
    torque = item.torque_limit if item.torque_limit is not None else (grade.torque_limit if grade else None)
    speed = item.speed_limit if item.speed_limit is not None else (grade.speed_limit if grade else None)
    return grade, _least(torque, item.limits.torque), _least(speed, item.limits.speed)


def _least(one: float | None, other: float | None) -> float | None:
    return one if other is None else other if one is None else min(one, other)


def _direction(fields: Fields, data: Mapped, route: Route) -> Direction | None:
    if "set" not in data:
        message = "a stage needs its direction: write `set: reduce` (torque up) or `set: increase` (speed up)"
        fields.bad_key("not-schema", route, message)
        return None
    return cast(Direction, data["set"])


def _head(fields: Fields, item: Item, data: Mapped, route: Route) -> float | None:
    needs = isinstance(item.source, HeadTable | Hydraulic)
    if "head" not in data:
        if needs:
            fields.bad_key("not-offered", route, f"{item.name} needs its head, e.g. `head: 4 m`")
        return None
    if not needs:
        if item.source is not None:  # else its output is faulty, and so is told already
            message = f"{item.name} has a fixed output: it takes no head"
            fields.bad_here("not-offered", (*route, "head"), message)
        return None
    head = fields.quantity(data, route, "head", "length")
    if head is not None and isinstance(item.source, HeadTable):
        low, high = item.source.points[0][0], item.source.points[-1][0]
        if not low * (1 - 1e-9) <= head <= high * (1 + 1e-9):
            message = f"the head is outside the table of {item.name}, {low:g} m to {high:g} m"
            fields.bad("bad-quantity", (*route, "head"), message)
    return head


def _target(fields: Fields, item: Item, data: Mapped, route: Route) -> float | None:
    if item.kind != "driven-machine":
        return None
    if item.work is None:
        message = f"{item.name} has no work table: it takes no target"
        fields.bad_here("not-offered", (*route, "target"), message)
        return None
    return fields.quantity(mapping(data["target"]), (*route, "target"), "time", "time")


def _shares(
    fields: Fields, item: Item, data: Mapped, route: Route
) -> tuple[tuple[str, ...], tuple[float, ...]]:
    written = mapping(data.get("shares"))
    if not written:
        fields.bad_key("not-offered", route, f"{item.name} needs shares, e.g. `shares: {{left: 1, right: 1}}`")
        return (), ()
    inner: Route = (*route, "shares")
    known = len(fields.faults)
    weights = tuple(fields.reckon(weight(value), (*inner, name), 1.0) for name, value in written.items())
    if len(fields.faults) == known:
        if item.outlets is not None and len(weights) != item.outlets:
            message = f"{item.name} has {item.outlets} outlets, {len(weights)} shares are given"
            fields.bad("not-offered", inner, message)
        elif item.shares is not None and not any(_alike(weights, offered) for offered in item.shares):
            offers = ", ".join(" : ".join(f"{w:g}" for w in row) for row in item.shares)
            message = f"{item.name} does not share {' : '.join(f'{w:g}' for w in weights)}; it offers {offers}"
            fields.bad("not-offered", inner, message)
    return OutletNames(written), Weights(weights)


def _alike(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    """The same proportions, in any order."""
    if len(one) != len(other):
        return False
    a, b = sorted(one), sorted(other)
    return all(abs(x / a[-1] - y / b[-1]) <= 1e-9 for x, y in zip(a, b, strict=True))


def outlet_number(part: Part, outlet: str | None) -> int | str:
    """The number of a part's outlet by name, or why there is none."""
    kind = part.item.kind
    if kind == "driven-machine":
        return f"{part.name} is a driven machine: it drives nothing"
    if part.outlets:
        if outlet is None:
            ways = " or ".join(f"{part.name}.{name}" for name in part.outlets[:4])
            return f"{part.name} divides: say which outlet, {ways}"
        names = part.outlets if isinstance(part.outlets, OutletNames) else OutletNames(part.outlets)
        number = names.numbers.get(outlet)
        return no_such("outlet", outlet, names.numbers, f" of {part.name}") if number is None else number
    if outlet is not None and kind != "unknown":
        return f"{part.name} has one outlet without a name: write {part.name}"
    return 0
