"""The chain of causes: for each part that leads to a finding, what it does to torque and speed."""

from lineshaft.check.finding import Cause, Text, speed, times, torque
from lineshaft.schema.model.rig import Part
from lineshaft.solve.link import Link
from lineshaft.solve.solved_rig import SolvedRig


class _Known:
    """What was said of a rig's chains: many findings hang on one line."""

    def __init__(self, _: SolvedRig) -> None:
        self.causes: dict[int, Cause] = {}
        self.passing: dict[Link, Cause] = {}
        self.of_chain: dict[int, tuple[tuple[Link, ...], tuple[Cause, ...]]] = {}
        self.telling_above: dict[int, int | None] = {}


def causes(rig: SolvedRig, part: int) -> tuple[Cause, ...]:
    """What leads to ``part``, from the prime mover down, without the part itself and plain 1 : 1 links."""
    if not rig.flows.solved[part]:
        chain = rig.chain(part)[:-1]  # parts in a ring have no first one that all of them share
        return tuple(cause(rig, number) for number in chain if _tells(rig.parts[number]) or number == chain[0])
    told: list[Cause] = []
    above = _telling_above(rig, part)
    while above is not None:
        told.append(cause(rig, above))
        above = _telling_above(rig, above)
    return tuple(reversed(told))


def _telling_above(rig: SolvedRig, part: int) -> int | None:
    """The nearest part up the chain that changes what passes, or begins the chain; looked for once on each line."""
    known = rig.once(_Known).telling_above
    passed: list[int] = []
    here: int | None = part
    found: int | None = None
    while here is not None:
        if here in known:
            found = known[here]
            break
        passed.append(here)
        here = rig.driver(here)
        if here is not None and (_tells(rig.parts[here]) or not rig.parts[here].inlets):
            found = here
            break
    known.update(dict.fromkeys(passed, found))
    return found


def cause(rig: SolvedRig, part: int, message: Text | None = None) -> Cause:
    """One link, at the part's key, with the torque and speed that leave it."""
    known = rig.once(_Known).causes if message is None else {}
    found = known.get(part)
    if found is not None:
        return found
    flows = rig.flows
    increasing = rig.settings.increasing[part] == 1
    link = Link(part, flows.torque_out[part], flows.speed_out[part], increasing)
    return known.setdefault(part, _of_link(rig, link, message))


def passing_causes(rig: SolvedRig, chain: tuple[Link, ...]) -> tuple[Cause, ...]:
    """The same for a chain in a passing state of the rig, without its last part."""
    everything = rig.once(_Known)
    same, causes = everything.of_chain.get(id(chain), ((), ()))
    if same is chain:
        return causes
    known = everything.passing
    told = (link for link in chain[:-1] if _tells(rig.parts[link.part]) or link is chain[0])
    causes = tuple(known.get(link) or known.setdefault(link, _of_link(rig, link)) for link in told)
    everything.of_chain[id(chain)] = chain, causes  # with the chain itself, so that its number is no other's
    return causes


def _of_link(rig: SolvedRig, link: Link, message: Text | None = None) -> Cause:
    file, span, _ = rig.place(link.part)
    part = rig.parts[link.part]
    values = (("torque", torque(link.torque)), ("speed", speed(link.speed)))
    return Cause(file, span, part.name, message if message is not None else _words(part, link), values)


def _tells(part: Part) -> bool:
    """Whether a part changes what passes through it."""
    return part.item.kind not in ("shaft", "clutch") or part.item.efficiency < 1


def _words(part: Part, link: Link) -> Text:
    given = (torque(link.torque), " at ", speed(link.speed))
    if part.ratio is not None:
        verb = "increases speed" if link.increasing else "reduces speed"
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
