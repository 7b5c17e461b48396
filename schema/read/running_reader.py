"""The sections of a rig beside its parts and their start-up: lubrication, readings, waivers."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from types import MappingProxyType

from lineshaft.schema.model.rig import UNWAIVABLE, Part, Rig
from lineshaft.schema.model.running import Circuit, Reading, Waiver
from lineshaft.schema.quantities.quantity import share, weight
from lineshaft.schema.read.fields import Fields, Mapped, listing, mapping
from lineshaft.schema.read.part_index import PartIndex
from lineshaft.schema.read.part_reader import known_part, outlet_number
from lineshaft.schema.text.absent_names import no_such
from lineshaft.schema.text.span import Route

NO_EXITS: Mapping[str, tuple[int, int]] = MappingProxyType({})


def with_running(rig: Rig, fields: Fields, data: Mapped, index: PartIndex) -> Rig:
    """A rig with what its file says beside its parts and their start-up."""
    return replace(
        rig,
        circuits=read_circuits(fields, data, rig.parts, index, rig.catalogue.lubricants),
        readings=read_readings(fields, data, rig.parts, index),
        waivers=read_waivers(fields, data, index),
    )


def read_circuits(
    fields: Fields, data: Mapped, parts: tuple[Part, ...], index: PartIndex, lubricants: tuple[str, ...]
) -> tuple[Circuit, ...]:
    """The lubricant circuits of a rig; ``lubricants`` are those that its catalogue knows."""
    found = []
    for name, value in mapping(data.get("lubrication")).items():
        circuit = mapping(value)
        route: Route = ("lubrication", name)
        lubricant = str(circuit.get("lubricant"))
        if lubricant not in lubricants:
            message = no_such("lubricant", lubricant, dict.fromkeys(lubricants))
            fields.bad("unknown-reference", (*route, "lubricant"), message)
        tank = mapping(circuit.get("tank"))
        press = circuit.get("supplied-by")
        supplier = None if press is None else known_part(fields, press, (*route, "supplied-by"), index)
        if supplier is not None:
            _check_press(fields, parts[supplier], lubricant, (*route, "supplied-by"))
        fed = [
            known_part(fields, part, (*route, "feeds", number), index)
            for number, part in enumerate(listing(circuit.get("feeds")))
        ]
        found.append(
            Circuit(
                name,
                route,
                lubricant,
                fields.quantity(tank, (*route, "tank"), "holds", "volume") or 0.0,
                fields.quantity(tank, (*route, "tank"), "charge", "volume", zero=True) or 0.0,
                supplier,
                tuple(number for number in fed if number is not None),
            )
        )
    return tuple(found)


def _check_press(fields: Fields, part: Part, lubricant: str, route: Route) -> None:
    if part.item.kind == "unknown":
        return
    makes = part.item.makes
    if makes is None or makes.lubricant != lubricant:
        message = f"{part.name} ({part.item.name}) does not make {lubricant[:60]}"
        fields.bad("unknown-reference", route, message)


def read_readings(
    fields: Fields,
    data: Mapped,
    parts: tuple[Part, ...],
    index: PartIndex,
    exits: Mapping[str, tuple[int, int]] = NO_EXITS,
) -> tuple[Reading, ...]:
    """The readings taken on the standing build; ``exits`` are the outlets of placed blueprints, as ``leg-a.out``."""
    found = []
    for number, entry in enumerate(listing(data.get("readings"))):
        reading = mapping(entry)
        route: Route = ("readings", number)
        at = str(reading.get("at"))
        place = exits.get(at) or _reading_place(fields, at, (*route, "at"), parts, index)
        torque = fields.quantity(reading, route, "torque", "torque", zero=True)
        speed = fields.quantity(reading, route, "speed", "speed", zero=True)
        written = reading.get("tolerance")
        tolerance = (
            0.02
            if written is None
            else fields.reckon(share(written, zero=True), (*route, "tolerance"), 0.02)
        )
        if place is not None:
            found.append(Reading(route, place[0], place[1], at, torque, speed, tolerance))
    return tuple(found)


def _reading_place(
    fields: Fields, at: str, route: Route, parts: tuple[Part, ...], index: PartIndex
) -> tuple[int, int] | None:
    head, _, tail = at.partition(".")
    part = known_part(fields, head, route, index)
    if part is None:
        return None
    if parts[part].item.kind == "driven-machine" and not tail:
        return part, 0
    outlet = outlet_number(parts[part], tail or None)
    if isinstance(outlet, str):
        fields.bad("unknown-reference", route, outlet)
        return None
    return part, outlet


def read_waivers(fields: Fields, data: Mapped, index: PartIndex) -> tuple[Waiver, ...]:
    """The waivers whose shape the schema has shown to be right; one that is in doubt is noted and left out."""
    found = []
    for number, entry in enumerate(listing(data.get("waivers"))):
        waiver = _waiver(fields, mapping(entry), ("waivers", number), index)
        if waiver is not None:
            found.append(waiver)
    return tuple(found)


def _waiver(fields: Fields, data: Mapped, route: Route, index: PartIndex) -> Waiver | None:
    known = len(fields.faults)
    rule, part, up_to = str(data["rule"]), data.get("part"), data.get("up-to")
    if rule in UNWAIVABLE:
        fields.bad("not-schema", (*route, "rule"), f"`{rule}` cannot be waived: mend it, or take the file out")
    if part is not None:
        known_part(fields, part, (*route, "part"), index)
    bound = None if up_to is None else fields.reckon(weight(up_to), (*route, "up-to"), 0.0)
    if len(fields.faults) > known:
        return None
    until = date.fromisoformat(str(data["until"]))
    return Waiver(route, rule, None if part is None else str(part), bound, str(data["reason"]), until)
