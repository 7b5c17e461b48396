"""A solved rig to its schematic: every part with what it does, every connection with what it carries."""

from collections.abc import Iterator

from lineshaft.check.finding import Text, times
from lineshaft.report_model.record import Figure, Link, Node, Quantity, Schematic
from lineshaft.schema.model.rig import Part, Step
from lineshaft.solve.commissioning import commissioning_of
from lineshaft.solve.limits import over, speed_carried, torque_carried
from lineshaft.solve.solved_rig import SolvedRig


def schematic(rig: SolvedRig) -> Schematic:
    """The schematic of a solved rig; parts in file order."""
    nodes = tuple(_node(rig, number) for number in range(len(rig.parts)))
    return Schematic(rig.file, rig.rig.name, nodes, tuple(_links(rig)))


def does(rig: SolvedRig, number: int) -> Text:
    """What a part does in words, for example `reduces 5/2 : 1`, `divides 1 : 6`, `passes on`."""
    part = rig.parts[number]
    if part.ratio is not None:
        verb = "increases" if rig.settings.increasing[number] else "reduces"
        return (f"{verb} {part.ratio.text} : 1",)
    if part.outlets:
        words: list[Text] = [(" : ", times(share)) for share in part.shares]
        return ("divides ", *[piece for pair in words for piece in pair][1:])
    if part.item.kind == "combiner":
        return (f"adds {len(part.inlets)} lines",)
    if part.item.kind == "clutch":
        return ("engaged" if part.engaged else "open",)
    return ({"prime-mover": "gives", "driven-machine": "takes"}.get(part.item.kind, "passes on"),)


def _node(rig: SolvedRig, number: int) -> Node:
    part = rig.parts[number]
    solved = bool(rig.flows.solved[number])
    share, quantity = _declared_share(rig, number) if solved else (None, None)
    worst_load, when = commissioning_of(rig).worst.get(number), ""
    if worst_load is not None and over(worst_load.breach.times_limit, share or 0.0):
        share, quantity, when = worst_load.breach.times_limit, worst_load.breach.quantity, when_words(worst_load.step)
    broken = share is not None and over(share, 1.0)
    words = does(rig, number)
    return Node(
        part.name, part.label, part.item.name, _figure(rig, number), words, share, quantity, solved, broken, when
    )


def when_words(step: Step | None) -> str:
    """When a part is over a limit on the way to work: at a step of the list, or as delivered where there is none."""
    return "as delivered" if step is None else f"at step {step.number}"


def _declared_share(rig: SolvedRig, number: int) -> tuple[float | None, Quantity | None]:
    """The larger share of a limit that a part uses, and of which; torque where both are the same."""
    part, flows = rig.parts[number], rig.flows
    found: list[tuple[float, Quantity]] = []
    if part.torque_limit is not None:
        found.append((torque_carried(flows, number) / part.torque_limit, "torque"))
    if part.speed_limit is not None:
        found.append((speed_carried(flows, number) / part.speed_limit, "speed"))
    return max(found, key=lambda pair: pair[0]) if found else (None, None)


def _figure(rig: SolvedRig, number: int) -> Figure:
    part = rig.parts[number]
    kind = part.item.kind
    if kind == "gear-stage":
        return "stage-increasing" if rig.settings.increasing[number] else "stage-reducing"
    if kind == "clutch":
        return "clutch-engaged" if part.engaged else "clutch-open"
    return kind


def _links(rig: SolvedRig) -> Iterator[Link]:
    for target, part in enumerate(rig.parts):
        for inlet, (source, outlet) in enumerate(part.inlets):
            solved = bool(rig.flows.solved[source])
            torque = _arriving(rig, target, inlet) if solved else 0.0
            speed = rig.flows.speed_out[source] if solved else 0.0
            yield Link(source, target, _outlet(rig.parts[source], outlet), torque, speed, solved)


def _arriving(rig: SolvedRig, target: int, inlet: int) -> float:
    """Torque [N*m] on a connection; none on one that an open clutch holds nothing against."""
    if len(rig.parts[target].inlets) == 1 and rig.flows.solved[target]:
        return rig.flows.torque_in[target]
    return rig.inlet_torque(target, inlet)


def _outlet(source: Part, outlet: int) -> str | None:
    return source.outlets[outlet] if source.outlets else None
