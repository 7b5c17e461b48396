"""A catalogue's tree to its frozen types, with the faults found on the way."""

from types import MappingProxyType
from typing import TYPE_CHECKING, cast

from lineshaft.schema.model.catalogue import (
    NO_GOODS,
    Catalogue,
    Direction,
    Goods,
    Grade,
    Item,
    Kind,
    LubricantNeed,
    Makes,
    Needs,
    OfferedRatio,
    Shock,
    Work,
)
from lineshaft.schema.quantities.quantity import LEAST, MOST, BadQuantity, quantity, weight
from lineshaft.schema.quantities.ratio import Ratio, ratio
from lineshaft.schema.quantities.section import torque_of_section
from lineshaft.schema.read.fields import Fields, Mapped, listing, mapping
from lineshaft.schema.read.prime_mover_reader import read_source
from lineshaft.schema.text.absent_names import no_such
from lineshaft.schema.text.faults import at_key
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Tree

if TYPE_CHECKING:
    from lineshaft.schema.model.component import Component
    from lineshaft.schema.text.fault import Fault


def read_catalogue(tree: Tree) -> tuple[Catalogue, tuple["Fault", ...]]:
    """The catalogue in a tree that fits the catalogue schema, and what is wrong with it."""
    fields = Fields(tree, [])
    data = mapping(tree.data)
    lubricants = tuple(str(name) for name in listing(data.get("lubricants")))
    grades = {name: _grade(fields, name, mapping(g)) for name, g in mapping(data.get("grades")).items()}
    items = {
        name: _item(fields, name, mapping(item), grades, lubricants)
        for name, item in mapping(data.get("items")).items()
    }
    components = {
        name: _component(fields, name, mapping(c)) for name, c in mapping(data.get("components")).items()
    }
    raw = {name: _worth(fields, name, mapping(r)) for name, r in mapping(data.get("raw")).items()}
    _check_goods(fields, data, {*components, *raw})
    _check_cycles(fields, components)
    catalogue = Catalogue(
        tree,
        str(data.get("name", "")),
        str(data.get("edition", "")),
        lubricants,
        MappingProxyType({key: str(value) for key, value in mapping(data.get("earlier")).items()}),
        MappingProxyType(grades),
        MappingProxyType(items),
        MappingProxyType(components),
        MappingProxyType(raw),
    )
    return catalogue, tuple(fields.faults)


def _grade(fields: Fields, name: str, data: Mapped) -> Grade:
    route: Route = ("grades", name)
    return Grade(
        name,
        fields.quantity(data, route, "torque-limit", "torque"),
        fields.quantity(data, route, "speed-limit", "speed"),
    )


def _item(
    fields: Fields, name: str, data: Mapped, grades: dict[str, Grade], lubricants: tuple[str, ...]
) -> Item:
    route: Route = ("items", name)
    kind = cast(Kind, data["kind"])
    return Item(
        name,
        kind,
        _grades(fields, data, route, grades),
        "grades" in data,
        _torque_limit(fields, data, route),
        fields.quantity(data, route, "speed-limit", "speed"),
        fields.efficiency(data, route),
        _goods(data.get("made-of")),
        read_source(fields, data, route) if kind == "prime-mover" else None,
        cast("Shock | None", data.get("shock")),
        _ratios(fields, data, route),
        cast(Direction, data.get("delivered", "reduce")),
        _lubricant(fields, data, route, lubricants),
        cast("int | None", data.get("outlets")),
        cast("int | None", data.get("inlets")),
        _shares(fields, data, route),
        _needs(fields, mapping(data.get("needs")), (*route, "needs")),
        _needs(fields, mapping(data.get("limits")), (*route, "limits")),
        _work(fields, data, route),
        _makes(fields, data, route, lubricants),
    )


def _grades(fields: Fields, data: Mapped, route: Route, known: dict[str, Grade]) -> tuple[str, ...]:
    single = data.get("grade")
    written = [single] if single is not None else listing(data.get("grades"))
    for number, name in enumerate(written):
        if name not in known:
            where: Route = (*route, "grade") if single is not None else (*route, "grades", number)
            fields.bad("unknown-reference", where, no_such("grade", str(name), known))
    return tuple(str(name) for name in written)


def _torque_limit(fields: Fields, data: Mapped, route: Route) -> float | None:
    section = mapping(data.get("section"))
    if not section:
        return fields.quantity(data, route, "torque-limit", "torque")
    inner: Route = (*route, "section")
    diameter = fields.quantity(section, inner, "diameter", "length")
    shear = fields.quantity(section, inner, "allowable-shear", "stress")
    if diameter is None or shear is None:
        return None
    stood = torque_of_section(diameter, shear)
    if LEAST < stood < MOST:
        return stood
    fields.bad("bad-quantity", inner, f"this section would stand {stood:g} N·m, beyond what can be reckoned with")
    return None


def _goods(value: object) -> Goods:
    goods = {name: int(cast(float, number)) for name, number in mapping(value).items()}
    return MappingProxyType(goods) if goods else NO_GOODS


def _ratios(fields: Fields, data: Mapped, route: Route) -> tuple[OfferedRatio, ...]:
    found: list[OfferedRatio] = []
    written = data.get("ratios")
    if isinstance(written, list):
        pairs: list[tuple[object, Route, object]] = [
            (value, (*route, "ratios", number), None) for number, value in enumerate(written)
        ]
    else:
        pairs = [
            (name, (*route, "ratios", name), mapping(made).get("made-of"))
            for name, made in mapping(written).items()
        ]
    first: dict[tuple[int, int], tuple[Ratio, Route]] = {}
    for value, where, made_of in pairs:
        read = ratio(value)
        if isinstance(read, BadQuantity):
            fields.bad_key("bad-quantity", where, read.message)
        elif read.terms in first:
            fields.faults.append(_equal_ratio(fields.tree, read, where, *first[read.terms]))
        else:
            first[read.terms] = (read, where)
            found.append(OfferedRatio(read, _goods(made_of) or _goods(data.get("made-of"))))
    return tuple(found)


