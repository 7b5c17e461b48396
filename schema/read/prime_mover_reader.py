"""What a prime mover's item says of its output: fixed, by a table over head, or from water."""

from lineshaft.schema.model.catalogue import HeadTable, Hydraulic, Output
from lineshaft.schema.quantities.quantity import efficiency, quantity
from lineshaft.schema.read.fields import Fields, Mapped, listing, mapping
from lineshaft.schema.text.span import Route


def read_source(fields: Fields, data: Mapped, route: Route) -> Output | HeadTable | Hydraulic | None:
    """The output that a prime mover's item describes; none where a value in it is bad (which is noted)."""
    if "output" in data:
        return _output(fields, mapping(data["output"]), (*route, "output"))
    if "table" in data:
        return _table(fields, mapping(data["table"]), (*route, "table", "points"))
    return _hydraulic(fields, mapping(data.get("hydraulic")), (*route, "hydraulic"))


def _output(fields: Fields, data: Mapped, route: Route) -> Output | None:
    torque = fields.quantity(data, route, "torque", "torque")
    speed = fields.quantity(data, route, "speed", "speed")
    power = fields.quantity(data, route, "power", "power")
    if torque is not None and speed is not None:
        return Output(torque, speed)
    if power is not None and torque is not None:
        return Output(torque, power / torque)
    if power is not None and speed is not None:
        return Output(power / speed, speed)
    return None


def _table(fields: Fields, data: Mapped, route: Route) -> HeadTable | None:
    points = []
    for number, row in enumerate(listing(data.get("points"))):
        head, torque, speed = listing(row)
        points.append(
            (
                fields.reckon(quantity(head, "length"), (*route, number, 0), 1.0),
                fields.reckon(quantity(torque, "torque"), (*route, number, 1), 1.0),
                fields.reckon(quantity(speed, "speed"), (*route, number, 2), 1.0),
            )
        )
    return HeadTable(tuple(points)) if fields.rising(route, [p[0] for p in points], "heads") else None


def _hydraulic(fields: Fields, data: Mapped, route: Route) -> Hydraulic | None:
    flow = fields.quantity(data, route, "flow", "flow")
    speed = fields.quantity(data, route, "speed", "speed")
    density = fields.quantity(data, route, "density", "density")
    written = data.get("efficiency")
    share = 1.0 if written is None else fields.reckon(efficiency(written), (*route, "efficiency"), 1.0)
    if flow is None or speed is None:
        return None
    # Flows are litres a second inside; the formula wants cubic metres.
    return Hydraulic(flow / 1000, share, speed, 1000.0 if density is None else density)
