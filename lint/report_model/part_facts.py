"""What is said of parts beside their loads: what a prime mover gives, a machine needs and makes, what was read."""

from collections.abc import Iterator, Sequence

from lineshaft.audit.comparison import computed, measured
from lineshaft.check.finding import Measure, Text, litres, power, speed, times, torque
from lineshaft.report_model.drawn_state import DrawnState
from lineshaft.report_model.schematic_record import Fact
from lineshaft.schema.model.rig import Part
from lineshaft.solve.machine_output import hourly_rate
from lineshaft.solve.solved_rig import SolvedRig

_SIGNS = {"torque": torque, "speed": speed}


def facts_of(rig: SolvedRig, state: DrawnState) -> Sequence[tuple[Fact, ...]]:
    """The facts of each part, by its number; readings stand beside what is computed of the declared rig."""
    found: list[list[Fact]] = [[*_own(part, number, state)] for number, part in enumerate(rig.parts)]
    for one in measured(rig.rig.readings):
        value = computed(rig.parts, rig.flows, one.part, one.outlet, one.quantity)
        sign, outlets = _SIGNS[one.quantity], rig.parts[one.part].outlets
        where = f" at {outlets[one.outlet]}" if outlets else ""
        beside: Text = () if value is None else (", computed ", sign(value))
        found[one.part].append(Fact("read", ("read ", sign(one.read), where, *beside)))
    for circuit in rig.rig.circuits:
        for number in circuit.feeds:
            found[number].append(Fact("lubricant", (f"{circuit.lubricant} from {circuit.name}",)))
        if circuit.supplied_by is not None:
            found[circuit.supplied_by].append(Fact("lubricant", (f"presses {circuit.lubricant} for {circuit.name}",)))
    fed = {number for circuit in rig.rig.circuits for number in circuit.feeds}
    for step in rig.rig.steps:
        if step.kind == "fill" and step.part not in fed:
            found[step.part].append(Fact("lubricant", ("filled with ", litres(step.amount))))
    return [tuple(facts) for facts in found]


def _own(part: Part, number: int, state: DrawnState) -> Iterator[Fact]:
    flows = state.flows
    if part.item.kind == "prime-mover" and flows.solved[number]:
        gives = (torque(flows.torque_out[number]), " at ", speed(flows.speed_out[number]))
        yield Fact("gives", gives if flows.speed_out[number] > 0 else ("at rest",))
        if part.head is not None:
            yield Fact("gives", ("head ", Measure(part.head, "m")))
    if part.item.kind != "driven-machine":
        return
    needs = part.item.needs
    asked = ((needs.torque, torque), (needs.speed, speed), (needs.power, power))
    wanted: list[str | Measure] = []
    for value, sign in asked:
        if value is not None:
            wanted += [", " if wanted else "needs ", sign(value)]
    if wanted:
        yield Fact("needs", tuple(wanted))
    if part.item.work is not None:
        yield Fact("makes", _made(part, hourly_rate(part, number, flows)))


def _made(part: Part, rate: float | None) -> Text:
    assert part.item.work is not None  # asked of machines that have a table
    unit = part.item.work.unit
    goal: Text = () if part.target is None else (", wanted ", times(3600 / part.target))
    if rate is None:
        return ("at rest", *goal)
    if not rate:
        return (f"stalled: no {unit}", *goal)
    return (times(rate), f" {unit}s an hour", *goal)