def _equal_ratio(tree: Tree, again: Ratio, where: Route, first: Ratio, at: Route) -> "Fault":
    """A ratio that is equal in value to an earlier one of its item: no part can say which of the two it is."""
    span = tree.key_span(at)
    lines = f"{again.text} on line {tree.key_span(where).start.line} and {first.text} on line {span.start.line}"
    message = f"{lines} are one ratio, and no part can say which of the two it is: leave one of them out"
    from lineshaft.schema.text.fault import Related

    return at_key("bad-quantity", tree, where, message, Related(tree.source.shown, span, "the first of the two"))


def _lubricant(
    fields: Fields, data: Mapped, route: Route, lubricants: tuple[str, ...]
) -> LubricantNeed | None:
    need = mapping(data.get("lubricant"))
    if not need:
        return None
    inner: Route = (*route, "lubricant")
    kind = str(need.get("kind"))
    if kind not in lubricants:
        fields.bad("unknown-reference", (*inner, "kind"), no_such("lubricant", kind, dict.fromkeys(lubricants)))
    holds = fields.quantity(need, inner, "holds", "volume")
    uses = fields.quantity(need, inner, "uses", "flow", zero=True)
    return LubricantNeed(kind, holds or 0.0, uses or 0.0)


def _shares(fields: Fields, data: Mapped, route: Route) -> tuple[tuple[float, ...], ...] | None:
    written = data.get("shares")
    if written is None or written == "any":
        return None
    found = []
    for row_number, row in enumerate(listing(written)):
        values = [
            fields.reckon(weight(value), (*route, "shares", row_number, number), 1.0)
            for number, value in enumerate(listing(row))
        ]
        found.append(tuple(values))
    return tuple(found)


def _needs(fields: Fields, data: Mapped, route: Route) -> Needs:
    if not data:
        return Needs()
    return Needs(
        fields.quantity(data, route, "torque", "torque"),
        fields.quantity(data, route, "speed", "speed"),
        fields.quantity(data, route, "power", "power"),
    )


def _work(fields: Fields, data: Mapped, route: Route) -> Work | None:
    work = mapping(data.get("work"))
    if not work:
        return None
    inner: Route = (*route, "work", "times")
    times: list[tuple[float, float]] = []
    for number, row in enumerate(listing(work.get("times"))):
        pair = listing(row)
        speed = fields.reckon(quantity(pair[0], "speed"), (*inner, number, 0), 1.0)
        time = fields.reckon(quantity(pair[1], "time"), (*inner, number, 1), 1.0)
        times.append((speed, time))
    if not fields.rising(inner, [speed for speed, _ in times], "speeds"):
        return None
    between = "linear" if work.get("between") == "linear" else "log-speed"
    return Work(str(work.get("unit")), tuple(times), between)  # type: ignore[arg-type]


def _makes(fields: Fields, data: Mapped, route: Route, lubricants: tuple[str, ...]) -> Makes | None:
    makes = mapping(data.get("makes"))
    if not makes:
        return None
    inner: Route = (*route, "makes")
    name = str(makes.get("lubricant"))
    if name not in lubricants:
        message = no_such("lubricant", name, dict.fromkeys(lubricants))
        fields.bad("unknown-reference", (*inner, "lubricant"), message)
    return Makes(name, fields.quantity(makes, inner, "amount", "volume") or 0.0)


def _component(fields: Fields, name: str, data: Mapped) -> "Component":
    from lineshaft.schema.model.component import Component

    return Component(name, _goods(data.get("made-of")), int(cast(float, data.get("yields", 1))))


def _worth(fields: Fields, name: str, data: Mapped) -> float:
    worth = data.get("worth")
    if worth is None or worth == 0:
        return 0.0
    return fields.reckon(weight(worth), ("raw", name, "worth"), 0.0)


def _check_goods(fields: Fields, data: Mapped, known: set[str]) -> None:
    for section in ("items", "components"):
        for name, entry in mapping(data.get(section)).items():
            holders: list[tuple[Route, object]] = [((section, name), entry)]
            ratios = mapping(mapping(entry).get("ratios"))
            holders += [((section, name, "ratios", key), value) for key, value in ratios.items()]
            for route, holder in holders:
                for good in mapping(mapping(holder).get("made-of")):
                    if good not in known:
                        message = no_such("component or raw good", good, dict.fromkeys(known))
                        fields.bad_key("unknown-reference", (*route, "made-of", good), message)


def _check_cycles(fields: Fields, components: "dict[str, Component]") -> None:
    """A component may not contain itself, at any depth."""
    done: set[str] = set()
    for start in components:
        stack: list[tuple[str, list[str]]] = [(start, list(components[start].made_of))]
        path = [start]
        while stack:
            name, rest = stack[-1]
            if not rest:
                stack.pop()
                path.pop()
                done.add(name)
                continue
            inner = rest.pop()
            if inner in path:
                ring = " → ".join([*path[path.index(inner) :], inner])[:200]
                fields.bad_key("unknown-reference", ("components", inner), f"contains itself: {ring}")
                return
            if inner in components and inner not in done:
                stack.append((inner, list(components[inner].made_of)))
                path.append(inner)
