"""The chain of causes: for each part that leads to a finding, what it does to torque and speed."""

from lineshaft.judge.finding import Cause, Text, speed, times, torque
from lineshaft.schema.rig import Part
from lineshaft.solve.solved_rig import SolvedRig


def causes(rig: SolvedRig, part: int) -> tuple[Cause, ...]:
    """What leads to ``part``, from the prime mover down, without the part itself and plain 1 : 1 links."""
    chain = rig.chain(part)[:-1]
    return tuple(cause(rig, number) for number in chain if _tells(rig.parts[number]) or number == chain[0])


def cause(rig: SolvedRig, part: int, message: Text | None = None) -> Cause:
    """One link, at the part's key, with the torque and speed that leave it."""
    file, span, _ = rig.place(part)
    flows = rig.flows
    values = (("torque", torque(flows.torque_out[part])), ("speed", speed(flows.speed_out[part])))
    found = rig.parts[part]
    return Cause(file, span, found.name, message if message is not None else _words(rig, part), values)


def _tells(part: Part) -> bool:
    """Whether a part changes what passes through it."""
    return part.item.kind not in ("shaft", "clutch") or part.item.efficiency < 1


def _words(rig: SolvedRig, number: int) -> Text:
    part = rig.parts[number]
    flows = rig.flows
    given = (torque(flows.torque_out[number]), " at ", speed(flows.speed_out[number]))
    if part.ratio is not None:
        verb = "increases speed" if rig.settings.increasing[number] else "reduces speed"
        return (f"{verb} {part.ratio.text} : 1, to ", *given)
    match part.item.kind:
        case "prime-mover":
            return ("gives ", *given)
        case "splitter":
            count = len(part.shares)
            return (f"divides torque {count} ways, at most ", *given)
        case "combiner":
            return (f"adds {len(part.inlets)} lines to ", *given)
    if part.item.efficiency < 1:
        return ("passes on ", times(part.item.efficiency), " of the torque, ", *given)
    return ("passes on ", *given)
